"""May a head be started now? The heads that are running, as a day, and the quick answer.

Nothing here is a call and nothing moves one: it is asked for and it is advice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assistant.core import due
from assistant.core.clocks import MINUTE
from assistant.core.head import Head
from assistant.core.plan import Slot
from assistant.core.plan_day import SKILLS, Booking, Day, Facts, House, Person, UnderWay
from assistant.core.plan_greedy import Calendar, Stuck, place, urgency, with_hands
from assistant.core.plan_tasks import STEPS, Chain, Key, chains
from assistant.core.recipe import Recipe
from assistant.core.rule import SalonRule

HOUSE = House(prepare_minutes=0, finish_minutes=0)


@dataclass(frozen=True, slots=True)
class MayStart:
    """The answer: now (0), in so many minutes, or not within sight (None)."""

    in_minutes: int | None
    because_of: int | None = None  # the chair that needs hands or a basin next
    late_anyway: bool = False  # a head that is running cannot keep its limit even without it

    @property
    def now(self) -> bool:
        """Every rinse still fits."""
        return self.in_minutes == 0


def may_start(
    recipe: Recipe, chair: int, heads: Iterable[Head], now: float, rule: SalonRule
) -> MayStart:
    """Whether the first pass of a recipe may begin at salon second `now`."""
    running = [h for h in heads if h.active and h.chair != chair]
    day = day_of(running, now, rule)
    fresh = Booking(chair, recipe, now / MINUTE, facts=Facts(prepared=True))
    asked = Day((*day.bookings, fresh), day.people, day.basins, day.now, HOUSE)
    *before, new = chains(asked)
    answers = [_answer(asked, before, new, at_target) for at_target in (True, False)]
    return min(answers, key=lambda a: float("inf") if a.in_minutes is None else a.in_minutes)


def _answer(day: Day, before: Sequence[Chain], new: Chain, at_target: bool) -> MayStart:
    """Running heads first, by their next limit; then the new one into what is left."""
    calendar = Calendar.of(day)
    taken: dict[Key, Slot] = {}
    order = sorted((c for c in before if c.tasks), key=urgency)
    try:
        for chain in with_hands(order, calendar):
            slots = place(chain, calendar, at_target)
            calendar.take(chain, slots)
            taken |= slots
    except Stuck as stuck:
        return MayStart(None, day.bookings[stuck.task.key.head].chair, late_anyway=True)
    first = min(((slot.begins, key.head) for key, slot in taken.items()), default=None)
    needed = None if first is None else day.bookings[first[1]].chair
    try:
        slots = place(new, calendar, at_target)
    except Stuck:
        return MayStart(None, needed)
    begins = slots[new.tasks[0].key].begins
    return MayStart(-(-(begins - new.arrives) // STEPS), needed)


def day_of(heads: Sequence[Head], now: float, rule: SalonRule) -> Day:
    """The heads that are running as a day, in minutes of salon time."""
    people = tuple(Person(f"person {n}", SKILLS) for n in range(1, rule.people + 1))
    known = [h for h in heads if any(z.running or z.waiting for z in h.file.zones)]
    bookings = tuple(_booking(head) for head in known)
    at_basins = sum(b.recipe.place == "basin" and bool(b.facts.on) for b in bookings)
    return Day(bookings, people, max(rule.basins, at_basins), now / MINUTE, HOUSE)


def _booking(head: Head) -> Booking:
    left_out = tuple(run.zone.name for run in head.file.zones if run.left_out)
    opened = head.file.opened_at / MINUTE
    return Booking(head.chair, head.recipe, opened, left_out, facts=_facts(head))


def _facts(head: Head) -> Facts:
    runs = [run for run in head.zones() if run.on_at is not None]
    on = {run.zone.name: run.on_at / MINUTE for run in runs if run.on_at is not None}
    off = tuple(run.zone.name for run in runs if run.settled)
    ready = tuple(run.zone.name for run in runs if run.ready_at is not None)
    stage = head.step().stage
    return Facts(stage, on, off, ready, _under_way(head), True, due.pace(head))


def _under_way(head: Head) -> UnderWay | None:
    for run in head.zones():
        if run.waiting and run.pass_began_at is not None:
            return UnderWay("apply", run.zone.name, run.pass_began_at / MINUTE)
    runs = [run for run in head.zones() if run.running]
    rinsing = {run.zone.name: run.rinsing_at for run in runs if run.rinsing_at is not None}
    if rinsing:
        return UnderWay("rinse", ", ".join(rinsing), min(rinsing.values()) / MINUTE)
    return None
