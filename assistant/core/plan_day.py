"""What has a day to be planned from: heads with recipes, people, basins, breaks, the house rule?

Times are minutes since midnight. `problems(day)` holds the rules that need more than one value.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

from assistant.core.recipe import Recipe, Stage, Zone

Skill = Literal["apply", "check", "rinse"]
SKILLS: tuple[Skill, ...] = ("apply", "check", "rinse")
_TIME = re.compile(r"([01]?\d|2[0-3])[:.]([0-5]\d)\Z")
MIDNIGHT = 24 * 60.0
Told = tuple[tuple[str | int, ...], str, str]


@dataclass(frozen=True, slots=True)
class TimeOfDay:
    """A time on the wall clock."""

    minutes: float

    @classmethod
    def parse(cls, text: str) -> TimeOfDay:
        """The time of "10:40"; `ValueError` says what to write."""
        match = _TIME.match(text.strip())
        if match is None:
            raise ValueError("write hours and minutes like 10:40")
        return cls(int(match[1]) * 60.0 + int(match[2]))

    def __str__(self) -> str:
        """ "10:40"; half minutes are cut off."""
        return f"{int(self.minutes) // 60:02d}:{int(self.minutes) % 60:02d}"


@dataclass(frozen=True, slots=True)
class Break:
    """A time in which a person does nothing of this."""

    begins: float
    ends: float


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody with hands, and what these may do."""

    name: str
    skills: tuple[Skill, ...]
    breaks: tuple[Break, ...] = ()


Kind = Literal["prepare", "apply", "check", "rinse", "finish"]


@dataclass(frozen=True, slots=True)
class UnderWay:
    """A task that has begun and is not done. Nobody known: whoever may."""

    kind: Kind
    subject: str  # a zone; of a look or a rinse, its zones
    since: float
    person: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """What has happened on a head already; everything else is still to be planned."""

    stage: int = 0  # the present one; those before it are rinsed
    on: dict[str, float] = field(default_factory=dict)  # zones of this stage that are on
    off: tuple[str, ...] = ()  # of those, the ones rinsed
    looked: tuple[str, ...] = ()  # of those, the ones a strand was looked at
    under_way: UnderWay | None = None
    prepared: bool = False
    pace: float = 1.0  # measured minutes of a pass over the recipe's

    @property
    def begun(self) -> bool:
        """Somebody has begun with this head."""
        return self.prepared or bool(self.on) or self.stage > 0 or self.under_way is not None


@dataclass(frozen=True, slots=True)
class Booking:
    """One head: who sits where, from when, for what."""

    chair: int
    recipe: Recipe
    arrives: float
    leave_out: tuple[str, ...] = ()
    by: str = ""  # only this person puts colour on this head; anybody who may, if empty
    facts: Facts = Facts()
    patient: bool = False  # waits as long as it takes

    def zones(self, stage: Stage) -> tuple[Zone, ...]:
        """The zones of a stage that this head gets."""
        return tuple(zone for zone in stage.zones if zone.name not in self.leave_out)


@dataclass(frozen=True, slots=True)
class House:
    """What one salon takes for granted. Minutes are ours, to be replaced by one's own."""

    prepare_minutes: float = 5.0  # consultation, the safety questions, the first bowl
    begin_within_minutes: float = 10.0  # from there to the first product: the bowl is mixed
    check_minutes: float = 1.0
    rinse_minutes: float = 5.0
    finish_minutes: float = 10.0
    tone_within_minutes: float = 15.0  # from the end of one rinse to the next product
    wait_minutes: float = 30.0  # longer than this nobody waits for the first step
    past_limit_minutes: float = 0.0  # only to find out which limit is in the way, never to follow


@dataclass(frozen=True, slots=True)
class Day:
    """Everything a plan is made from."""

    bookings: tuple[Booking, ...]
    people: tuple[Person, ...]
    basins: int
    now: float = 0.0  # nothing is planned before it
    house: House = House()


