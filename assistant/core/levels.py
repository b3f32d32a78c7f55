"""How much is a trainee told at a step? Levels rise with clean runs, fall with errors and time.

Three levels, for each step and person: *read-do* (the step with its reason), *challenge* (a
question whose answer is a value) and *silent* (only clocks, checks and calls are spoken). The
idea is fading guidance: worked steps help who is new and hinder who is not, and a checklist is
answered with what one sees, not with "done". The numbers below are ours.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Literal

CLEAN_RUNS = 3  # in a row, then a step goes up by one level
DAY = 86_400.0
FADES_AFTER_DAYS = 30  # every so many days without it a step goes down by one level


class Level(IntEnum):
    """How a step is spoken to a trainee."""

    READ = 1
    CHALLENGE = 2
    SILENT = 3


LEVEL_WORDS: Mapping[Level, str] = {
    Level.READ: "read-do",
    Level.CHALLENGE: "challenge",
    Level.SILENT: "silent",
}

SHORT = "told short"  # what challenge comes to at a step that has no value to ask for


def level_words(step: StepName, level: Level) -> str:
    """How a step is told at a level."""
    plain = level == Level.CHALLENGE and step.kind not in ("mix", "place")
    return SHORT if plain else LEVEL_WORDS[level]


# As far as each kind of step may fade. A bowl's numbers, checks and rinses are always spoken;
# what is not named here (the safety gate above all) never fades.
CEILING: Mapping[str, Level] = {
    "mix": Level.CHALLENGE,
    "place": Level.SILENT,
    "develop": Level.CHALLENGE,
    "rinse": Level.CHALLENGE,
    "finish": Level.CHALLENGE,
}

Outcome = Literal["clean", "untidy", "error"]
_BETWEEN = " / "


@dataclass(frozen=True, slots=True)
class StepName:
    """One step of one recipe, the same in every service: what a level belongs to."""

    recipe: str
    stage: str
    kind: str
    subject: str

    def __str__(self) -> str:
        """ "root tap / tap / place / nape": how it is kept."""
        return _BETWEEN.join((self.recipe, self.stage, self.kind, self.subject))

    @classmethod
    def parse(cls, text: str) -> StepName:
        """The step of a kept name; `ValueError` if it is none."""
        parts = text.split(_BETWEEN, 3)
        if len(parts) != 4:
            raise ValueError(f"{text!r} names no step")
        return cls(*parts)

    @property
    def ceiling(self) -> Level:
        """The level beyond which it never fades."""
        return CEILING.get(self.kind, Level.READ)


@dataclass(frozen=True, slots=True)
class Run:
    """How a step went in one service. Untidy: nothing wrong, but asked, skipped or late."""

    step: str
    utc: float
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a trainee stands at one step."""

    level: Level = Level.READ
    clean_in_a_row: int = 0


def standing(step: str, runs: Iterable[Run], now: float) -> Standing:
    """Where somebody stands at a step after these runs (of any steps), at `now` (UTC seconds)."""
    ceiling = StepName.parse(step).ceiling
    stands, last = Standing(), now
    for run in sorted((r for r in runs if r.step == step), key=lambda r: r.utc):
        stands = _after(_faded(stands, run.utc - last), run.outcome, ceiling)
        last = run.utc
    return _faded(stands, now - last)


def standings(runs: Iterable[Run], now: float) -> dict[str, Standing]:
    """The same for every step that was ever done."""
    kept = tuple(runs)
    return {step: standing(step, kept, now) for step in dict.fromkeys(r.step for r in kept)}


def _after(stands: Standing, outcome: Outcome, ceiling: Level) -> Standing:
    if outcome == "error":
        return Standing(max(Level.READ, Level(max(1, stands.level - 1))))
    if outcome == "untidy":
        return Standing(stands.level)
    row = stands.clean_in_a_row + 1
    if row < CLEAN_RUNS or stands.level >= ceiling:
        return Standing(stands.level, min(row, CLEAN_RUNS))
    return Standing(Level(stands.level + 1))


def _faded(stands: Standing, away: float) -> Standing:
    down = int(away // (FADES_AFTER_DAYS * DAY))
    return stands if down < 1 else Standing(Level(max(Level.READ, stands.level - down)))


# ------------------------------------------------------- in one service


@dataclass(slots=True)
class Asked:
    """One question of ours to the trainee, and its first answer."""

    about: str  # ratio, volume, check, target or limit
    right: str  # as it is said
    at: float
    given: str = ""
    came: Literal["open", "right", "wrong", "skipped", "looked up"] = "open"
    twice: bool = False  # asked once more, after a call had come between


@dataclass(slots=True)
class Lesson:
    """What a head knows of its trainee: who, how far at each step, and what was asked."""

    trainee: str
    levels: Mapping[str, Level]
    asked: dict[str, Asked] = field(default_factory=dict)

    def level(self, step: StepName) -> Level:
        """How this step is spoken, never beyond its ceiling."""
        return min(self.levels.get(str(step), Level.READ), step.ceiling)
