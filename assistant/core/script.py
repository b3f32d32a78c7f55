"""A rehearsal script as data: what is heard when, what must have been said by when.

Times are "mm:ss" of the service. The dataclasses are the schema of
`audio_fixtures/rehearsals/*.yaml`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from assistant.core.levels import DAY, Run, standings

Noise = Literal["clean", "dryer", "water", "chatter"]
Role = Literal["stylist", "assistant", "trainee", "second stylist"]
Happening = Literal[
    "kill",
    "microphone lost",
    "microphone back",
    "loudspeaker lost",
    "loudspeaker back",
    "power lost",
]
_TIME = re.compile(r"(\d{1,3}):([0-5]\d)\Z")


@dataclass(frozen=True, slots=True)
class At:
    """A time "mm:ss" of the service."""

    seconds: float

    @classmethod
    def parse(cls, text: str) -> At:
        """The time of "12:30"; `ValueError` says what to write."""
        match = _TIME.match(text.strip())
        if match is None:
            raise ValueError(f"{text!r} is not a time: write minutes and seconds like 12:30")
        return cls(int(match[1]) * 60.0 + int(match[2]))

    def __str__(self) -> str:
        """ "12:30"."""
        return mmss(self.seconds)


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that happens at a time.

    Exactly one of: `say` (the wake word is put before it), `answer` (said without the wake
    word, after a question), `talk` (chatter that is not meant for us), `happens`.
    """

    at: At
    say: str = ""
    answer: str = ""
    talk: str = ""
    happens: Happening | None = None
    voice: Role = "stylist"
    noise: Noise = "clean"
    snr_db: int | None = None
    minutes: float = 0.0  # how long the power is lost

    def words(self, wake: str) -> str:
        """Everything that is spoken, wake word included."""
        return f"{wake} {self.say}" if self.say else self.answer or self.talk


@dataclass(frozen=True, slots=True)
class Expectation:
    """A sentence that must have been said between `after` and `by` (or never)."""

    said: str
    by: At
    after: At = At(0.0)
    never: bool = False


@dataclass(frozen=True, slots=True)
class Learned:
    """What the trainee of a rehearsal has behind: so many clean runs of a step, so long ago."""

    step: str  # "root tap / tap / place / nape"
    clean: int
    days_ago: float = 1.0


@dataclass(frozen=True, slots=True)
class Seat:
    """Who sits, or will sit, in a chair: a pseudonym or a number."""

    chair: int
    client: str


@dataclass(frozen=True, slots=True)
class EarlierVisit:
    """A visit before the rehearsal, as the records will have it. Everything in it is invented."""

    client: str
    recipe: str
    days_ago: int
    test_days_before: int  # the alert test was told so many days before that visit
    notes: tuple[str, ...] = ()
    outcome: str = ""
    left_out: tuple[str, ...] = ()
    zone: str = ""  # one zone that was on for other than its target
    minutes_on: float = 0
    bowl_grams: float = 0  # of the first bowl, if it was mixed larger or smaller then


@dataclass(frozen=True, slots=True)
class Script:
    """A rehearsal."""

    version: int
    title: str
    about: str
    lines: tuple[Line, ...]
    expect: tuple[Expectation, ...]
    chairs: int = 4
    trainee: str = ""  # an invented name: the heads of this rehearsal are taught
    learned: tuple[Learned, ...] = ()
    seats: tuple[Seat, ...] = ()  # known when the session starts
    earlier: tuple[EarlierVisit, ...] = ()

    def runs(self, now: float) -> list[Run]:
        """What the trainee has behind, counted back from a time."""
        return [
            Run(known.step, now - known.days_ago * DAY, "clean")
            for known in self.learned
            for _ in range(known.clean)
        ]

    def levels(self) -> tuple[tuple[str, int], ...]:
        """The levels that the rehearsal begins with, by the same law as at the chair."""
        return tuple((step, int(s.level)) for step, s in standings(self.runs(0.0), 0.0).items())


def mmss(seconds: float) -> str:
    """ "mm:ss", minutes above 59 allowed: "75:04"."""
    whole = int(seconds)
    return f"{whole // 60:02d}:{whole % 60:02d}"


def problems(script: Script) -> list[tuple[tuple[str | int, ...], str, str]]:
    """(path, what, mend) of every rule that needs more than one field to see."""
    found: list[tuple[tuple[str | int, ...], str, str]] = []
    before = 0.0
    for index, line in enumerate(script.lines):
        given = [bool(x) for x in (line.say, line.answer, line.talk, line.happens)]
        if sum(given) != 1:
            found.append(
                (
                    ("lines", index),
                    "a line does one thing",
                    "give one of say, answer, talk, happens",
                )
            )
        if line.at.seconds < before:
            found.append((("lines", index, "at"), f"{line.at} is before the line above", "reorder"))
        if (line.noise != "clean") != (line.snr_db is not None):
            found.append((("lines", index), "noise and snr_db go together", "give both or neither"))
        before = line.at.seconds
    for index, known in enumerate(script.learned):
        if known.step.count(" / ") < 3:
            mend = "write recipe / stage / kind / subject"
            found.append((("learned", index, "step"), f"{known.step!r} names no step", mend))
    for index, want in enumerate(script.expect):
        if want.by.seconds <= want.after.seconds:
            found.append((("expect", index), "by is not later than after", "mend the times"))
    return found
