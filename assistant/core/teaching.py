"""What does a trainee hear at a step, what is asked, and what is answered to an answer?

A lesson never holds anything up: every act works with its question unanswered, every call cuts
a question off, and clocks know nothing of it. `levels.py` says how far a step has faded.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import takewhile

from assistant.core import numbers
from assistant.core.asked_mix import ratio_said
from assistant.core.head import Head, Step
from assistant.core.head_file import ZoneRun
from assistant.core.intents import Intent
from assistant.core.levels import Asked, Level, StepName
from assistant.core.mix import Ratio
from assistant.core.recipe import Bowl, Zone
from assistant.core.replies import Outcome, Reply, reply, said
from assistant.core.rule import SalonRule

QUESTIONS = {
    "ratio": "ask_ratio",
    "volume": "ask_volume",
    "check": "ask_check",
    "target": "ask_target",
    "limit": "ask_limit",
}
# Under a shared total the minutes of a later zone count from the first one.
TOTALS = {
    "check": "ask_check_total",
    "target": "ask_target_total",
    "limit": "ask_limit_total",
}
ANSWERS = frozenset("lesson_ratio lesson_volume lesson_minutes lesson_skip".split())
AFTER_A_CALL = frozenset("ready all_ready not_ready give_it rinsing rinsed".split())
_UNITS = {"volume": "volume", "check": "minutes", "target": "minutes", "limit": "minutes"}


def step_name(head: Head, step: Step) -> StepName:
    """What the level of a step belongs to."""
    stage = head.recipe.stages[step.stage].name
    return StepName(head.recipe.name, stage, step.kind, step.subject)


def reason(head: Head) -> str:
    """Why the present step is done so; empty if the recipe gives no reason."""
    step, stage = head.step(), head.stage()
    match step.kind:
        case "mix":
            return stage.bowl(step.subject).why or head.recipe.why
        case "place":
            return stage.zone(step.subject).why
        case "rinse":
            return stage.rinse_why
        case "finish" if head.recipe.finish_why:
            return head.recipe.finish_why[head.recipe.finish.index(step.subject)]
    return ""


def taught(head: Head, plain: list[Reply], at: float) -> list[Reply]:
    """The present step as this head's trainee is to hear it; `plain` if there is none."""
    lesson = head.file.lesson
    if lesson is None or (plain[:1] and plain[0].phrase == "place_wait"):
        return plain  # how long a zone may wait is a clock's matter, at every level
    if reads(head):
        why = _because(head, plain[-1]) if head.file.told == 0 else []
        # the scalp is asked after while it develops: that question comes last, for its answer
        return [*why, *plain] if head.step().kind == "develop" else [*plain, *why]
    if not held_back(head):
        return plain
    if head.file.told == 0:
        return _challenge(head, at)
    if (asked := open_question(head)) is not None:
        asked.came = "looked up"
    return plain


def reads(head: Head) -> bool:
    """Whether a trainee is told the present step with its reason."""
    lesson = head.file.lesson
    return lesson is not None and lesson.level(step_name(head, head.step())) == Level.READ


def held_back(head: Head) -> bool:
    """Whether a question, or silence, stands in place of the first telling of the step."""
    lesson, step = head.file.lesson, head.step()
    if lesson is None or step.kind not in ("mix", "place"):
        return False
    level = lesson.level(step_name(head, step))
    return level == Level.SILENT or (level == Level.CHALLENGE and _right(head) is not None)


def open_question(head: Head) -> Asked | None:
    """The question about the present step that nobody has answered yet."""
    if head.file.lesson is None:
        return None
    asked = head.file.lesson.asked.get(str(step_name(head, head.step())))
    return asked if asked is not None and asked.came == "open" else None


def looked_up(head: Head, command: str) -> None:
    """Somebody asked us for what we had asked: no harm, but no clean run."""
    asked = open_question(head)
    if command == "ratio" and asked is not None and head.step().kind == "mix":
        asked.came = "looked up"
        head.file.told = max(1, head.file.told)


