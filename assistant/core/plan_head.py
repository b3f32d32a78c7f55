"""How does one head run on its own: when is each zone put on, when is it rinsed, in how many?

Everything here is counted with the clocks that the live head has, so that a plan and the calls
cannot disagree. Times are seconds from the head's beginning unless said otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from assistant.core import clocks
from assistant.core.clocks import MINUTE, Rinse, Waiting, ZoneClock
from assistant.core.recipe import Recipe, Stage, Zone

RINSE_MINUTES = 5.0  # what a rinse is taken to last where nothing else is known


@dataclass(frozen=True, slots=True)
class ZonePlan:
    """One zone: when its pass begins, and the clock it then has."""

    zone: Zone
    begins: float
    clock: ZoneClock


@dataclass(frozen=True, slots=True)
class StagePlan:
    """One stage, its rinses in order and when each begins."""

    stage: Stage
    zones: tuple[ZonePlan, ...]
    rinses: tuple[Rinse, ...]
    rinse_at: tuple[float, ...]
    ends: float

    @property
    def fits(self) -> bool:
        """Whether a single rinse serves every zone."""
        return len(self.rinses) == 1

    @property
    def slack_minutes(self) -> float:
        """How much longer the passes may take before a single rinse no longer fits."""
        whole = clocks.rinse_window([z.clock for z in self.zones])
        return (whole.closes - whole.opens) / MINUTE


def service_plan(
    recipe: Recipe, leave_out: Sequence[str] = (), pace: float = 1.0
) -> tuple[StagePlan, ...]:
    """The stages of a recipe at this pace (1 = the recipe's own minutes), one after another.

    A stage whose zones are all left out is none.
    """
    plans: list[StagePlan] = []
    begins = 0.0
    for stage in recipe.stages:
        zones = [zone for zone in stage.zones if zone.name not in leave_out]
        if zones:
            plans.append(_stage_plan(stage, zones, begins, pace))
            begins = plans[-1].ends
    return tuple(plans)


def _stage_plan(stage: Stage, zones: Sequence[Zone], begins: float, pace: float) -> StagePlan:
    planned = tuple(_passes(stage, zones, {}, begins, pace))
    found = tuple(clocks.rinses([p.clock for p in planned]))
    at: list[float] = []
    for rinse in found:
        ready = at[-1] + RINSE_MINUTES * MINUTE if at else begins
        targets = [p.clock.target_at for p in planned if p.zone.name in rinse.zones]
        best = min(max(targets), rinse.window.closes)
        at.append(max(best, rinse.window.opens, ready))
    return StagePlan(stage, planned, found, tuple(at), at[-1] + RINSE_MINUTES * MINUTE)


def passes(stage: Stage, zones: Sequence[Zone]) -> tuple[ZonePlan, ...]:
    """The zones in this order at the recipe's pace, from 0."""
    return tuple(_passes(stage, zones, {}, 0.0, 1.0))


def _passes(
    stage: Stage, zones: Sequence[Zone], on: Mapping[str, float], begins: float, pace: float
) -> Iterator[ZonePlan]:
    """The passes one after another, a zone that waits when its target meets the others'."""
    running = [_clock(stage, name, at, min(on.values())) for name, at in on.items()]
    free = begins
    for zone in zones:
        if zone.name in on:
            continue
        takes = zone.apply_minutes * pace
        start = free
        if zone.wait_for_start:
            ahead = Waiting(zone.name, takes, zone.window, zone.start_after_minutes)
            start = max(free, clocks.planned_start(running, ahead, stage.counts_from == "own") or 0)
        free = start + takes * MINUTE
        first = min([c.started_at for c in running], default=free)
        running.append(_clock(stage, zone.name, free, first))
        yield ZonePlan(zone, start, running[-1])


def _clock(stage: Stage, zone: str, at: float, first: float) -> ZoneClock:
    return clocks.clock(stage, zone, at, min(at, first))


def order_of_work(
    stage: Stage, zones: Sequence[Zone], on: Mapping[str, float], begins: float, pace: float = 1.0
) -> list[Zone | tuple[str, ...]]:
    """Passes (a zone) and rinses (names) in the order in which one head alone needs them.

    `on` are the zones that have their product already, with its time. A group that has to be
    rinsed before the passes to come are done is rinsed between them.
    """
    planned = list(_passes(stage, zones, on, begins, pace))
    running = [_clock(stage, n, at, min(on.values())) for n, at in on.items() if _has(zones, n)]
    groups = clocks.rinses([*running, *(p.clock for p in planned)])
    work: list[Zone | tuple[str, ...]] = []
    still = {p.zone.name for p in planned}
    for plan in planned:
        work += [g.zones for g in _due_before(groups, plan, still)]
        groups = [g for g in groups if g.zones not in work]
        work.append(plan.zone)
        still.discard(plan.zone.name)
    return [*work, *(g.zones for g in groups)]


def _due_before(groups: Sequence[Rinse], plan: ZonePlan, still: set[str]) -> list[Rinse]:
    """Groups that are complete and whose window closes before this pass would be done."""
    return [
        g
        for g in groups
        if not still.intersection(g.zones) and g.window.closes < plan.clock.started_at
    ]


def _has(zones: Sequence[Zone], name: str) -> bool:
    return any(zone.name == name for zone in zones)


def meets_after(zones: Sequence[Zone], waiting: Zone, pace: float) -> tuple[str, float]:
    """A zone that is put on at once, and how long after it the one that waits best begins.

    The zone returned is the one that is due last; both targets then come together. Minutes.
    """
    at_once = [zone for zone in zones if not zone.wait_for_start]
    done, due = 0.0, []
    for zone in at_once:
        done += zone.apply_minutes * pace
        due.append((done + zone.window.target_minutes, zone))
    _, last = max(due, key=lambda pair: pair[0])
    takes = waiting.apply_minutes * pace
    return last.name, last.window.target_minutes - waiting.window.target_minutes - takes


@dataclass(frozen=True, slots=True)
class StartRange:
    """When the pass of a zone that waits may begin so that one rinse serves all.

    `best` lets the targets meet. None = nothing bounds it. Salon seconds.
    """

    zone: str
    earliest: float | None
    best: float | None
    latest: float | None

    @property
    def missed(self) -> bool:
        """Too early for one side and too late for the other: no single rinse can serve all."""
        return self.earliest is not None and self.latest is not None and self.earliest > self.latest


def start_range(
    stage: Stage, running: Sequence[ZoneClock], waiting: Sequence[Waiting]
) -> StartRange:
    """The range for the first of the zones that wait; those after it follow at once."""
    first = waiting[0]
    return StartRange(
        first.zone,
        clocks.first_moment(stage, running, first),
        clocks.planned_start(running, first, stage.counts_from == "own"),
        clocks.last_moment(stage, running, waiting),
    )
