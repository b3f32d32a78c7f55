"""Which tasks does a day hold, and how far apart must and may they be?

A head is a chain of tasks done one after another: prepare, a pass per zone, then a look and a
rinse per group of zones, the same for its next stage, finish. Times are whole steps of half a
minute since midnight, so that every planner counts alike; rounding always makes a limit earlier
and a least time longer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from assistant.core import plan_head
from assistant.core.clocks import MINUTE
from assistant.core.plan_day import MIDNIGHT, Booking, Day, Kind, Skill, UnderWay
from assistant.core.recipe import Stage, Zone

STEPS = 2  # a minute has two
SKILL: dict[Kind, Skill] = {
    "prepare": "apply",
    "apply": "apply",
    "check": "check",
    "rinse": "rinse",
    "finish": "rinse",
}


class Key(NamedTuple):
    """Names a task: which head of the day, which stage, what, and about what."""

    head: int
    stage: int
    kind: Kind
    subject: str  # a zone, or the zones of a rinse


@dataclass(frozen=True, slots=True)
class Lag:
    """The task starts at least so many, and at most so many steps after the end of another."""

    after: Key
    least: int | None = None
    most: int | None = None


@dataclass(frozen=True, slots=True)
class Aim:
    """When a rinse would best begin: so many steps after the end of a pass, or at a time."""

    after: Key | None
    steps: int


@dataclass(frozen=True, slots=True)
class Task:
    """One thing that somebody does on one head."""

    key: Key
    steps: int
    people: tuple[int, ...]  # who may
    earliest: int = 0
    latest: int | None = None  # it starts by then
    lags: tuple[Lag, ...] = ()
    aims: tuple[Aim, ...] = ()  # of a rinse: the targets of its zones
    at_basin: bool = False
    patience: bool = False  # `latest` is only how long a client waits
    fixed_at: int | None = None  # under way: nothing moves it
    wish: Aim | None = None  # of a zone that waits: when its pass best begins


@dataclass(frozen=True, slots=True)
class Chain:
    """One head: its tasks in order, its chair, and whether it keeps a basin while it develops."""

    head: int
    chair: int
    tasks: tuple[Task, ...]
    keeps_basin: bool
    arrives: int
    holds_from: int | None = None  # it has its basin already

    @property
    def first_on(self) -> int:
        """Index of the first task at the basin, for a head that keeps one."""
        return next(i for i, t in enumerate(self.tasks) if t.key.kind in ("apply", "rinse"))

    @property
    def last_rinse(self) -> int:
        """Index of the last rinse."""
        return max(i for i, t in enumerate(self.tasks) if t.key.kind == "rinse")


def up(minutes: float) -> int:
    """Whole steps, never less than the minutes."""
    return math.ceil(minutes * STEPS - 1e-9)


def down(minutes: float) -> int:
    """Whole steps, never more than the minutes."""
    return math.floor(minutes * STEPS + 1e-9)


def chains(day: Day) -> tuple[Chain, ...]:
    """The tasks still to be done (or under way) on every head."""
    return tuple(_chain(day, index, booking) for index, booking in enumerate(day.bookings))


def _chain(day: Day, head: int, booking: Booking) -> Chain:
    facts, house = booking.facts, day.house
    arrives = up(max(booking.arrives, day.now))
    tasks: list[Task] = []
    preparing = facts.under_way is not None and facts.under_way.kind == "prepare"
    if (preparing or not facts.begun) and house.prepare_minutes > 0:
        tasks.append(_task(day, Key(head, 0, "prepare", ""), house.prepare_minutes, booking.by))
    for index in range(facts.stage, len(booking.recipe.stages)):
        tasks += _StageTasks(day, head, booking, index).tasks(tasks[-1].key if tasks else None)
    if house.finish_minutes > 0:
        last = len(booking.recipe.stages) - 1
        tasks.append(_task(day, Key(head, last, "finish", ""), house.finish_minutes))
    tasks = [replace(t, earliest=max(t.earliest, arrives)) for t in tasks]
    if tasks and not facts.begun:
        waits = MIDNIGHT if booking.patient else house.wait_minutes
        latest = max(down(booking.arrives + waits), arrives)
        tasks[0] = replace(tasks[0], latest=latest, patience=True)
    if tasks and facts.under_way is not None:
        tasks = _begun_first(day, tasks, facts.under_way)
    keeps = booking.recipe.place == "basin" and any(t.at_basin for t in tasks)
    held = keeps and (bool(facts.on) or (facts.under_way is not None and not preparing))
    holds_from = down(day.now) if held else None
    return Chain(head, booking.chair, tuple(_in_order(tasks)), keeps, arrives, holds_from)


def _begun_first(day: Day, tasks: list[Task], begun: UnderWay) -> list[Task]:
    """The task under way comes first, whatever one head alone would have done first."""
    asked = (begun.kind, begun.subject)
    mine = next((t for t in tasks if (t.key.kind, t.key.subject) == asked), tasks[0])
    return [_begun(day, mine, begun), *(t for t in tasks if t is not mine)]


def _begun(day: Day, task: Task, begun: UnderWay) -> Task:
    """Under way: nothing moves it, and it ends now at the earliest."""
    since = down(begun.since)
    lasts = max(task.steps, up(day.now) - since)
    known = [i for i, p in enumerate(day.people) if p.name == begun.person]
    people = tuple(known) or task.people
    return replace(
        task, fixed_at=since, steps=lasts, people=people, earliest=since, latest=None, lags=()
    )


def _in_order(tasks: Sequence[Task]) -> Iterator[Task]:
    """Every task after the one before it: one head is worked on by one person at a time."""
    before: Task | None = None
    for task in tasks:
        if before is not None:
            task = replace(task, lags=(*task.lags, Lag(before.key, least=0)))
        yield task
        before = task


def _task(day: Day, key: Key, minutes: float, by: str = "") -> Task:
    skill = SKILL[key.kind]
    people = [
        (len(person.skills), index)
        for index, person in enumerate(day.people)
        if skill in person.skills and (not by or person.name == by)
    ]
    may = tuple(index for _, index in sorted(people))  # who can do least else comes first
    return Task(key, max(1, up(minutes)), may, at_basin=key.kind == "rinse")


class _StageTasks:
    """The tasks of one stage of one head."""

    def __init__(self, day: Day, head: int, booking: Booking, index: int) -> None:
        self.day, self.head, self.booking, self.index = day, head, booking, index
        self.stage: Stage = booking.recipe.stages[index]
        self.here = booking.facts.stage == index
        self.on = booking.facts.on if self.here else {}
        off = booking.facts.off if self.here else ()
        self.zones = [z for z in booking.zones(self.stage) if z.name not in off]
        self.first: Key | float | None = min(self.on.values()) if self.on else None

    def tasks(self, before: Key | None) -> list[Task]:
        """Passes, looks and rinses in the order of one head alone."""
        way = self.booking.facts.under_way if self.here else None
        rinsing = way.subject.split(", ") if way is not None and way.kind == "rinse" else []
        made = self._rinse([self.stage.zone(name) for name in rinsing]) if rinsing else []
        zones = [zone for zone in self.zones if zone.name not in rinsing]
        begins, pace = self.day.now * MINUTE, self.booking.facts.pace
        on = {name: at * MINUTE for name, at in self.on.items()}
        for step in plan_head.order_of_work(self.stage, zones, on, begins, pace):
            if isinstance(step, Zone):
                made.append(self._pass(step))
                if self.first is None:
                    self.first = made[-1].key
            else:
                made += self._rinse([self.stage.zone(name) for name in step])
        if made and before is not None:
            house, prepared = self.day.house, before.kind == "prepare"
            most = house.begin_within_minutes if prepared else house.tone_within_minutes
            made[0] = replace(made[0], lags=(*made[0].lags, Lag(before, least=0, most=down(most))))
        return self._with_bowl_ages(made)

    def _key(self, kind: Kind, subject: str) -> Key:
        return Key(self.head, self.index, kind, subject)

    def _pass(self, zone: Zone) -> Task:
        takes = zone.apply_minutes * self.booking.facts.pace
        task = _task(self.day, self._key("apply", zone.name), takes, self.booking.by)
        return replace(task, wish=self._wish(zone)) if zone.wait_for_start else task

    def _wish(self, zone: Zone) -> Aim | None:
        """A zone that waits, so that its target meets that of the zone that is due last."""
        pace = self.booking.facts.pace
        if self.stage.counts_from == "shared":
            counts, late_by = self.first, zone.start_after_minutes - zone.apply_minutes * pace
        else:
            first, late_by = plan_head.meets_after(self.zones, zone, pace)
            counts = self._on(self.stage.zone(first))
        if isinstance(counts, Key):
            return Aim(counts, down(late_by))
        return None if counts is None else Aim(None, down(counts + late_by))

    def _rinse(self, zones: Sequence[Zone]) -> list[Task]:
        subject = ", ".join(zone.name for zone in zones)
        house, facts = self.day.house, self.booking.facts
        look = _task(self.day, self._key("check", subject), house.check_minutes)
        rinse = _task(self.day, self._key("rinse", subject), house.rinse_minutes)
        for zone in zones:
            look, rinse = self._windowed(look, rinse, zone)
        looked = self.here and all(zone.name in facts.looked for zone in zones)
        way = facts.under_way if self.here else None
        rinsing = way is not None and (way.kind, way.subject) == ("rinse", subject)
        if not looked and not rinsing:
            return [look, rinse]
        return [replace(rinse, earliest=max(rinse.earliest, look.earliest))]

    def _windowed(self, look: Task, rinse: Task, zone: Zone) -> tuple[Task, Task]:
        """The look not before the zone's first check, the rinse not after its limit."""
        limit_minutes = zone.window.limit_minutes + self.day.house.past_limit_minutes
        least, most = up(zone.window.check_from_minutes), down(limit_minutes)
        aim = round(zone.window.target_minutes * STEPS)
        shared = self.stage.counts_from == "shared"
        counts = self.first if shared else self._on(zone)
        assert counts is not None  # a pass of this stage is before its rinse, or the zone is on
        if isinstance(counts, Key):
            lag, limit = Lag(counts, least=least), Lag(counts, most=most)
            return (
                replace(look, lags=(*look.lags, lag)),
                replace(
                    rinse,
                    lags=(*rinse.lags, limit),
                    aims=(*rinse.aims, Aim(counts, aim)),
                ),
            )
        opens = up(counts + zone.window.check_from_minutes)
        closes = down(counts + limit_minutes)
        latest = closes if rinse.latest is None else min(closes, rinse.latest)
        at = round((counts + zone.window.target_minutes) * STEPS)
        return (
            replace(look, earliest=max(look.earliest, opens)),
            replace(rinse, latest=latest, aims=(*rinse.aims, Aim(None, at))),
        )

    def _on(self, zone: Zone) -> Key | float:
        return self.on[zone.name] if zone.name in self.on else self._key("apply", zone.name)

    def _with_bowl_ages(self, tasks: list[Task]) -> list[Task]:
        """The last pass of a bowl while the bowl is good, if its passes alone can do that."""
        for bowl in self.stage.bowls:
            keys = [
                self._key("apply", z.name)
                for z in self.zones
                if z.bowl == bowl.name and z.name not in self.on
            ]
            mine = [t for t in tasks if t.key in keys]
            most = down(bowl.use_within_minutes) - sum(t.steps for t in mine)
            if len(mine) > 1 and most >= 0 and self._one_bowl(bowl.name):
                between = sum(t.steps for t in mine[1:-1])
                last = mine[-1]
                aged = replace(last, lags=(*last.lags, Lag(mine[0].key, most=most + between)))
                tasks = [aged if t is last else t for t in tasks]
        return tasks

    def _one_bowl(self, bowl: str) -> bool:
        """A bowl that some zone got already was mixed before: its age is called out live."""
        return not any(self.stage.zone(name).bowl == bowl for name in self.on)