def patient(day: Day) -> Day:
    """The same day with clients who wait as long as it takes."""
    return replace(day, bookings=tuple(replace(b, patient=True) for b in day.bookings))


def problems(day: Day) -> list[Told]:
    """Every rule the day breaks: where, what, and the mend."""
    return [*_people_problems(day), *_booking_problems(day), *_chair_problems(day)]


def _people_problems(day: Day) -> Iterator[Told]:
    names = [person.name for person in day.people]
    for index, person in enumerate(day.people):
        at = ("people", index)
        if person.name in names[:index]:
            yield (*at, "name"), f"{person.name!r} is there twice", "give another name"
        if not person.skills:
            yield (*at, "skills"), f"{person.name} may do nothing", "name apply, check or rinse"
        for number, pause in enumerate(person.breaks):
            if pause.ends <= pause.begins:
                where = (*at, "breaks", number)
                yield where, "the break ends before it begins", "write the earlier time first"
    for skill in SKILLS:
        if all(skill not in person.skills for person in day.people):
            yield ("people",), f"nobody may {skill}", f"give somebody the skill {skill}"
    if day.basins < 1:
        yield ("basins",), f"{day.basins} basins cannot rinse anybody", "write 1 or more"


def _booking_problems(day: Day) -> Iterator[Told]:
    if not day.bookings:
        yield ("heads",), "there is no head", "add at least one"
    names = [person.name for person in day.people]
    for index, booking in enumerate(day.bookings):
        at = ("heads", index)
        if booking.by and booking.by not in names:
            yield (*at, "by"), f"nobody is called {booking.by!r}", f"there are {', '.join(names)}"
        elif booking.by and not _may(day, booking.by, "apply"):
            yield (*at, "by"), f"{booking.by} may not apply", "name somebody who may"
        zones = {zone.name: zone for _, zone in booking.recipe.zones()}
        for name in booking.leave_out:
            if name not in zones:
                yield (*at, "leave_out"), f"no zone {name!r}", f"zones are {', '.join(zones)}"
            elif not zones[name].optional:
                yield (*at, "leave_out"), f"{name} cannot be left out", "remove it here"
        yield from _fact_problems(day, index, booking)


def _fact_problems(day: Day, index: int, booking: Booking) -> Iterator[Told]:
    at, facts = ("heads", index), booking.facts
    stages = booking.recipe.stages[facts.stage :][:1]
    here = [zone.name for stage in stages for zone in booking.zones(stage)]
    for name, since in facts.on.items():
        if name not in here:
            yield (*at, "on", name), f"no zone {name!r} is next", f"zones are {', '.join(here)}"
        elif since > day.now:
            yield (*at, "on", name), f"{name} is on later than now", "write now, or mend the time"


def _chair_problems(day: Day) -> Iterator[Told]:
    for index, booking in enumerate(day.bookings):
        if booking.chair < 1:
            yield ("heads", index, "chair"), f"there is no chair {booking.chair}", "count from 1"
        for before in day.bookings[:index]:
            first, second = sorted((before, booking), key=lambda b: b.arrives)
            free = first.arrives + least_minutes(first, day.house)
            if before.chair == booking.chair and second.arrives + day.house.wait_minutes < free:
                what = f"chair {booking.chair} is not free before {TimeOfDay(free)}"
                yield ("heads", index, "chair"), what, "another chair, or a later time"


def _may(day: Day, name: str, skill: Skill) -> bool:
    return any(person.name == name and skill in person.skills for person in day.people)


def least_minutes(booking: Booking, house: House) -> float:
    """The shortest a head can take: every pass, then the shortest minutes of the last zone."""
    total = house.prepare_minutes + house.finish_minutes
    for stage in booking.recipe.stages:
        if zones := booking.zones(stage):
            total += sum(zone.apply_minutes for zone in zones) + house.rinse_minutes
            if stage.counts_from == "own":
                total += zones[-1].window.check_from_minutes
    return total
