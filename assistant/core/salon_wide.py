"""Commands about the salon as a whole: opening a chair, "heard", "quiet", undo, second phrases."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from assistant.core import answers, debrief, debrief_words, due, plan_answers, regulars, teaching
from assistant.core.events import Effect, Mode
from assistant.core.head import Head
from assistant.core.intents import Command, Intent, examples
from assistant.core.levels import Lesson, Level
from assistant.core.replies import Reply, reply
from assistant.core.talk import FITTING

if TYPE_CHECKING:
    from assistant.core.salon import Salon

DEBRIEF_TAKES = 30.0  # seconds of four sentences: nothing may come due meanwhile


def about(name: str) -> bool:
    """Whether a command is about the salon, not about one head."""
    return name in _COMMANDS


def answer(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    """Carry it out."""
    return _COMMANDS[intent.name](salon, intent, at)


def two_examples(salon: Salon, mode: Mode | None = None) -> Reply:
    """Two commands that fit now."""
    head = _spoken_about(salon)
    names = FITTING[head.state if head else "none"]
    first, second = (_example(salon, salon.words.command(name), head) for name in names)
    return reply("try", asks=mode, first=first, second=second)


def _example(salon: Salon, command: Command, head: Head | None) -> str:
    if head is None:
        return examples(command, salon.names)
    subject = head.step().subject
    return command.phrases[0].replace("{zone}", subject).replace("{bowl}", subject)


def _spoken_about(salon: Salon) -> Head | None:
    """The head of the open question, or the only one there is."""
    question = salon.talk.question
    if question is not None and question.chair in salon.heads:
        return salon.heads[question.chair]
    active = [head for head in salon.heads.values() if head.active]
    return active[0] if len(active) == 1 else None


def _open(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    active = [head for head in salon.heads.values() if head.active]
    chair = intent.chair or (1 if not active else None)
    if chair is None:
        salon.talk.which = intent
        return [salon.say(reply("which_chair", asks="which"))]
    taken = salon.heads.get(chair)
    if taken is not None and taken.active:
        return [salon.say(reply("chair_taken", chair=chair, recipe=taken.recipe.name))]
    recipe = salon.recipes[intent.recipe]
    head = Head(chair, len(salon.history) + 1, recipe, at)
    head.file.lesson = _lesson(salon)
    salon.heads[chair] = head
    salon.history.append(head)
    salon.talk.undo = None  # the last act belonged to who sat here before
    opened = reply("opened", chair=chair, recipe=recipe.name)
    effects = salon.replies(head, [opened, *regulars.sit_down(salon, head, at)])
    return [*effects, *regulars.written_if_stopped(head)]


def _lesson(salon: Salon) -> Lesson | None:
    """Whoever is taught in this session, with the levels it began with."""
    start = salon.started
    if start is None or not start.trainee:
        return None
    return Lesson(start.trainee, {step: Level(level) for step, level in start.levels})


def _heard(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    chair = intent.chair if intent.chair is not None else salon.talk.called_chair
    quieted = salon.calls.heard(chair, at)
    if not quieted:
        return [salon.say(reply("nothing_called"))]
    return [salon.say(reply("heard"))]


def _quiet(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    salon.calls.quiet(at)
    return [salon.say(reply("quiet"))]


def _again(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    last = salon.talk.last
    return [salon.say(last)] if last else []


def _undo(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    undo = salon.talk.undo
    if undo is None or not undo.possible(at):
        return [salon.say(reply("undo_nothing"))]
    salon.talk.undo = undo.earlier
    head = salon.heads[undo.chair]
    head.restore(undo.before)
    return salon.replies(head, [reply("undone"), *answers.instruct(head, at)])


def _help(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    return [salon.say(two_examples(salon))]


def _what_next(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    coming = [alarm for alarm in salon.alarms() if alarm.at > at]
    return [salon.say(answers.whats_next(coming, at))]


def _asked_mix(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    return [salon.say(plan_answers.asked_mix(intent))]


def _start_now(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    return [salon.say(plan_answers.start_now(salon, intent, at), intent.chair)]


# ---- answers that only mean something after a question of ours


def _which_chair(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    which = salon.talk.which
    if which is None:
        return [salon.say(reply("nothing_asked"))]
    salon.talk.which = salon.talk.question = None
    return salon.intent(replace(which, chair=intent.chair), at)


def _confirm(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    pending = salon.talk.pending
    if pending is None:
        return [salon.say(reply("nothing_asked"))]
    if intent.chair != pending.chair:
        return [salon.say(reply("confirm_other", asks="confirm", chair=pending.chair))]
    salon.talk.pending = salon.talk.question = None
    if pending.intent.name == "client":
        return regulars.attach_confirmed(pending.intent)
    if pending.intent.name == "same_again":
        return _open(salon, pending.intent, at)
    return salon.change(salon.heads[pending.chair], pending.intent, at)


def _leave_it(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    if salon.talk.pending is None:
        return [salon.say(reply("nothing_asked"))]
    salon.talk.pending = salon.talk.question = None
    return [salon.say(reply("left_running"))]


def _which_number(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    question = salon.talk.question
    if question is None or question.mode != "number" or question.chair not in salon.heads:
        return _lesson_number(salon, intent, at)
    if question.numbers and intent.number not in question.numbers:
        return salon.unclear("", at)  # "five" out of somebody's talk answers nothing
    salon.talk.question = None
    asked = replace(intent, zones=question.zones)
    return salon.change(salon.heads[question.chair], asked, at)


def _lesson_number(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    """A number nobody but a trainee was asked for."""
    chairs = [c for c, head in salon.heads.items() if teaching.open_question(head) is not None]
    question = salon.talk.question
    if question is not None and question.chair in chairs:
        chairs = [question.chair]
    if len(chairs) != 1 or intent.chair not in (None, chairs[0]):
        return [salon.say(reply("nothing_asked"))]
    return salon.change(salon.heads[chairs[0]], replace(intent, name="lesson_minutes"), at)


def _debrief(salon: Salon, intent: Intent, at: float) -> list[Effect]:
    """How it went: when a service is over, and never in the way of a call."""
    over = [h for h in salon.history if not h.active and intent.chair in (None, h.chair)]
    if not over:
        return [salon.say(reply("debrief_later"))]
    if due.true_now(salon.alarms(), at + DEBRIEF_TAKES):
        return [salon.say(reply("debrief_not_now"))]
    head = over[-1]
    return salon.replies(head, debrief_words.spoken(debrief.debrief(head)))


_COMMANDS: dict[str, Callable[[Salon, Intent, float], list[Effect]]] = {
    "open": _open,
    "heard": _heard,
    "quiet": _quiet,
    "again": _again,
    "undo": _undo,
    "help": _help,
    "what_next": _what_next,
    "asked_mix": _asked_mix,
    "start_now": _start_now,
    "which_chair": _which_chair,
    "confirm": _confirm,
    "leave_it": _leave_it,
    "which_number": _which_number,
    "debrief": _debrief,
    "client": regulars.attach,
    "same_again": regulars.same_again,
}
