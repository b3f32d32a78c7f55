"""Small days planned by the quick planner, each worked out by hand. Minutes after ten o'clock.

A pass takes four minutes, the first check is five after it, the target ten, the limit twenty; a
look takes one minute, a rinse five. Ines and Rosa may do everything, Tom may look and rinse.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.plan import Placed
from assistant.core.plan_day import Booking, Break, Day, Facts, House, Person, UnderWay
from assistant.core.plan_greedy import greedy
from assistant.core.recipe import Recipe
from tests.core.days import CREW, MORNING
from tests.core.recipes import recipe, stage, window, zone

HOUSE = House(prepare_minutes=0, finish_minutes=0, wait_minutes=60)
DRY = replace(recipe(stage(zone("nape"))), place="chair")
BASIN = replace(DRY, place="basin")
LONG = replace(recipe(stage(zone("nape", apply_minutes=30))), place="chair")
WAITS = recipe(
    stage(
        zone("nape", window=window(12, 20, 25)),
        zone("ends", window=window(5, 10, 20), wait_for_start=True),
    )
)
INES, TOM, ROSA = CREW
ALONE, PAIR = (INES,), (INES, ROSA)


def day(*heads: Booking, people: tuple[Person, ...] = ALONE, basins: int = 1) -> Day:
    return Day(heads, people, basins, MORNING, HOUSE)


def comes(book: Recipe, chair: int = 1, at: float = 0) -> Booking:
    return Booking(chair, book, MORNING + at)


def on_since(
    minutes_ago: float, book: Recipe, chair: int = 1, way: UnderWay | None = None
) -> Booking:
    facts = Facts(on={"nape": MORNING - minutes_ago}, prepared=True, under_way=way)
    return Booking(chair, book, MORNING - minutes_ago, facts=facts)


def passing(minutes_ago: float, book: Recipe, by: str = "") -> Booking:
    """In the middle of the pass on the nape."""
    way = UnderWay("apply", "nape", MORNING - minutes_ago, by)
    return Booking(1, book, MORNING - minutes_ago, facts=Facts(prepared=True, under_way=way))


def preparing(minutes_ago: float) -> Booking:
    way = UnderWay("prepare", "", MORNING - minutes_ago)
    return Booking(1, DRY, MORNING - minutes_ago, facts=Facts(under_way=way))


def away(begins: float, ends: float) -> tuple[Person, ...]:
    return (replace(INES, breaks=(Break(MORNING + begins, MORNING + ends),)),)


def written(placed: Placed) -> str:
    """ "rinse 14-19 Ines basin 1"."""
    times = f"{placed.begins - MORNING:g}-{placed.ends - MORNING:g}"
    where = f" basin {placed.basin + 1}" if placed.basin is not None else ""
    return f"{placed.key.kind} {times} {placed.person}{where}"


DAYS = {
    "one head is rinsed at its target": (
        day(comes(DRY)),
        ["apply 0-4 Ines, check 9-10 Ines, rinse 14-19 Ines basin 1"],
    ),
    "the house prepares and finishes": (
        replace(day(comes(DRY)), house=House()),
        [
            "prepare 0-5 Ines, apply 5-9 Ines, check 14-15 Ines, rinse 19-24 Ines basin 1, "
            "finish 24-34 Ines"
        ],
    ),
    "who is prepared is not prepared again": (
        replace(day(replace(comes(DRY), facts=Facts(prepared=True))), house=House()),
        ["apply 0-4 Ines, check 9-10 Ines, rinse 14-19 Ines basin 1, finish 19-29 Ines"],
    ),
    "who is being prepared is so to the end": (
        replace(day(preparing(2)), house=House()),
        [
            "prepare -2-3 Ines, apply 3-7 Ines, check 12-13 Ines, rinse 17-22 Ines basin 1, "
            "finish 22-32 Ines"
        ],
    ),
    "whoever can do least else looks and rinses": (
        day(comes(DRY), people=(INES, TOM)),
        ["apply 0-4 Ines, check 9-10 Tom, rinse 14-19 Tom basin 1"],
    ),
    "the look waits for the end of a break": (
        day(comes(DRY), people=away(4.2, 14.7)),
        ["apply 0-4 Ines, check 15-16 Ines, rinse 16-21 Ines basin 1"],
    ),
    "a pass does not begin that a break would interrupt": (
        day(comes(DRY), people=away(3, 5)),
        ["apply 5-9 Ines, check 14-15 Ines, rinse 19-24 Ines basin 1"],
    ),
    "a chair is free when its client has left": (
        day(comes(DRY), comes(DRY, at=2), people=PAIR, basins=2),
        [
            "apply 0-4 Ines, check 9-10 Ines, rinse 14-19 Ines basin 1",
            "apply 19-23 Ines, check 28-29 Ines, rinse 33-38 Ines basin 1",
        ],
    ),
    "a basin is kept from the first pass to the rinse": (
        day(comes(BASIN), comes(BASIN, 2), people=PAIR),
        [
            "apply 0-4 Ines, check 9-10 Ines, rinse 14-19 Ines basin 1",
            "apply 19-23 Ines, check 28-29 Ines, rinse 33-38 Ines basin 1",
        ],
    ),
    "two basins and two people serve two heads at once": (
        day(comes(BASIN), comes(BASIN, 2), people=PAIR, basins=2),
        [
            "apply 0-4 Ines, check 9-10 Ines, rinse 14-19 Ines basin 1",
            "apply 0-4 Rosa, check 9-10 Rosa, rinse 14-19 Rosa basin 2",
        ],
    ),
    "one person puts colour on the second while the first develops": (
        day(comes(DRY), comes(DRY, 2)),
        [
            "apply 0-4 Ines, check 9-10 Ines, rinse 14-19 Ines basin 1",
            "apply 4-8 Ines, check 13-14 Ines, rinse 19-24 Ines basin 1",
        ],
    ),
    "a short head goes before a long one": (
        day(comes(LONG), comes(DRY, 2)),
        [
            "apply 19-49 Ines, check 54-55 Ines, rinse 59-64 Ines basin 1",
            "apply 0-4 Ines, check 9-10 Ines, rinse 14-19 Ines basin 1",
        ],
    ),
    "a zone that waits begins when its target meets the other's": (
        day(comes(WAITS)),
        ["apply 0-4 Ines, apply 10-14 Ines, check 19-20 Ines, rinse 24-29 Ines basin 1"],
    ),
    "of two heads with product on the nearer limit goes first": (
        day(on_since(13, DRY), on_since(14, DRY, 2)),
        ["check 6-7 Ines, rinse 7-12 Ines basin 1", "check 0-1 Ines, rinse 1-6 Ines basin 1"],
    ),
    "a head that holds the basin keeps the next one from it": (
        day(on_since(9, BASIN), comes(BASIN, 2), people=PAIR),
        [
            "check 0-1 Ines, rinse 1-6 Ines basin 1",
            "apply 6-10 Ines, check 15-16 Ines, rinse 20-25 Ines basin 1",
        ],
    ),
    "it keeps one of two": (
        day(on_since(9, BASIN), comes(BASIN, 2), comes(DRY, 3), people=PAIR, basins=2),
        [
            "check 0-1 Ines, rinse 1-6 Ines basin 1",
            "apply 0-4 Rosa, check 9-10 Ines, rinse 14-19 Ines basin 2",
            "apply 4-8 Rosa, check 13-14 Ines, rinse 18-23 Rosa basin 1",
        ],
    ),
    "whoever is in the middle of a pass ends it": (
        day(passing(2, DRY, "Rosa"), comes(DRY, 2), people=PAIR, basins=2),
        [
            "apply -2-2 Rosa, check 7-8 Ines, rinse 12-17 Ines basin 1",
            "apply 0-4 Ines, check 9-10 Ines, rinse 14-19 Rosa basin 2",
        ],
    ),
    "a rinse under way is somebody's who may": (
        day(
            on_since(15, DRY, way=UnderWay("rinse", "nape", MORNING - 2)),
            comes(DRY, 2),
            people=PAIR,
        ),
        [
            "rinse -2-3 Ines basin 1",
            "apply 0-4 Rosa, check 9-10 Ines, rinse 14-19 Ines basin 1",
        ],
    ),
}


@pytest.mark.parametrize("name", DAYS)
def test_a_small_day(name: str) -> None:
    made, expected = DAYS[name]
    plan = greedy(made)
    assert plan is not None
    heads = range(len(made.bookings))
    assert [", ".join(written(p) for p in plan.of(head)) for head in heads] == expected
