"""What is a plan of a day, what does it cost, and what of it has happened by now?

A plan is advice: nothing in it starts, moves or stops a clock or a call.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from assistant.core.plan_day import Booking, Day, Facts, UnderWay
from assistant.core.plan_tasks import STEPS, Aim, Chain, Key, Task, chains

OFF_TARGET = 2  # a minute off a zone's target weighs as much as two minutes of waiting


@dataclass(frozen=True, slots=True)
class Placed:
    """A task with its time (minutes since midnight), who does it, and at which basin."""

    key: Key
    begins: float
    ends: float
    person: str
    basin: int | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """Every task of a day, in order of time."""

    placed: tuple[Placed, ...]
    by: str = "by hand"  # who made it

    def of(self, head: int) -> tuple[Placed, ...]:
        """The tasks of one head."""
        return tuple(p for p in self.placed if p.key.head == head)


@dataclass(frozen=True, slots=True)
class Slot:
    """Where a planner puts a task: whole steps, the person's index."""

    begins: int
    ends: int
    person: int
    basin: int | None = None


def plan_of(day: Day, slots: Mapping[Key, Slot], by: str) -> Plan:
    """A planner's slots as a plan."""
    placed = [
        Placed(key, s.begins / STEPS, s.ends / STEPS, day.people[s.person].name, s.basin)
        for key, s in slots.items()
    ]
    return Plan(tuple(sorted(placed, key=lambda p: (p.begins, p.key))), by)


def cost(day: Day, plan: Plan) -> float:
    """Minutes: from arrival to leaving, and twice what rinses are off their targets."""
    ends = {key: p for p in plan.placed for key in [p.key]}
    return sum(_chain_cost(chain, ends) for chain in chains(day)) / STEPS


def _chain_cost(chain: Chain, placed: Mapping[Key, Placed]) -> float:
    ends = [placed[task.key].ends * STEPS for task in chain.tasks]
    off = sum(_off_target(task, placed) for task in chain.tasks if task.aims)
    return max(ends, default=chain.arrives) - chain.arrives + OFF_TARGET * off


def _off_target(task: Task, placed: Mapping[Key, Placed]) -> float:
    begins = placed[task.key].begins * STEPS
    targets = [_moment(aim, placed) for aim in task.aims]
    return max(0.0, begins - min(targets)) + max(0.0, max(targets) - begins)


def _moment(aim: Aim, placed: Mapping[Key, Placed]) -> float:
    return aim.steps + (placed[aim.after].ends * STEPS if aim.after is not None else 0)


def happened(day: Day, plan: Plan, now: float) -> Day:
    """The day at a later moment: what the plan has begun by then is fact and stays."""
    bookings = tuple(
        replace(booking, facts=_facts(booking, plan.of(head), now))
        for head, booking in enumerate(day.bookings)
    )
    return replace(day, bookings=bookings, now=now)


def _facts(booking: Booking, placed: Iterable[Placed], now: float) -> Facts:
    facts = booking.facts
    begun = sorted((p for p in placed if p.begins < now), key=lambda p: p.begins)
    for task in begun:
        if task.ends > now:
            key = task.key
            way = UnderWay(key.kind, key.subject, task.begins, task.person)
            return replace(facts, under_way=way)
        facts = _done(booking, replace(facts, under_way=None), task)
    return facts


def _done(booking: Booking, facts: Facts, task: Placed) -> Facts:
    names = tuple(task.key.subject.split(", "))
    match task.key.kind:
        case "prepare":
            return replace(facts, prepared=True)
        case "apply":
            return replace(facts, on={**facts.on, task.key.subject: task.ends})
        case "check":
            return replace(facts, looked=(*facts.looked, *names))
        case "rinse":
            off = (*facts.off, *names)
            stage = booking.recipe.stages[task.key.stage]
            if len(off) < len(booking.zones(stage)):
                return replace(facts, off=off)
            return Facts(stage=task.key.stage + 1, prepared=True, pace=facts.pace)
    return facts


def rest(plan: Plan, now: float) -> Plan:
    """What a plan still holds: good as long as nobody ran late, when no better one is found."""
    return Plan(tuple(p for p in plan.placed if p.ends > now), plan.by)
