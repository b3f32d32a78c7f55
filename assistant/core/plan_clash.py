"""Why does a day not work out, and what are the cheapest two ways to mend it? In one sentence.

A clash is found by asking the planner again with one thing changed: clients who wait longer, one
more basin, one more pair of hands, a rinse at its minimum. Whatever works is an option; nothing
is decided here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from assistant.core.figures import counted, number_words, sentence
from assistant.core.plan import Placed, Plan
from assistant.core.plan_day import SKILLS, Booking, Day, Person, TimeOfDay, patient

Planner = Callable[[Day], Plan | None]
OPTIONS = 2
MOST_OVER = 60  # minutes past a limit that are tried


@dataclass(frozen=True, slots=True)
class Clash:
    """What stands in the way, when, and at most two ways out."""

    chairs: tuple[int, ...]
    needs: str  # "the basin", "hands"
    at: float
    options: tuple[str, ...]
    plan: Plan | None  # that of the first option that only shifts a start

    def sentence(self) -> str:
        """ "Chairs two and three both need the basin at 10:40. Start ..., or ..." """
        chairs = " and ".join(number_words(chair) for chair in sorted(self.chairs))
        who = f"chairs {chairs} both need" if len(self.chairs) > 1 else f"chair {chairs} needs"
        told = sentence(f"{who} {self.needs} at {TimeOfDay(self.at)}")
        ways = ", or ".join(self.options)
        return f"{told} {sentence(ways)}" if ways else f"{told} Nothing tried here mends it."


def clash(day: Day, planner: Planner) -> Clash | None:
    """The cheapest clash of a day, or None if the planner finds a plan as it is."""
    if planner(day) is not None:
        return None
    found = _one_waits(day, planner)
    if found is not None:
        return _waits(day, *found, planner)
    waiting = planner(patient(day))
    if waiting is not None:
        _, head = max((_over(day, waiting, head), head) for head in range(len(day.bookings)))
        return _waits(day, waiting, head, planner)
    return _limits(day, planner)


# ------------------------------------------------------------- somebody waits too long


def _one_waits(day: Day, planner: Planner) -> tuple[Plan, int] | None:
    """The head that has to wait least beyond the house's rule, if it alone can mend the day."""
    found: list[tuple[Plan, int]] = []
    for head, booking in enumerate(day.bookings):
        waits = replace(booking, patient=True)
        plan = None if booking.facts.begun else planner(_with(day, head, waits))
        if plan is not None:
            found.append((plan, head))
    return min(found, key=lambda one: _over(day, *one), default=None)


def _waits(day: Day, later: Plan, head: int, planner: Planner) -> Clash:
    """Every limit can be kept, but a client waits longer than the house lets them."""
    minutes = later.of(head)[0].begins - day.bookings[head].arrives
    begins = _patience(day, head)
    other, needs = _in_the_way(day, later, head, begins, planner)
    chair = number_words(day.bookings[head].chair)
    start = f"start chair {chair} {counted(round(minutes), 'minute')} later"
    options = (start, *_ways_out(day, planner, needs, begins))[:OPTIONS]
    chairs = (other, day.bookings[head].chair) if other else (day.bookings[head].chair,)
    return Clash(chairs, needs or "hands", begins, options, later)


def _patience(day: Day, head: int) -> float:
    """How long a client waits by the house's rule."""
    return max(day.bookings[head].arrives + day.house.wait_minutes, day.now)


def _over(day: Day, plan: Plan, head: int) -> float:
    return plan.of(head)[0].begins - _patience(day, head)


def _in_the_way(
    day: Day, plan: Plan, head: int, at: float, planner: Planner
) -> tuple[int | None, str | None]:
    """The chair whose work is in the way at that time, and what more would mend it."""
    needs = next((name for name, more in _more(day) if planner(more) is not None), None)
    others = [p for p in plan.placed if p.key.head != head and p.ends > at]
    if needs == "the basin":
        others = [p for p in others if p.basin is not None]
    first = min(others, key=lambda p: (p.begins, p.ends), default=None)
    return (day.bookings[first.key.head].chair if first else None), needs


