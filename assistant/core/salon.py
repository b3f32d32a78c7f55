"""All heads: which chair is meant, one step per event, what is said and listened for next.

`Salon.step(event)` is the whole program as far as rules go: the same events give the same
effects, whether they come from a microphone, a rehearsal script or a journal being replayed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import assert_never

from assistant.core import acts, answers, due
from assistant.core.calls import CallTable, Spoken
from assistant.core.due import Alarm
from assistant.core.events import (
    ClockDue,
    DeviceBack,
    DeviceLost,
    Effect,
    Event,
    Heard,
    Listen,
    Mode,
    Priority,
    Resumed,
    Say,
    SessionStarted,
    SpeechDone,
    Touched,
    Unsay,
    WriteRecord,
)
from assistant.core.head import Head
from assistant.core.intents import (
    Chatter,
    Command,
    Intent,
    Names,
    Unclear,
    Words,
    examples,
    understand,
)
from assistant.core.recipe import Recipe
from assistant.core.replies import Reply, reply
from assistant.core.rule import SalonRule
from assistant.core.talk import FITTING, Pending, Question, Talk, Undo
from assistant.core.wording import call_phrase

HELLO_AFTER = 5.0  # seconds away that are worth a word


class Salon:
    """Every head of a session and the conversation about them."""

    def __init__(
        self, words: Words, recipes: Mapping[str, Recipe], chairs: int, rule: SalonRule
    ) -> None:
        """A salon with `chairs` chairs and no client yet."""
        self.words = words
        self.recipes = dict(recipes)
        self.rule = rule
        self.names = names_of(words, recipes, chairs)
        self.heads: dict[int, Head] = {}  # the last head of each chair
        self.history: list[Head] = []
        self.calls = CallTable()
        self.talk = Talk()
        self.lost: dict[str, float] = {}
        self.now = 0.0
        self._said = 0
        self._mode: Mode = "open"

    # ------------------------------------------------------------ one step

    def step(self, event: Event) -> list[Effect]:
        """Take one event, give back what is to be done, in order."""
        self.now = at = event.at
        self.talk.expire(at)
        effects = self._take(event, at)
        effects += self._call_out(at)
        if self.mode != self._mode:
            self._mode = self.mode
            effects.append(Listen(self._mode))
        return effects

    def _take(self, event: Event, at: float) -> list[Effect]:
        match event:
            case SessionStarted():
                return [self._say(reply("hello"))]
            case Heard():
                return self._heard(event, at)
            case Touched():
                return self._intent(Intent(event.intent, chair=event.chair), at)
            case SpeechDone():
                self.talk.spoken(event.say, at)
                if event.outcome != "played":
                    self.calls.cut(self.talk.calls_of(event.say), at)
                return []
            case DeviceLost():
                self.lost.setdefault(event.device, at)
                return []
            case DeviceBack():
                known = self.lost.pop(event.device, None)
                return [self._say(reply(f"back_{event.device}"))] if known is not None else []
            case Resumed():
                return self._resumed(event, at)
            case ClockDue():
                return []
        assert_never(event)

    @property
    def mode(self) -> Mode:
        """How to listen now."""
        question = self.talk.open_question(self.now)
        return question.mode if question else "open"

    def next_moment(self) -> float | None:
        """When to be woken if nothing else happens."""
        moments = [
            due.next_moment(self._alarms(), self.now),
            self.calls.next_moment(self.now, self._passing()),
            self.talk.next_moment(self.now),
        ]
        return min((m for m in moments if m is not None), default=None)

    # --------------------------------------------------------------- heard

    def _heard(self, event: Heard, at: float) -> list[Effect]:
        question = self.talk.open_question(event.began)
        mode = question.mode if question else "open"
        meant = understand(event.text, self.words, self.names, mode, event.woken)
        match meant:
            case Chatter():
                return []
            case Unclear():
                return self._unclear(meant.heard, at)
            case Intent():
                self.talk.misses = 0
                return self._intent(meant, at)
        assert_never(meant)

    def _unclear(self, heard: str, at: float) -> list[Effect]:
        """Say again? What I heard. Two examples. Then silence: it never guesses."""
        self.talk.missed(at)
        mode = self.talk.question.mode if self.talk.question else None
        match self.talk.misses:
            case 1:
                return [self._say(reply("say_again", asks=mode))]
            case 2 if heard:
                return [self._say(reply("heard_text", asks=mode, text=heard))]
            case 2 | 3:
                return [self._say(self._two_examples(mode))]
        return []

    def _two_examples(self, mode: Mode | None = None) -> Reply:
        head = self._only_active()
        state = head.state if head else "none"
        first, second = (self._example(self.words.command(name), head) for name in FITTING[state])
        return reply("try", asks=mode, first=first, second=second)

    def _example(self, command: Command, head: Head | None) -> str:
        if head is None:
            return examples(command, self.names)
        step = head.step()
        return command.phrases[0].replace("{zone}", step.subject).replace("{bowl}", step.subject)

    # -------------------------------------------------------------- intents

    def _intent(self, intent: Intent, at: float) -> list[Effect]:
        if (salon_wide := self._salon_wide(intent, at)) is not None:
            return salon_wide
        chair = intent.chair or self._chair_of_question(intent)
        active = [c for c, head in self.heads.items() if head.active]
        if chair is None and len(active) == 1:
            chair = active[0]
        if chair is None:
            if not active:
                return [self._say(reply("no_client"))]
            self.talk.which = intent
            phrase = "which_chair_burns" if intent.name == "burns" else "which_chair"
            return [self._say(reply(phrase, asks="which"))]
        head = self.heads.get(chair)
        if head is None:
            return [self._say(reply("chair_empty", chair=chair))]
        return self._on_head(head, replace(intent, chair=chair), at)

    def _chair_of_question(self, intent: Intent) -> int | None:
        question = self.talk.question
        if question is None or question.mode not in self.words.command(intent.name).modes:
            return None
        return question.chair

    def _on_head(self, head: Head, intent: Intent, at: float) -> list[Effect]:
        command = self.words.command(intent.name)
        if answers.answers(intent.name):
            return self._replies(head, answers.answer(head, intent, at))
        if command.risk == "stop":
            self.talk.pending = Pending(intent, head.chair, at)
            ask = reply(
                f"confirm_{intent.name}", asks="confirm", zone=intent.zone, chair=head.chair
            )
            return [self._say(ask, head.chair)]
        return self._change(head, intent, at)

    def _change(self, head: Head, intent: Intent, at: float) -> list[Effect]:
        before = head.snapshot()
        outcome = acts.act(head, intent, at, self.rule)
        replies = [*outcome.replies]
        if outcome.changed:
            head.file.uncertain_since = None  # somebody has looked
            self.talk.undo = Undo(at, head.chair, before, intent.name)
        if outcome.instruct:
            replies += answers.instruct(head, at)
        effects = self._replies(head, replies)
        if outcome.changed and head.state in ("closed", "stopped"):
            effects.append(WriteRecord(head.chair, head.number))
        return effects

    # ---------------------------------------------------- about the salon

    def _salon_wide(self, intent: Intent, at: float) -> list[Effect] | None:
        match intent.name:
            case "open":
                return self._open(intent, at)
            case "heard":
                return self._acknowledge(intent, at)
            case "quiet":
                self.calls.quiet(at)
                return [self._say(reply("quiet"))]
            case "again":
                return [self._say(self.talk.last)] if self.talk.last else []
            case "undo":
                return self._undo(at)
            case "help":
                return [self._say(self._two_examples())]
            case "what_next":
                coming = [a for a in self._alarms() if a.at > at]
                return [self._say(answers.whats_next(coming, at))]
            case "which_chair" | "confirm" | "leave_it" | "which_number":
                return self._second_phrase(intent, at)
        return None

    def _second_phrase(self, intent: Intent, at: float) -> list[Effect]:
        """Answers that only mean something after a question of ours."""
        pending, which, question = self.talk.pending, self.talk.which, self.talk.question
        if intent.name == "which_chair" and which is not None:
            self.talk.which = self.talk.question = None
            return self._intent(replace(which, chair=intent.chair), at)
        if intent.name == "confirm" and pending is not None:
            if intent.chair != pending.chair:
                return [self._say(reply("confirm_other", asks="confirm", chair=pending.chair))]
            self.talk.pending = self.talk.question = None
            return self._change(self.heads[pending.chair], pending.intent, at)
        if intent.name == "leave_it" and pending is not None:
            self.talk.pending = self.talk.question = None
            return [self._say(reply("left_running"))]
        if intent.name == "which_number" and question is not None and question.mode == "number":
            head = self.heads.get(question.chair or 0)
            self.talk.question = None
            if head is not None:
                return self._change(head, replace(intent, zone=""), at)
        return [self._say(reply("nothing_asked"))]

    def _open(self, intent: Intent, at: float) -> list[Effect]:
        active = [head for head in self.heads.values() if head.active]
        chair = intent.chair or (1 if not active else None)
        if chair is None:
            self.talk.which = intent
            return [self._say(reply("which_chair", asks="which"))]
        taken = self.heads.get(chair)
        if taken is not None and taken.active:
            return [self._say(reply("chair_taken", chair=chair, recipe=taken.recipe.name))]
        recipe = self.recipes[intent.recipe]
        head = Head(chair, len(self.history) + 1, recipe, at)
        self.heads[chair] = head
        self.history.append(head)
        opened = reply("opened", chair=chair, recipe=recipe.name)
        return self._replies(head, [opened, *answers.instruct(head, at)])

    def _acknowledge(self, intent: Intent, at: float) -> list[Effect]:
        chair = intent.chair if intent.chair is not None else self.talk.called_chair
        quieted = self.calls.heard(chair, at)
        if not quieted:
            return [self._say(reply("nothing_called"))]
        for alarm in quieted:
            if alarm.kind == "uncertain" and alarm.chair in self.heads:
                self.heads[alarm.chair].file.uncertain_since = None
        return [self._say(reply("heard"))]

    def _undo(self, at: float) -> list[Effect]:
        undo = self.talk.undo
        if undo is None or not undo.possible(at):
            return [self._say(reply("undo_nothing"))]
        self.talk.undo = None
        head = self.heads[undo.chair]
        head.restore(undo.before)
        return self._replies(head, [reply("undone", what=undo.what), *answers.instruct(head, at)])

    def _resumed(self, event: Resumed, at: float) -> list[Effect]:
        if event.certain and event.away_seconds < HELLO_AFTER:
            return []
        for head in self.heads.values():
            if not event.certain and any(z.running for z in head.file.zones):
                head.file.uncertain_since = at
        away = max(1, round(event.away_seconds / 60))
        return [self._say(reply("resumed", away=away) if event.certain else reply("power_lost"))]

    # --------------------------------------------------------------- calls

    def _alarms(self) -> list[Alarm]:
        found = [alarm for head in self.heads.values() for alarm in due.alarms(head)]
        kinds: dict[str, due.Kind] = {
            "microphone": "microphone",
            "loudspeaker": "loudspeaker",
            "disk": "disk",
        }
        return found + [
            Alarm(kinds[device], None, 0, device, since) for device, since in self.lost.items()
        ]

    def _passing(self) -> list[int]:
        return [head.number for head in self.heads.values() if head.state == "pass"]

    def _call_out(self, at: float) -> list[Effect]:
        known = self._alarms()
        true = due.true_now(known, at)
        effects: list[Effect] = []
        if over := self.calls.update(true, known, at):
            effects.append(Unsay(tuple(over)))
        for spoken in self.calls.to_say(known, at, self._passing()):
            effects.append(self._call(spoken, at))
        return effects

    def _call(self, spoken: Spoken, at: float) -> Say:
        phrase, values, asks = call_phrase(spoken, at)
        first = spoken.alarms[0]
        call = " ".join(alarm.key for alarm in spoken.alarms)
        return self._say(Reply(phrase, values, asks), first.chair, spoken.priority, call)

    # -------------------------------------------------------------- saying

    def _replies(self, head: Head, replies: Sequence[Reply]) -> list[Effect]:
        return [self._say(one, head.chair) for one in replies]

    def _say(
        self,
        what: Reply,
        chair: int | None = None,
        priority: Priority = Priority.GUIDE,
        call: str = "",
    ) -> Say:
        self._said += 1
        say = Say(self._said, priority, chair, what.phrase, what.values, call, what.asks)
        self.talk.saying(say, what, self.now)
        return say

    def _only_active(self) -> Head | None:
        active = [head for head in self.heads.values() if head.active]
        question = self.talk.question
        if question is not None and question.chair in self.heads:
            return self.heads[question.chair]
        return active[0] if len(active) == 1 else None


def names_of(words: Words, recipes: Mapping[str, Recipe], chairs: int) -> Names:
    """The closed sets of a session: what its recipes name."""
    zones, bowls = {}, {}
    for recipe in recipes.values():
        for stage in recipe.stages:
            zones.update(dict.fromkeys(zone.name for zone in stage.zones))
            bowls.update(dict.fromkeys(bowl.name for bowl in stage.bowls))
    return Names(chairs, tuple(zones), tuple(bowls), tuple(recipes), words.notes)


__all__ = ["Question", "Salon", "names_of"]
