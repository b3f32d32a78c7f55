"""A service as marks on a line of time: what a picture of it shows. Times are salon seconds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from assistant.core import clocks
from assistant.core.events import Priority
from assistant.core.head import Head
from assistant.core.head_file import ZoneRun


@dataclass(frozen=True, slots=True)
class StrandCheck:
    """A look at a strand and what was answered."""

    at: float
    answer: str


@dataclass(frozen=True, slots=True)
class ZoneBar:
    """One zone: its pass, its clock and its rinse; None = did not happen."""

    zone: str
    pass_began_at: float | None = None
    on_at: float | None = None
    check_at: float | None = None
    target_at: float | None = None
    limit_at: float | None = None
    ready_at: float | None = None
    rinsing_at: float | None = None
    rinsed_at: float | None = None
    stopped_at: float | None = None  # the clock was stopped by a confirmed command
    left_out: bool = False
    checks: tuple[StrandCheck, ...] = ()


@dataclass(frozen=True, slots=True)
class StageBand:
    """The zones of one stage, and the time in which one rinse serves them all."""

    stage: str
    zones: tuple[ZoneBar, ...]
    opens_at: float | None = None
    closes_at: float | None = None
    closed_by: str = ""

    @property
    def fits(self) -> bool:
        """Whether a single rinse can serve every zone."""
        return (
            self.opens_at is not None
            and self.closes_at is not None
            and self.opens_at <= self.closes_at
        )


@dataclass(frozen=True, slots=True)
class HeadLane:
    """One head, from its opening to its end (None = still going on)."""

    chair: int
    number: int
    recipe: str
    opened_at: float
    ended_at: float | None
    stages: tuple[StageBand, ...]
    burns_at: float | None = None
    stopped_why: str = ""


@dataclass(frozen=True, slots=True)
class SaidMark:
    """Something said: a call (priority 1 to 3) or guidance (4). Chair None = the room."""

    at: float
    chair: int | None
    priority: Priority
    text: str


@dataclass(frozen=True, slots=True)
class HeardMark:
    """Something said to us. `understood` is False for what was rejected or missed."""

    at: float
    chair: int | None
    text: str
    understood: bool = True


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that befell the room: a lost microphone, a kill, a power cut."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Timeline:
    """Everything a picture shows."""

    title: str
    ends_at: float
    heads: tuple[HeadLane, ...]
    said: tuple[SaidMark, ...] = ()
    heard: tuple[HeardMark, ...] = ()
    happenings: tuple[Happening, ...] = ()


def timeline(
    title: str,
    heads: Iterable[Head],
    ends_at: float,
    said: Iterable[SaidMark] = (),
    heard: Iterable[HeardMark] = (),
    happenings: Iterable[Happening] = (),
) -> Timeline:
    """Everything together, heads in order of chair, then of opening."""
    lanes = sorted((lane(head) for head in heads), key=lambda h: (h.chair, h.opened_at))
    return Timeline(title, ends_at, tuple(lanes), tuple(said), tuple(heard), tuple(happenings))


def lane(head: Head) -> HeadLane:
    """The marks of one head, from its facts."""
    file = head.file
    stages = tuple(_band(head, index, stage.name) for index, stage in enumerate(head.recipe.stages))
    return HeadLane(
        head.chair,
        head.number,
        head.recipe.title,
        file.opened_at,
        file.ended_at,
        stages,
        file.burns_at,
        file.stopped_why,
    )


def _band(head: Head, index: int, name: str) -> StageBand:
    """The window counts every zone that went on, also when it is rinsed by now."""
    runs = head.zones(index)
    bars = tuple(_bar(head, run) for run in runs)
    on = [head.clock(run) for run in runs if run.on_at is not None and run.stopped_at is None]
    if not on:
        return StageBand(name, bars)
    window = clocks.rinse_window(on)
    return StageBand(name, bars, window.opens, window.closes, window.closed_by)


def _bar(head: Head, run: ZoneRun) -> ZoneBar:
    clock = head.clock(run) if run.on_at is not None else None
    return ZoneBar(
        zone=run.zone.name,
        pass_began_at=run.pass_began_at,
        on_at=run.on_at,
        check_at=clock.check_from_at if clock else None,
        target_at=clock.target_at if clock else None,
        limit_at=clock.limit_at if clock else None,
        ready_at=run.ready_at,
        rinsing_at=run.rinsing_at,
        rinsed_at=run.rinsed_at,
        stopped_at=run.stopped_at,
        left_out=run.left_out,
        checks=tuple(StrandCheck(at, answer) for at, answer in run.checks),
    )