def answered(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """An answer to the open question; a wrong one is told the right value and why."""
    asked = open_question(head)
    if asked is None:
        return said(reply("nothing_asked"))
    given = _given(intent, asked.about)
    if given == "":  # a number for a ratio: more likely misheard than meant
        return said(_question(head, asked))
    head.file.told = max(1, head.file.told)
    asked.given = given
    asked.came = "right" if asked.right in _alike(intent, asked.about, given) else "wrong"
    goes_on = head.state != "pass"  # the room stays quiet while product goes on
    if asked.came == "right":
        return Outcome((reply("lesson_right", right=asked.right),), True, goes_on)
    wrong = reply("lesson_wrong", right=asked.right, given=given)
    return Outcome((wrong, *_because(head, wrong)), True, goes_on)


def skipped(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """ "Skip the question": the value is told, nothing is held against anybody."""
    asked = open_question(head)
    if asked is None:
        return said(reply("nothing_asked"))
    head.file.told = max(1, head.file.told)
    asked.came = "skipped"
    told = reply("lesson_skipped", right=asked.right)
    return Outcome((told, *_because(head, told)), True, head.state != "pass")


def taken_up(head: Head, command: str) -> list[Reply]:
    """The open question once more, when a call that came between is answered."""
    asked = open_question(head)
    if asked is None or asked.twice or command not in AFTER_A_CALL:
        return []
    if head.state not in ("mix", "place"):  # never into a pass
        return []
    asked.twice = True
    return [_question(head, asked)]


def before_this(head: Head, run: ZoneRun) -> ZoneRun | None:
    """The zone that the recipe puts on before this one and that still waits, if any."""
    for other in takewhile(lambda other: other is not run, head.zones(run.stage)):
        if other.waiting and not other.zone.optional and not other.zone.wait_for_start:
            return other
    return None


def out_of_order(head: Head, run: ZoneRun) -> Sequence[Reply]:
    """Asked before a zone counts as on: what a trainee hears if another one came first."""
    first = before_this(head, run)
    if head.file.lesson is None or first is None:
        return ()
    early = reply("lesson_order", first=first.zone.name, zone=run.zone.name)
    return early, reply("because", why=_small(first.zone.why))


def _challenge(head: Head, at: float) -> list[Reply]:
    """The question of the present step, or nothing at a silent one."""
    lesson, right = head.file.lesson, _right(head)
    name = step_name(head, head.step())
    if lesson is None or right is None or lesson.level(name) == Level.SILENT:
        return []
    about = _subject(head).challenge
    words = right.spoken() if isinstance(right, Ratio) else _counted(right, about)
    asked = lesson.asked.setdefault(str(name), Asked(about, words, at))
    return [_question(head, asked)]


def _question(head: Head, asked: Asked) -> Reply:
    shared = head.step().kind == "place" and head.stage().counts_from == "shared"
    phrase = TOTALS[asked.about] if shared else QUESTIONS[asked.about]
    return reply(phrase, asks="lesson", subject=head.step().subject)


def _subject(head: Head) -> Bowl | Zone:
    step, stage = head.step(), head.stage()
    return stage.bowl(step.subject) if step.kind == "mix" else stage.zone(step.subject)


def _right(head: Head) -> Ratio | int | None:
    return _subject(head).challenged()


def _given(intent: Intent, about: str) -> str:
    """The answer as it is said back; empty if it is of another kind than the question.

    A volume needs its word: "twenty volume" was heard as "twenty four".
    """
    if about == "ratio":
        ratio = ratio_said(intent.ratio.split())
        return ratio.spoken() if ratio is not None else ""
    volume = intent.name == "lesson_volume"
    if intent.number is None or (about == "volume") != volume:
        return ""
    return _counted(intent.number, about)


def _alike(intent: Intent, about: str, given: str) -> list[str]:
    """What may have been said: thirteen for thirty is our ear's fault, not the trainee's."""
    if intent.number is None:
        return [given]
    heard = (intent.number, *numbers.sound_alikes(intent.number))
    return [_counted(number, about) for number in heard]


def _counted(number: int, about: str) -> str:
    unit = _UNITS[about]
    return f"{numbers.spoken(number)} {'minute' if (number, unit) == (1, 'minutes') else unit}"


def _because(head: Head, after: Reply) -> list[Reply]:
    why = reason(head)
    if head.step().kind == "develop":
        return [reply("because_clocks", asks=after.asks)]
    return [reply("because", asks=after.asks, why=_small(why))] if why else []


def _small(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
