"""Small days planned by the quick planner, each worked out by hand. Minutes after ten o'clock.

A pass takes four minutes, the first check is five after it, the target ten, the limit twenty; a
look takes one minute, a rinse five. Ines and Rosa may do everything, Tom may look and rinse.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.plan import Placed
from assistant.core.plan_day import Booking, Break, Day, Facts, House, Person, UnderWay
from assistant.core.plan_greedy import greedy, urgency
from assistant.core.plan_tasks import chains
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


TONED = replace(recipe(stage(zone("nape")), stage(zone("ends"))), place="chair")
SHORT = window(5, 8, 9)  # the limit is close
TIGHT = replace(recipe(stage(zone("nape", window=SHORT))), place="chair")
TWO = replace(recipe(stage(zone("nape"), zone("crown", window=SHORT))), place="chair")

LATE = replace(recipe(stage(zone("nape", window=window(5, 15, 20)))), place="chair")
SOON = recipe(stage(zone("nape", window=window(4, 5, 20))))


def day(*heads: Booking, people: tuple[Person, ...] = ALONE, basins: int = 1) -> Day:
    return Day(heads, people, basins, MORNING, HOUSE)


def comes(book: Recipe, chair: int = 1, at: float = 0) -> Booking:
    return Booking(chair, book, MORNING + at)


def on_since(
    minutes_ago: float, book: Recipe, chair: int = 1, way: UnderWay | None = None
) -> Booking:
    facts = Facts(on={"nape": MORNING - minutes_ago}, prepared=True, under_way=way)
    return Booking(chair, book, MORNING - minutes_ago, facts=facts)


def passing(minutes_ago: float, book: Recipe, by: str = "", chair: int = 1) -> Booking:
    """In the middle of the pass on the nape."""
    way = UnderWay("apply", "nape", MORNING - minutes_ago, by)
    return Booking(chair, book, MORNING - minutes_ago, facts=Facts(prepared=True, under_way=way))


def preparing(minutes_ago: float) -> Booking:
    way = UnderWay("prepare", "", MORNING - minutes_ago)
    return Booking(1, DRY, MORNING - minutes_ago, facts=Facts(under_way=way))


def rinsing(book: Recipe, chair: int = 1) -> Booking:
    """On for fifteen minutes, in the basin for two."""
    return on_since(15, book, chair, UnderWay("rinse", "nape", MORNING - 2))


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
            rinsing(DRY),
            comes(DRY, 2),
            people=PAIR,
        ),
        [
            "rinse -2-3 Ines basin 1",
            "apply 0-4 Rosa, check 9-10 Ines, rinse 14-19 Ines basin 1",
        ],
    ),
    "whoever is at work is not planned for anything else": (
        day(on_since(1, TWO), passing(2, TIGHT, chair=2), people=PAIR, basins=2),
        [
            "apply 0-4 Rosa, check 9-10 Ines, rinse 12-17 Ines basin 1",
            "apply -2-2 Ines, check 7-8 Ines, rinse 10-15 Rosa basin 2",
        ],
    ),
    "a pass waits so that no limit falls into a break": (
        day(
            comes(TWO),
            comes(replace(TONED, place="basin"), 2),
            comes(TIGHT, 3, 5),
            people=away(10, 20),
        ),
        [
            "apply 6-10 Ines, apply 20-24 Ines, check 29-30 Ines, rinse 30-35 Ines basin 1",
            "apply 41-45 Ines, check 50-51 Ines, rinse 55-60 Ines basin 1, apply 60-64 Ines, "
            "check 69-70 Ines, rinse 74-79 Ines basin 1",
            "apply 24-28 Ines, check 35-36 Ines, rinse 36-41 Ines basin 1",
        ],
    ),
    "product that is on goes before clients who come": (
        day(
            comes(BASIN, at=10),
            on_since(1, TONED, 2),
            on_since(1, DRY, 3),
            passing(6, BASIN, "Rosa", 4),
            people=(*away(8, 30), ROSA),
            basins=2,
        ),
        [
            "apply 24-28 Rosa, check 33-34 Ines, rinse 38-43 Rosa basin 2",
            "check 4-5 Ines, rinse 15-20 Rosa basin 1, apply 20-24 Rosa, check 29-30 Rosa, "
            "rinse 34-39 Ines basin 1",
            "check 4-5 Rosa, rinse 5-10 Rosa basin 2",
            "apply -6-0 Rosa, check 5-6 Ines, rinse 10-15 Rosa basin 1",
        ],
    ),
    "a rinse before its target is better than one after its limit": (
        day(rinsing(BASIN), comes(LONG, 2), on_since(9, WAITS, 3), basins=2),
        [
            "rinse -2-3 Ines basin 2",
            "apply 18-48 Ines, check 53-54 Ines, rinse 54-59 Ines basin 1",
            "apply 3-7 Ines, check 12-13 Ines, rinse 13-18 Ines basin 1",
        ],
    ),
    "a pass waits for a limit though another one is under way": (
        day(passing(2, TWO), people=away(10, 15)),
        ["apply -2-2 Ines, apply 3-7 Ines, check 15-16 Ines, rinse 16-21 Ines basin 1"],
    ),
    "a zone that waits meets the target of one that is on": (
        day(on_since(1, WAITS)),
        ["apply 5-9 Ines, check 14-15 Ines, rinse 19-24 Ines basin 1"],
    ),
    "a basin is free until the very moment of the next rinse": (
        day(on_since(1, LATE), comes(SOON, 2), people=PAIR),
        [
            "check 4-5 Ines, rinse 14-19 Ines basin 1",
            "apply 0-4 Ines, check 8-9 Ines, rinse 9-14 Ines basin 1",
        ],
    ),
    "two passes, one look, one rinse": (
        day(comes(TWO, at=5), people=(INES, TOM)),
        ["apply 5-9 Ines, apply 9-13 Ines, check 18-19 Tom, rinse 19-24 Tom basin 1"],
    ),
    "in a chair a head has the basin only while it is rinsed": (
        day(passing(2, TONED, "Rosa"), comes(TONED, 2, 5), people=CREW, basins=2),
        [
            "apply -2-2 Rosa, check 7-8 Tom, rinse 12-17 Tom basin 1, apply 17-21 Ines, "
            "check 26-27 Tom, rinse 31-36 Tom basin 1",
            "apply 5-9 Ines, check 14-15 Ines, rinse 19-24 Tom basin 1, apply 24-28 Ines, "
            "check 33-34 Ines, rinse 38-43 Tom basin 1",
        ],
    ),
    "four heads, one pair of hands": (
        day(on_since(1, LONG), comes(TWO, 2, 5), comes(WAITS, 3, 2), comes(BASIN, 4, 2)),
        [
            "check 4-5 Ines, rinse 5-10 Ines basin 1",
            "apply 10-14 Ines, apply 14-18 Ines, check 23-24 Ines, rinse 24-29 Ines basin 1",
            "apply 44-48 Ines, apply 54-58 Ines, check 63-64 Ines, rinse 64-69 Ines basin 1",
            "apply 29-33 Ines, check 38-39 Ines, rinse 39-44 Ines basin 1",
        ],
    ),
    "a head that is done is no work": (
        day(replace(comes(DRY), facts=Facts(stage=1)), comes(DRY, 2)),
        ["", "apply 0-4 Ines, check 9-10 Ines, rinse 14-19 Ines basin 1"],
    ),
}


@pytest.mark.parametrize("name", DAYS)
def test_a_small_day(name: str) -> None:
    made, expected = DAYS[name]
    plan = greedy(made)
    assert plan is not None
    heads = range(len(made.bookings))
    assert [", ".join(written(p) for p in plan.of(head)) for head in heads] == expected


def test_without_a_basin_or_hands_that_may_there_is_no_plan() -> None:
    assert greedy(day(comes(BASIN), basins=0)) is None


def test_the_first_limit_is_the_urgent_one_after_a_basin_that_is_held() -> None:
    """Crown's limit comes two minutes after nape's, in a rinse of its own."""
    apart = stage(zone("nape", window=SHORT), zone("crown", window=window(15, 18, 20)))
    facts = Facts(on={"nape": MORNING - 4, "crown": MORNING - 4}, prepared=True)
    for place, held in (("chair", False), ("basin", True)):
        head = Booking(1, replace(recipe(apart), place=place), MORNING, facts=facts)
        (chain,) = chains(day(head))
        assert urgency(chain) == (not held, (MORNING + 5) * 2)
    (new,) = chains(day(comes(DRY)))
    assert urgency(replace(new, tasks=new.tasks[1:])) == (True, float("inf"))
