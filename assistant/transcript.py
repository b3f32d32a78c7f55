"""What a rehearsal came to, as lines to read: heard, said, expected against actual."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.core.events import Priority
from assistant.core.intents import UNKNOWN
from assistant.core.script import Expectation, Script, mmss
from assistant.rehearsal import HeardLine, Played


@dataclass(frozen=True, slots=True)
class TranscriptLine:
    """One line: when, at which chair (0 = the room), heard or said, and the words."""

    at: float
    chair: int
    kind: str
    text: str

    def __str__(self) -> str:
        """ "12:30  chair 1  said   Crown. Check a strand." """
        chair = f"chair {self.chair}" if self.chair else "       "
        return f"{mmss(self.at)}  {chair:<8}  {self.kind:<6}  {self.text}"


@dataclass(frozen=True, slots=True)
class Verdict:
    """An expectation and when it was met; `at` None = not said."""

    want: Expectation
    at: float | None

    @property
    def met(self) -> bool:
        """Said in time, or never said if that was wanted."""
        return (self.at is None) == self.want.never

    def __str__(self) -> str:
        """One line, "met" or "MISSED" first."""
        mark = "met   " if self.met else "MISSED"
        span = f"{self.want.after}-{self.want.by}"
        if self.want.never:
            return f"{mark}  {span}  never {self.want.said!r}" + self._when()
        return f"{mark}  {span}  {self.want.said!r}" + (self._when() or "  not said")

    def _when(self) -> str:
        return f"  said at {mmss(self.at)}" if self.at is not None else ""


def transcript(played: Played) -> list[TranscriptLine]:
    """Every line in order of time."""
    lines = [_heard(line) for line in played.heard]
    lines += [
        TranscriptLine(
            s.starts_at,
            s.say.chair or 0,
            "said" if s.say.priority == Priority.GUIDE else "call",
            s.text or "(tone)",
        )
        for s in played.spoken
    ]
    return sorted(lines, key=lambda line: line.at)


def verdicts(script: Script, lines: Sequence[TranscriptLine]) -> Iterator[Verdict]:
    """Each expectation against what was said."""
    for want in script.expect:
        wanted = want.said.lower()
        at = next(
            (
                line.at
                for line in lines
                if line.kind in ("said", "call")
                and want.after.seconds <= line.at <= want.by.seconds
                and wanted in line.text.lower()
            ),
            None,
        )
        yield Verdict(want, at)


def _heard(heard: HeardLine) -> TranscriptLine:
    words = heard.line.say or heard.line.answer or heard.line.talk
    who = heard.line.voice
    if heard.missed:
        return TranscriptLine(heard.at, 0, "missed", f"({who}: {words!r}, not heard)")
    text = heard.text.replace(UNKNOWN, "...")
    return TranscriptLine(heard.at, 0, "heard", f"{text}  ({who})")
