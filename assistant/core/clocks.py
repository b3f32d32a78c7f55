"""Zone clocks as deadlines: when a zone is to be checked, due, at its limit; the rinse window.

A clock is not a thread and holds no state of its own: it is the zone's start and its window.
All times are salon seconds, all windows minutes from the recipe.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.core.recipe import Stage, Window

MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class ZoneClock:
    """The clock of one zone that is on.

    `counts_from` is the moment its minutes are counted from: its own start, or under a shared
    total the start of the first zone of the stage (then a later zone simply gets less).
    """

    zone: str
    started_at: float
    counts_from: float
    window: Window

    @property
    def check_from_at(self) -> float:
        """When the first strand check is due; never before the zone is on."""
        return max(self.started_at, self.counts_from + self.window.check_from_minutes * MINUTE)

    @property
    def target_at(self) -> float:
        """When the zone is due; never before the zone is on."""
        return max(self.started_at, self.counts_from + self.window.target_minutes * MINUTE)

    @property
    def limit_at(self) -> float:
        """When the product must be off. Nothing moves it."""
        return self.counts_from + self.window.limit_minutes * MINUTE


@dataclass(frozen=True, slots=True)
class RinseWindow:
    """When every zone of a stage may be rinsed together: [opens, closes], empty if opens > closes.

    `opened_by` and `closed_by` name the zones that decide.
    """

    opens: float
    closes: float
    opened_by: str
    closed_by: str

    @property
    def fits(self) -> bool:
        """Whether a single rinse can serve every zone."""
        return self.opens <= self.closes


def clock(stage: Stage, zone: str, started_at: float, first_start: float) -> ZoneClock:
    """The clock of a zone that went on at `started_at` in a stage begun at `first_start`."""
    counts_from = first_start if stage.counts_from == "shared" else started_at
    return ZoneClock(zone, started_at, counts_from, stage.zone(zone).window)


def rinse_window(clocks: Sequence[ZoneClock]) -> RinseWindow:
    """Intersection of the zones' [check from, limit]; `ValueError` without any clock."""
    if not clocks:
        raise ValueError("no zone is on")
    last = max(clocks, key=lambda c: c.check_from_at)
    first = min(clocks, key=lambda c: c.limit_at)
    return RinseWindow(last.check_from_at, first.limit_at, last.zone, first.zone)


@dataclass(frozen=True, slots=True)
class Rinse:
    """Zones that one rinse can serve together, and when."""

    zones: tuple[str, ...]
    window: RinseWindow


def rinses(clocks: Sequence[ZoneClock]) -> list[Rinse]:
    """The fewest rinses that serve every zone, in the order in which they are to be made.

    Taking the zones by their limits and joining each one that may already be rinsed by then is
    the known optimal way to pierce intervals with the fewest points.
    """
    left, found = sorted(clocks, key=lambda c: (c.limit_at, c.started_at)), []
    while left:
        first = left[0]  # on its own if it went on after its total had ended
        together = [first, *(c for c in left[1:] if c.check_from_at <= first.limit_at)]
        found.append(Rinse(tuple(c.zone for c in together), rinse_window(together)))
        left = [c for c in left if c not in together]
    return found


@dataclass(frozen=True, slots=True)
class Waiting:
    """A zone that is not on yet, with the minutes its pass is expected to take."""

    zone: str
    apply_minutes: float
    window: Window
    start_after_minutes: float = 0.0  # shared total: it is on so long after the first zone


def last_moment(
    stage: Stage, running: Sequence[ZoneClock], waiting: Sequence[Waiting]
) -> float | None:
    """Until when the next pass may begin so that one rinse still serves every zone.

    Each waiting zone is on after the passes before it; own counting opens its window
    `check_from` after that, shared counting at a fixed time, and either way the zone cannot be
    rinsed before it is on. None while nothing is running (then nothing can be missed).
    """
    if not running:
        return None
    closes = min(c.limit_at for c in running)
    if rinse_window(running).opens > closes:
        return max(c.started_at for c in running)
    latest, done = float("inf"), 0.0
    for zone in waiting:
        done += zone.apply_minutes
        needs = done + (zone.window.check_from_minutes if stage.counts_from == "own" else 0)
        latest = min(latest, closes - needs * MINUTE)
    return latest


def first_moment(stage: Stage, running: Sequence[ZoneClock], waiting: Waiting) -> float | None:
    """Before when a zone that waits may not begin, or its own limit comes too early.

    Begun sooner, it would have to be off before the zones that are on may be rinsed. None while
    nothing is running, and under a shared total (there a later zone only ever gets less).
    """
    if not running or stage.counts_from == "shared":
        return None
    opens = max(c.check_from_at for c in running)
    return opens - (waiting.window.limit_minutes + waiting.apply_minutes) * MINUTE


def planned_start(running: Sequence[ZoneClock], waiting: Waiting, own: bool) -> float | None:
    """When the pass of a zone that waits should begin.

    Counting on its own, its target then meets the others'; under a shared total it is on as long
    after the first zone as the recipe says (hot roots), or follows at once. The zone is on after
    its pass, so the pass begins that much earlier. None where it follows at once.
    """
    if not running or not (own or waiting.start_after_minutes):
        return None
    takes = waiting.apply_minutes * MINUTE
    if not own:
        first = min(c.counts_from for c in running)
        return first + waiting.start_after_minutes * MINUTE - takes
    meet = max(c.target_at for c in running)
    return meet - waiting.window.target_minutes * MINUTE - takes
