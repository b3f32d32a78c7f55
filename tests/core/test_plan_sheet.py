"""A plan as text, letter by letter: a column is a minute, or as many as fit the screen."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.plan import Placed, Plan
from assistant.core.plan_day import SKILLS, Booking, Break, Day, Kind, Person
from assistant.core.plan_sheet import LEGEND, by_time, lanes
from assistant.core.plan_tasks import Key
from tests.core.days import MORNING
from tests.core.recipes import TWO_ZONES

DRY = replace(TWO_ZONES, place="chair")
PEOPLE = (
    Person("Ines", SKILLS, (Break(MORNING + 33, MORNING + 36),)),
    Person("Bartholomew Long", SKILLS),
)
DAY = Day((Booking(1, TWO_ZONES, MORNING), Booking(12, DRY, MORNING)), PEOPLE, 2)


def task(
    head: int,
    kind: Kind,
    about: str,
    begins: float,
    ends: float,
    who: int,
    basin: int | None = None,
) -> Placed:
    key = Key(head, 0, kind, about)
    return Placed(key, MORNING + begins, MORNING + ends, PEOPLE[who].name, basin)


PLAN = Plan(
    (
        task(0, "prepare", "", 0, 5, 0),
        task(0, "apply", "nape", 5, 9, 0),
        task(0, "apply", "crown", 9, 13, 0),
        task(1, "apply", "nape", 13, 17, 0),
        task(1, "apply", "crown", 18, 22, 0),
        task(0, "check", "nape, crown", 20, 21, 1),
        task(0, "rinse", "nape, crown", 24, 29, 1, 0),
        task(1, "rinse", "nape, crown", 30.5, 35.5, 1, 1),
        task(0, "finish", "", 36, 46, 0),
    )
)


def test_lanes_of_heads_people_and_basins() -> None:
    assert lanes(DAY, PLAN) == [
        "             10:00                         10:30",
        "chair 1     |pppppaaaaaaaa-------c---RRRRR       ffffffffff|",
        "chair 12    |             aaaa-aaaa--------RRRRRR          |",
        "Ines        |11111111111112222 2222           xxx1111111111|",
        "Bartholomew |                    1   11111 222222          |",
        "basin 1     |     111111111111111111111111                 |",
        "basin 2     |                              222222          |",
        f"one column is 1 min. {LEGEND}",
        "people and basins show the chair",
    ]


def test_who_does_what_when_with_passes_that_follow_in_one_line() -> None:
    assert by_time(DAY, PLAN) == [
        "10:00-10:05  Ines       chair 1: prepare",
        "10:05-10:13  Ines       chair 1: put on nape, crown",
        "10:13-10:17  Ines       chair 12: put on nape",
        "10:18-10:22  Ines       chair 12: put on crown",
        "10:20-10:21  Bartholomew Long chair 1: look at nape, crown",
        "10:24-10:29  Bartholomew Long chair 1: rinse nape, crown (basin 1)",
        "10:30-10:35  Bartholomew Long chair 12: rinse nape, crown (basin 2)",
        "10:36-10:46  Ines       chair 1: finish",
    ]


@pytest.mark.parametrize(
    ("minutes", "step"),
    [
        (84, 1),
        (85, 2),
        (168, 2),
        (169, 3),
        (252, 3),
        (253, 5),
        (420, 5),
        (421, 10),
        (840, 10),
        (841, 15),
    ],
)
def test_a_column_is_as_many_minutes_as_fit_the_screen(minutes: int, step: int) -> None:
    whole = lanes(DAY, Plan((task(0, "finish", "", 0, minutes, 0),)))
    assert whole[-2] == f"one column is {step} min. {LEGEND}"
    assert all(len(line) <= 100 for line in whole[:-2])


@pytest.mark.parametrize(
    ("minutes", "axis"),
    [
        (
            250,
            "10:30     11:00     11:30     12:00     12:30     13:00     13:30     14:00     14:30",
        ),
        (
            420,
            "10:30 11:00 11:30 12:00 12:30 13:00 13:30 14:00 14:30 15:00 15:30 16:00 16:30 17:00",
        ),
        (84, "10:30                         11:00                         11:30"),
        (440, "   11:00 12:00 13:00 14:00 15:00 16:00 17:00"),  # a column is ten minutes
    ],
)
def test_the_hours_stand_where_they_begin(minutes: int, axis: str) -> None:
    late = Plan((task(0, "finish", "", 40, minutes + 30, 0),))
    assert lanes(DAY, late)[0] == " " * 13 + axis


def test_a_head_that_begins_with_its_rinse_develops_from_the_beginning() -> None:
    """Product was on when the plan began; the basin is taken for the rinses alone."""
    begun = Plan(
        (
            task(0, "check", "nape", 0, 1, 0),
            task(0, "rinse", "nape", 4, 8, 0, 0),
            task(0, "rinse", "crown", 12, 16, 0, 0),
        )
    )
    drawn = lanes(DAY, begun)
    assert drawn[1] == "chair 1     |c---RRRR----RRRR|"
    assert drawn[5] == "basin 1     |    111111111111|"


def test_on_a_longer_day_a_column_is_more_minutes_and_breaks_beyond_it_are_left_out() -> None:
    """From 10:00 to 11:40 two minutes a column."""
    breaks = (Break(MORNING - 2, MORNING), Break(MORNING + 100, MORNING + 102))
    day = replace(DAY, people=(replace(PEOPLE[0], breaks=()), replace(PEOPLE[1], breaks=breaks)))
    long = Plan((task(0, "prepare", "", 0, 7, 0), task(0, "finish", "", 90, 100, 0)))
    drawn = lanes(day, long)
    assert drawn[1] == f"chair 1     |pppp{' ' * 41}fffff|"
    assert drawn[3:5] == [f"Ines        |1111{' ' * 41}11111|", f"Bartholomew |{' ' * 50}|"]