def _more(day: Day) -> Iterator[tuple[str, Day]]:
    """The same day with one thing more, cheapest first."""
    yield "the basin", replace(day, basins=day.basins + 1)
    helper = Person("one more person", ("check", "rinse"))
    yield "a hand to rinse", replace(day, people=(*day.people, helper))
    second = Person("one more person", SKILLS)
    more = replace(day, people=(*day.people, second))
    yield "hands", more
    yield "hands and the basin", replace(more, basins=day.basins + 1)


_MEND = {
    "the basin": "free one more basin at {at}",
    "a hand to rinse": "get one more person to rinse at {at}",
    "hands": "get one more person at {at}",
    "hands and the basin": "get one more person and free a basin at {at}",
}


def _ways_out(day: Day, planner: Planner, needs: str | None, at: float) -> Iterator[str]:
    """What else mends it: something left out, or one thing more."""
    for head, booking in enumerate(day.bookings):
        optional = [z.name for _, z in booking.recipe.zones() if z.optional]
        names = [n for n in optional if n not in booking.leave_out and n not in booking.facts.on]
        for name in names:
            less = replace(booking, leave_out=(*booking.leave_out, name))
            if planner(_with(day, head, less)) is not None:
                yield f"leave out the {name} on chair {number_words(booking.chair)}"
    if needs is not None:
        yield _MEND[needs].format(at=TimeOfDay(at))


def _with(day: Day, head: int, booking: Booking) -> Day:
    bookings = [booking if at == head else b for at, b in enumerate(day.bookings)]
    return replace(day, bookings=tuple(bookings))


# ------------------------------------------------------------- a limit cannot be kept


def _limits(day: Day, planner: Planner) -> Clash:
    """Product is on, and its limit comes before anybody or a basin is free."""
    for over in range(1, MOST_OVER + 1):
        plan = planner(_past(day, over))
        if plan is not None:
            break
    else:
        first = min(day.bookings, key=lambda b: _limit(b, b.facts.on))
        return Clash((first.chair,), "hands", day.now, (), None)
    late = max((p for p in plan.placed if p.key.kind == "rinse"), key=lambda p: _past_limit(day, p))
    chair, at = day.bookings[late.key.head].chair, late.begins - _past_limit(day, late)
    other, needs = _in_the_way(patient(day), plan, late.key.head, at, planner)
    mends = [
        _MEND[name].format(at=TimeOfDay(at))
        for name, more in _more(patient(day))
        if planner(more) is not None
    ]
    chairs = (other, chair) if other and other != chair else (chair,)
    return Clash(chairs, needs or "hands", at, tuple(mends[:OPTIONS]), None)


def _past(day: Day, minutes: float) -> Day:
    """The same day as if every limit came so much later: to find out which one is in the way."""
    return patient(replace(day, house=replace(day.house, past_limit_minutes=minutes)))


def _past_limit(day: Day, rinse: Placed) -> float:
    """Minutes from the first limit of zones that are on already to a rinse."""
    booking = day.bookings[rinse.key.head]
    here = rinse.key.stage == booking.facts.stage
    return rinse.begins - _limit(booking, rinse.key.subject.split(", ") if here else [])


def _limit(booking: Booking, names: Iterable[str]) -> float:
    """The first limit of those of these zones that are on; without any there is none."""
    stage, on = booking.recipe.stages[booking.facts.stage], booking.facts.on
    left = [name for name in names if name in on and name not in booking.facts.off]
    counts = {
        name: min(on.values()) if stage.counts_from == "shared" else on[name] for name in left
    }
    limits = [at + stage.zone(name).window.limit_minutes for name, at in counts.items()]
    return min(limits, default=float("inf"))
