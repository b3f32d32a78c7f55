"""A plan without any library: heads one after another, each into the gaps the others leave.

Within a head every task goes to its first free moment. Where a maximum would be broken, the pass
or rinse it is counted from is put later by exactly what is missing, and the head is tried again.
So whatever comes out keeps every maximum; only how good it is is left to chance, and a few
orders are tried for that.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from assistant.core.plan import Plan, Slot, cost, plan_of
from assistant.core.plan_day import Day
from assistant.core.plan_tasks import Chain, Key, Task, chains, down, up

TRIES = 400  # of putting a head later before giving it up
ORDERS = 12  # of the heads that have not begun
Busy = list[tuple[int, int]]


@dataclass(slots=True)
class Calendar:
    """When people and basins are taken, and from when a chair is free."""

    people: list[Busy]
    basins: list[Busy]
    chairs: dict[int, int] = field(default_factory=dict)

    @classmethod
    def of(cls, day: Day) -> Calendar:
        """Nothing taken but the breaks."""
        breaks = [[(down(b.begins), up(b.ends)) for b in p.breaks] for p in day.people]
        return cls(breaks, [[] for _ in range(day.basins)])

    def take(self, chain: Chain, slots: dict[Key, Slot]) -> None:
        """Enter a head."""
        for slot in slots.values():
            self.people[slot.person].append((slot.begins, slot.ends))
        for begins, ends, basin in basin_spans(chain, slots):
            self.basins[basin].append((begins, ends))
        self.chairs[chain.chair] = max(s.ends for s in slots.values())


def basin_spans(chain: Chain, slots: dict[Key, Slot]) -> Iterator[tuple[int, int, int]]:
    """From when to when which basin is taken by a head."""
    if chain.keeps_basin:
        first, last = chain.tasks[chain.first_on].key, chain.tasks[chain.last_rinse].key
        begins = slots[first].begins if chain.holds_from is None else chain.holds_from
        yield begins, slots[last].ends, slots[last].basin or 0
        return
    for slot in slots.values():
        if slot.basin is not None:
            yield slot.begins, slot.ends, slot.basin


@dataclass(slots=True)
class Stuck(Exception):
    """A head cannot be placed: this task comes too late."""

    task: Task


def greedy(day: Day) -> Plan | None:
    """The best of a few orders, or None if every one of them breaks a hard limit."""
    best: tuple[float, Plan] | None = None
    for order in _orders([chain for chain in chains(day) if chain.tasks]):
        for at_target in (True, False):
            found = _in_order(day, order, at_target)
            if found is not None:
                price = cost(day, found)
                best = (price, found) if best is None or price < best[0] else best
    return best[1] if best else None


def _orders(heads: Sequence[Chain]) -> Iterator[Sequence[Chain]]:
    """Begun heads by their next limit always first; the others by arrival, length, and swaps."""
    begun = sorted((c for c in heads if not _new(c)), key=urgency)
    new = sorted((c for c in heads if _new(c)), key=lambda c: c.arrives)
    by_length = sorted(new, key=lambda c: sum(t.steps for t in c.tasks))
    orders = [new, by_length, new[::-1]]
    for index in range(len(new) - 1):
        orders.append([*new[:index], new[index + 1], new[index], *new[index + 2 :]])
    seen: list[Sequence[Chain]] = []
    for order in orders[:ORDERS]:
        kept = [*begun, *_chairs_in_turn(order)]
        if kept not in seen:
            seen.append(kept)
            yield kept


def _chairs_in_turn(order: Sequence[Chain]) -> list[Chain]:
    """Whoever comes first to a chair keeps that turn."""
    turns = {
        chair: iter(sorted((c for c in order if c.chair == chair), key=lambda c: c.arrives))
        for chair in {c.chair for c in order}
    }
    return [next(turns[chain.chair]) for chain in order]


def _new(chain: Chain) -> bool:
    return chain.tasks[0].patience


def urgency(chain: Chain) -> tuple[bool, float]:
    """Whoever keeps a basin already, then whose next limit comes first."""
    known = [t.latest for t in chain.tasks if t.latest is not None]
    return chain.holds_from is None, min(known, default=math.inf)


def _in_order(day: Day, order: Sequence[Chain], at_target: bool) -> Plan | None:
    calendar, slots = Calendar.of(day), dict[Key, Slot]()
    for chain in with_hands(order, calendar):
        try:
            placed = place(chain, calendar, at_target)
        except Stuck:
            return None
        calendar.take(chain, placed)
        slots |= placed
    return plan_of(day, slots, "the quick planner")


def with_hands(order: Sequence[Chain], calendar: Calendar) -> list[Chain]:
    """Whoever is at a task under way is taken before anything is planned around it."""
    known = []
    for chain in order:
        first = chain.tasks[0]
        if first.fixed_at is not None:
            busy = [(p, calendar.people[p]) for p in first.people]
            _, person = _soonest(busy, first.fixed_at, first.steps)
            calendar.people[person].append((first.fixed_at, first.fixed_at + first.steps))
            chain = replace(chain, tasks=(replace(first, people=(person,)), *chain.tasks[1:]))
        known.append(chain)
    return known


def place(chain: Chain, calendar: Calendar, at_target: bool) -> dict[Key, Slot]:
    """The slots of one head in what is free; `Stuck` if there is no way."""
    if not chain.keeps_basin:
        return _Placing(chain, calendar, at_target).slots(None)
    tried: list[dict[Key, Slot]] = []
    stuck = Stuck(chain.tasks[0])
    for basin in range(len(calendar.basins)):
        try:
            tried.append(_Placing(chain, calendar, at_target).slots(basin))
        except Stuck as error:
            stuck = error
    if not tried:
        raise stuck
    return min(tried, key=lambda slots: max(s.ends for s in slots.values()))


class _Placing:
    """One head being placed."""

    def __init__(self, chain: Chain, calendar: Calendar, at_target: bool) -> None:
        self.chain, self.calendar = chain, calendar
        self.at_target = at_target
        self.hold: dict[Key, int] = {}  # begin not before, learnt from a failure
        self.placed: dict[Key, Slot] = {}

    def slots(self, basin: int | None) -> dict[Key, Slot]:
        """Try, learn what has to be later, try again."""
        for _ in range(TRIES):
            late = self._once(basin)
            if late is None:
                return self.placed
            key, begins = late
            self.hold[key] = begins
        raise Stuck(self.chain.tasks[0])

    def _once(self, basin: int | None) -> tuple[Key, int] | None:
        """None if everything fits, else the task to begin later, and when."""
        self.placed = {}
        for task in self.chain.tasks:
            latest, because = self._latest(task)
            begins, person, at = self._slot(task, latest, basin)
            if latest is not None and begins > latest:
                return self._later(task, because, begins - latest)
            self.placed[task.key] = Slot(begins, begins + task.steps, person, at)
        return self._basin_clash(basin)

    def _earliest(self, task: Task) -> int:
        free = self.calendar.chairs.get(self.chain.chair, 0)
        least = [task.earliest, free, self.hold.get(task.key, 0)]
        least += [self.placed[g.after].ends + g.least for g in task.lags if g.least is not None]
        return max(least)

    def _latest(self, task: Task) -> tuple[int | None, Key | None]:
        """By when it must begin, and the task from which that is counted."""
        bounds: list[tuple[int, Key | None]] = [(task.latest, None)] if task.latest else []
        bounds += [
            (self.placed[g.after].ends + g.most, g.after) for g in task.lags if g.most is not None
        ]
        return min(bounds, key=lambda bound: bound[0]) if bounds else (None, None)

    def _slot(
        self, task: Task, latest: int | None, basin: int | None
    ) -> tuple[int, int, int | None]:
        """The first free moment, for a rinse the one at its target if there is one."""
        if task.fixed_at is not None:
            return self._under_way(task, task.fixed_at, basin)
        earliest = self._earliest(task)
        best = max(earliest, self._wished(task, earliest))
        if latest is not None:
            best = max(earliest, min(best, latest))
        found = self._free(task, best, basin)
        if latest is not None and found[0] > latest:
            found = self._free(task, earliest, basin)
        return found

    def _wished(self, task: Task, earliest: int) -> int:
        if task.wish is not None:
            after = task.wish.after
            return task.wish.steps + (self.placed[after].ends if after is not None else 0)
        if not task.aims or not self.at_target:
            return earliest
        return max(
            a.steps + (self.placed[a.after].ends if a.after is not None else 0) for a in task.aims
        )

    def _free(self, task: Task, earliest: int, basin: int | None) -> tuple[int, int, int | None]:
        """First moment when somebody who may is free, and a basin if one is needed."""
        begins = earliest
        while True:
            busy = [(p, self.calendar.people[p]) for p in task.people]
            at, person = _soonest(busy, begins, task.steps)
            if not task.at_basin or basin is not None:
                return at, person, basin if task.at_basin else None
            wet, where = _soonest(enumerate(self.calendar.basins), at, task.steps)
            if wet == at:
                return at, person, where
            begins = wet

    def _under_way(self, task: Task, since: int, basin: int | None) -> tuple[int, int, int | None]:
        """With whom and where it seems to be: it happens, whatever the calendar says."""
        busy = [(p, self.calendar.people[p]) for p in task.people]
        _, person = _soonest(busy, since, task.steps)
        if not task.at_basin:
            return since, person, None
        if basin is None:
            _, basin = _soonest(enumerate(self.calendar.basins), since, task.steps)
        return since, person, basin

    def _later(self, task: Task, because: Key | None, steps: int) -> tuple[Key, int]:
        """What must begin later so that this task is not too late."""
        if because is None or self._fixed(because):
            raise Stuck(task)
        return because, self.placed[because].begins + steps

    def _fixed(self, key: Key) -> bool:
        return any(t.key == key and t.fixed_at is not None for t in self.chain.tasks)

    def _basin_clash(self, basin: int | None) -> tuple[Key, int] | None:
        """A kept basin must be free from the first pass to the last rinse."""
        if basin is None:
            return None
        begins, ends, _ = next(iter(basin_spans(self.chain, self.placed)))
        clash = [e for b, e in self.calendar.basins[basin] if b < ends and e > begins]
        if not clash:
            return None
        first = self.chain.tasks[self.chain.first_on]
        if self.chain.holds_from is not None or first.fixed_at is not None:
            raise Stuck(first)
        return first.key, max(clash)


def _soonest(of: Iterable[tuple[int, Busy]], begins: int, steps: int) -> tuple[int, int]:
    """When there is room first, and with whom or where; among equals the first."""
    gaps = [(_gap(busy, begins, steps), which) for which, busy in of]
    return min(gaps, key=lambda gap: gap[0])


def _gap(busy: Busy, begins: int, steps: int) -> int:
    """The first moment from `begins` on at which there is room."""
    for b, e in sorted(busy):
        if b >= begins + steps:
            break
        begins = max(begins, e)
    return begins
