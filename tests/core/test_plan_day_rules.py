"""Which days cannot be, by hand: a chair that is not free, skills, times, stages."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.plan_day import SKILLS, Booking, Break, Day, Facts, House, Person, problems
from assistant.core.recipe import Stage
from tests.core.days import CREW, MORNING
from tests.core.recipes import recipe, stage, window, zone

OWN = stage(zone("nape"), zone("crown"))
UNLIKE = stage(
    zone("nape", window=window(1, 10, 20)), zone("crown", window=window(2, 10, 20)), zone("ends")
)
SHARED = stage(zone("nape"), zone("crown"), counts_from="shared")
ALL_OPTIONAL = stage(zone("ends", optional=True))


def told(day: Day) -> list[str]:
    return [what for _, what, _ in problems(day)]


@pytest.mark.parametrize(
    ("stages", "minutes"),
    [
        ((OWN,), 43),  # 15 to prepare, two passes of 4, first check 5 later, rinse 5, finish 10
        ((UNLIKE,), 47),  # the first check of the last zone
        ((SHARED,), 38),  # under one total the last zone may be due at once
        ((OWN, SHARED), 56),
        ((OWN, ALL_OPTIONAL), 43),  # the ends are left out, and then there is nothing to rinse
    ],
)
def test_a_chair_is_free_after_the_shortest_service(
    stages: tuple[Stage, ...], minutes: int
) -> None:
    """The next client waits thirty minutes at most."""
    first = Booking(1, recipe(*stages), MORNING, leave_out=("ends",) * (ALL_OPTIONAL in stages))
    late = replace(first, arrives=MORNING + minutes - 30)
    slow = House(prepare_minutes=15)
    assert told(Day((first, late), CREW[:1], 1, house=slow)) == []
    early = replace(late, arrives=late.arrives - 1)
    assert told(Day((first, early), CREW[:1], 1, house=slow)) == [
        f"chair 1 is not free before 10:{minutes}"
    ]


def test_a_head_is_for_somebody_who_may_apply_whatever_the_others_may() -> None:
    crew = (Person("Tom", ("check", "rinse")), Person("Ines", SKILLS))
    mine = Booking(1, recipe(OWN), MORNING, by="Ines")
    assert told(Day((mine,), crew, 1)) == []
    assert told(Day((replace(mine, by="Tom"),), crew, 1)) == ["Tom may not apply"]


def test_a_break_has_a_length() -> None:
    crew = (replace(CREW[0], breaks=(Break(MORNING, MORNING),)),)
    (what,) = told(Day((Booking(1, recipe(OWN), MORNING),), crew, 1))
    assert "ends before it begins" in what


def test_only_zones_of_the_present_stage_can_be_on() -> None:
    book = recipe(stage(zone("nape")), stage(zone("crown")), stage(zone("ends")))
    facts = Facts(stage=1, on={"crown": MORNING, "ends": MORNING})
    day = Day((Booking(1, book, MORNING, facts=facts),), CREW[:1], 1, MORNING)
    assert told(day) == ["no zone 'ends' is next"]


def test_a_head_between_two_stages_has_begun() -> None:
    assert Facts(stage=1).begun
    assert not Facts().begun
