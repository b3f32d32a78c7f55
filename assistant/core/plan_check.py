"""Does a plan keep every hard limit? Judged from recipes, clocks and people alone.

It shares nothing with the planners but the day and the plan: whoever made a plan, it is read
here as a stranger would read it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from assistant.core import clocks
from assistant.core.clocks import MINUTE, ZoneClock
from assistant.core.plan import Placed, Plan
from assistant.core.plan_day import SKILLS, Booking, Day, Skill, TimeOfDay
from assistant.core.recipe import Stage

_NEEDS: dict[str, Skill] = {
    "prepare": "apply", "apply": "apply", "check": "check", "rinse": "rinse", "finish": "rinse",
}  # fmt: skip
_NEAR = 1e-6


def faults(day: Day, plan: Plan) -> list[str]:
    """Every hard limit the plan breaks, in words; empty if none."""
    found = [*_people(day, plan), *_basins(day, plan), *_chairs(day, plan)]
    for head, booking in enumerate(day.bookings):
        found += [f"chair {booking.chair}: {told}" for told in _head(day, booking, plan.of(head))]
    return found


# ------------------------------------------------------------------ people, basins, chairs


def _people(day: Day, plan: Plan) -> Iterator[str]:
    known = {person.name: person for person in day.people}
    for placed in plan.placed:
        person = known.get(placed.person)
        if person is None:
            yield f"nobody is called {placed.person!r}"
        elif _NEEDS[placed.key.kind] not in person.skills:
            yield f"{person.name} may not {placed.key.kind}"
    for person in day.people:
        busy = [(p.begins, p.ends) for p in plan.placed if p.person == person.name]
        for begins, ends in _overlaps(busy):
            yield f"{person.name} is in two places from {TimeOfDay(begins)} to {TimeOfDay(ends)}"
        for pause in person.breaks:
            for begins, ends in busy:
                if (
                    begins < pause.ends - _NEAR
                    and ends > pause.begins + _NEAR
                    and begins >= day.now
                ):
                    yield f"{person.name} works in the break at {TimeOfDay(pause.begins)}"
    assert set(_NEEDS.values()) == set(SKILLS)


def _overlaps(spans: Iterable[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    until = float("-inf")
    for begins, ends in sorted(spans):
        if begins < until - _NEAR:
            yield begins, min(until, ends)
        until = max(until, ends)


def _basins(day: Day, plan: Plan) -> Iterator[str]:
    spans = []
    for head, booking in enumerate(day.bookings):
        mine = plan.of(head)
        rinses = [(p.begins, p.ends) for p in mine if p.key.kind == "rinse"]
        if booking.recipe.place == "basin" and rinses:
            kept = [p.begins for p in mine if p.key.kind in ("apply", "rinse")]
            if booking.facts.on:
                kept.append(day.now)
            rinses = [(min(kept), max(ends for _, ends in rinses))]
        spans += rinses
    for begins, _ in spans:
        at_once = sum(b <= begins + _NEAR and e > begins + _NEAR for b, e in spans)
        if at_once > day.basins:
            yield f"{at_once} heads at {day.basins} basins at {TimeOfDay(begins)}"


def _chairs(day: Day, plan: Plan) -> Iterator[str]:
    for chair in {booking.chair for booking in day.bookings}:
        spans = []
        for head, booking in enumerate(day.bookings):
            mine = plan.of(head)
            if booking.chair == chair and mine:
                spans.append((min(p.begins for p in mine), max(p.ends for p in mine)))
        for begins, _ in _overlaps(spans):
            yield f"chair {chair} has two clients at {TimeOfDay(begins)}"


# ------------------------------------------------------------------ one head


def _head(day: Day, booking: Booking, placed: Sequence[Placed]) -> Iterator[str]:
    mine = sorted(placed, key=lambda p: (p.begins, p.ends))
    for begins, _ in _overlaps((p.begins, p.ends) for p in mine):
        yield f"two things at once at {TimeOfDay(begins)}"
    if not mine:
        yield "nothing is planned"
        return
    if not booking.facts.begun:
        if mine[0].begins < max(booking.arrives, day.now) - _NEAR:
            yield f"begins at {TimeOfDay(mine[0].begins)}, before the client is there"
        if mine[0].begins > max(booking.arrives + day.house.wait_minutes, day.now) + 1:
            yield f"waits until {TimeOfDay(mine[0].begins)}"
        if mine[0].key.kind != "prepare" and day.house.prepare_minutes:
            yield "is not prepared first"
        for first, second in pairwise(mine[:2]):
            gap = second.begins - first.ends
            if first.key.kind == "prepare" and gap > day.house.begin_within_minutes + _NEAR:
                yield f"the first bowl stands for {gap:g} minutes"
    if day.house.finish_minutes and mine[-1].key.kind != "finish":
        yield "is not finished last"
    for index in range(booking.facts.stage, len(booking.recipe.stages)):
        yield from _stage(day, booking, index, [p for p in mine if p.key.stage == index], mine)


def _stage(
    day: Day, booking: Booking, index: int, mine: Sequence[Placed], all_of_it: Sequence[Placed]
) -> Iterator[str]:
    stage = booking.recipe.stages[index]
    facts = booking.facts if booking.facts.stage == index else None
    on = dict(facts.on) if facts else {}
    off = facts.off if facts else ()
    for placed in (p for p in mine if p.key.kind == "apply"):
        name = placed.key.subject
        if name in on:
            yield f"{name} is put on twice"
        takes = stage.zone(name).apply_minutes * booking.facts.pace
        if placed.ends - placed.begins < takes - _NEAR:
            yield f"the pass of {name} is too short"
        on[name] = placed.ends
    wanted = {zone.name for zone in booking.zones(stage)} - set(off)
    if missing := sorted(wanted - set(on)):
        yield f"{', '.join(missing)} is never put on"
    yield from _rinses(day, booking, stage, mine, on, wanted)
    yield from _bowls(stage, booking, mine)
    yield from _tone(day, index, mine, all_of_it)


def _rinses(
    day: Day,
    booking: Booking,
    stage: Stage,
    mine: Sequence[Placed],
    on: dict[str, float],
    wanted: set[str],
) -> Iterator[str]:
    first = min(on.values(), default=0.0) * MINUTE
    rinsed: list[str] = []
    for rinse in (p for p in mine if p.key.kind == "rinse"):
        names = rinse.key.subject.split(", ")
        rinsed += names
        if rinse.ends - rinse.begins < day.house.rinse_minutes - _NEAR:
            yield "a rinse is too short"
        looks = [p for p in mine if p.key.kind == "check" and p.key.subject == rinse.key.subject]
        way = booking.facts.under_way
        rinsing = way is not None and way.kind == "rinse" and rinse.begins < day.now
        if not looks and not rinsing and not set(names) <= set(booking.facts.looked):
            yield f"nobody looks at {rinse.key.subject} before its rinse"
        if any(look.ends > rinse.begins + _NEAR for look in looks):
            yield f"the look at {rinse.key.subject} comes after its rinse"
        for name in (n for n in names if n in on and not rinsing):
            clock = clocks.clock(stage, name, on[name] * MINUTE, first)
            yield from _window(clock, rinse, [p for p in looks if p.begins >= day.now])
    if sorted(rinsed) != sorted(wanted):
        yield f"{stage.name}: {sorted(rinsed)} are rinsed, not {sorted(wanted)}"


def _window(clock: ZoneClock, rinse: Placed, looks: Sequence[Placed]) -> Iterator[str]:
    begins = rinse.begins * MINUTE
    if begins > clock.limit_at + _NEAR:
        over = (begins - clock.limit_at) / MINUTE
        yield f"{clock.zone} is rinsed {over:g} minutes past its limit"
    if begins < clock.check_from_at - _NEAR:  # never before the zone is on
        yield f"{clock.zone} is rinsed before its first check"
    if any(look.begins * MINUTE < clock.check_from_at - _NEAR for look in looks):
        yield f"{clock.zone} is looked at before its first check"


def _bowls(stage: Stage, booking: Booking, mine: Sequence[Placed]) -> Iterator[str]:
    """A bowl that can be used up in time is used up in time."""
    for bowl in stage.bowls:
        names = [z.name for z in booking.zones(stage) if z.bowl == bowl.name]
        passes = [p for p in mine if p.key.kind == "apply" and p.key.subject in names]
        if not passes or any(name in booking.facts.on for name in names):
            continue
        alone = sum(p.ends - p.begins for p in passes)
        age = max(p.ends for p in passes) - min(p.begins for p in passes)
        if alone <= bowl.use_within_minutes < age - _NEAR:
            yield f"the {bowl.name} is {age:g} minutes old when its last zone is on"


def _tone(
    day: Day, index: int, mine: Sequence[Placed], all_of_it: Sequence[Placed]
) -> Iterator[str]:
    before = [p.ends for p in all_of_it if p.key.stage == index - 1 and p.key.kind == "rinse"]
    passes = [p.begins for p in mine if p.key.kind == "apply"]
    if before and passes:
        gap = min(passes) - max(before)
        if gap < -_NEAR:
            yield "a stage begins before the one before it is rinsed"
        if gap > day.house.tone_within_minutes + _NEAR:
            yield f"the next product waits {gap:g} minutes after the rinse"
