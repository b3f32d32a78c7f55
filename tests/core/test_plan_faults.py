"""The checker of plans against plans made by hand: each rule kept to the minute, then broken.

Every plan is one that a stranger may bring; the faults are compared as a whole, so that none is
told that is not there. Offsets are minutes after ten o'clock, when the clients come.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from assistant.core.plan import Placed, Plan, Slot, cost, happened, plan_of, rest
from assistant.core.plan_check import faults
from assistant.core.plan_day import SKILLS, Booking, Break, Day, Facts, House, Person, UnderWay
from assistant.core.plan_tasks import Key
from assistant.core.recipe import Recipe
from tests.core.days import MORNING
from tests.core.recipes import bowl, recipe, stage, window, zone

INES, TOM = Person("Ines", SKILLS), Person("Tom", ("check", "rinse"))
# pass of 4 minutes; check from 5, target 10, limit 20
NAPE = replace(recipe(stage(zone("nape"))), place="chair")
BOTH = replace(recipe(stage(zone("nape"), zone("crown"))), place="chair")
SHARED = replace(recipe(stage(zone("nape"), zone("crown"), counts_from="shared")), place="chair")
TONED = replace(recipe(stage(zone("nape")), stage(zone("ends"))), place="chair")


def task(
    kind: str,
    begins: float,
    ends: float,
    subject: str = "nape",
    *,
    head: int = 0,
    at: int = 0,
    by: str = "Ines",
) -> Placed:
    key = Key(head, at, kind, subject)  # type: ignore[arg-type]
    return Placed(key, MORNING + begins, MORNING + ends, by)


def day(*books: Recipe, people: Sequence[Person] = (INES,), basins: int = 1, **more: object) -> Day:
    heads = tuple(Booking(chair, book, MORNING) for chair, book in enumerate(books, 1))
    return replace(Day(heads, tuple(people), basins), **more)  # type: ignore[arg-type]


def of_one(number: Day, **more: object) -> Day:
    """The day with its first head changed."""
    return replace(number, bookings=(replace(number.bookings[0], **more), *number.bookings[1:]))  # type: ignore[arg-type]


def told(of: Day, *tasks: Placed) -> list[str]:
    return faults(of, Plan(tasks))


PREPARE, APPLY, LOOK = task("prepare", 0, 5, ""), task("apply", 5, 9), task("check", 18, 19)
RINSE, FINISH = task("rinse", 19, 24), task("finish", 24, 34, "")
GOOD = (PREPARE, APPLY, LOOK, RINSE, FINISH)


def test_a_good_plan_has_no_fault() -> None:
    assert told(day(NAPE), *GOOD) == []


def test_nothing_is_planned() -> None:
    assert told(day(NAPE)) == ["chair 1: nothing is planned"]


def test_a_plan_of_one_task_is_judged_like_any_other() -> None:
    assert told(day(NAPE), PREPARE) == [
        "chair 1: is not finished last",
        "chair 1: nape is never put on",
        "chair 1: colour: [] are rinsed, not ['nape']",
    ]


# ------------------------------------------------------------------ the beginning and the end


@pytest.mark.parametrize(
    ("begins", "now", "found"),
    [
        (0, 0, []),
        (-0.5, 0, ["chair 1: begins at 09:59, before the client is there"]),
        (2, 2, []),
        (1.5, 2, ["chair 1: begins at 10:01, before the client is there"]),
        (31, 0, []),  # waits thirty minutes, and one for rounding
        (31.5, 0, ["chair 1: waits until 10:31"]),
        (41, 40, []),  # whoever is here and was not begun is taken now
        (41.5, 40, ["chair 1: waits until 10:41"]),
    ],
)
def test_a_head_begins_when_the_client_is_there_and_soon(
    begins: float, now: float, found: list[str]
) -> None:
    moved = [replace(p, begins=p.begins + begins, ends=p.ends + begins) for p in GOOD]
    assert told(day(NAPE, now=MORNING + now), *moved) == found


def test_a_head_is_prepared_first_and_finished_last_where_the_house_does_so() -> None:
    less = (APPLY, LOOK, RINSE)
    assert told(day(NAPE), *less) == [
        "chair 1: is not prepared first",
        "chair 1: is not finished last",
    ]
    quick = House(prepare_minutes=0, finish_minutes=0)
    assert told(day(NAPE, house=quick), *less) == []


@pytest.mark.parametrize(
    ("gap", "found"), [(10, []), (10.5, ["chair 1: the first bowl stands for 10.5 minutes"])]
)
def test_a_mixed_bowl_does_not_stand(gap: float, found: list[str]) -> None:
    late = [replace(p, begins=p.begins + gap, ends=p.ends + gap) for p in GOOD[1:]]
    assert told(day(NAPE), PREPARE, *late) == found


def test_a_pass_that_is_first_may_be_followed_by_a_pause() -> None:
    quick = day(NAPE, house=House(prepare_minutes=0))
    late = (APPLY, task("check", 25, 26), task("rinse", 26, 31), task("finish", 31, 41, ""))
    assert told(quick, *late) == []


def test_what_is_under_way_was_begun_when_it_was() -> None:
    """No rule about the beginning is applied to a head that is begun."""
    begun = of_one(day(NAPE, now=MORNING + 50), facts=Facts(prepared=True))
    assert told(begun, *GOOD[1:]) == []


def test_nobody_does_two_things_at_once_on_a_head() -> None:
    early = task("finish", 23, 33, "", by="Rosa")
    crew = (INES, Person("Rosa", SKILLS))
    assert told(day(NAPE, people=crew), PREPARE, APPLY, LOOK, RINSE, early) == [
        "chair 1: two things at once at 10:23"
    ]


# ------------------------------------------------------------------ passes


def test_a_zone_is_put_on_once_for_as_long_as_it_takes() -> None:
    short = task("apply", 5, 8.5)
    assert told(day(NAPE), PREPARE, short, *GOOD[2:]) == ["chair 1: the pass of nape is too short"]
    again = task("apply", 9, 13)
    assert told(day(NAPE), *GOOD, again) == ["chair 1: nape is put on twice"]
    missing = told(day(BOTH), *GOOD)
    assert missing == [
        "chair 1: crown is never put on",
        "chair 1: colour: ['nape'] are rinsed, not ['crown', 'nape']",
    ]
    assert told(of_one(day(BOTH), leave_out=("crown",)), *GOOD) == []


def test_whoever_is_slow_is_given_more_time() -> None:
    slow = of_one(day(NAPE), facts=Facts(pace=1.5))
    assert told(slow, *GOOD) == ["chair 1: the pass of nape is too short"]
    long = task("apply", 5, 11)
    assert told(slow, PREPARE, long, *GOOD[2:]) == []


def test_a_zone_that_is_on_already_counts_from_when_it_was_on() -> None:
    on = of_one(day(NAPE, now=MORNING + 10), facts=Facts(on={"nape": MORNING - 1.5}))
    assert told(on, LOOK, RINSE, FINISH) == ["chair 1: nape is rinsed 0.5 minutes past its limit"]
    assert told(on, APPLY, LOOK, RINSE, FINISH) == ["chair 1: nape is put on twice"]


def test_facts_are_those_of_the_present_stage() -> None:
    """The nape is rinsed; of the second stage nothing is on."""
    later = of_one(day(TONED, now=MORNING + 1), facts=Facts(stage=1, prepared=True))
    ends = [replace(p, key=p.key._replace(stage=1, subject="ends")) for p in GOOD[1:4]]
    assert told(later, *ends, FINISH) == []
    first = of_one(day(TONED), facts=Facts(off=("ends",), prepared=True))
    assert told(first, *GOOD[1:4], FINISH) == [
        "chair 1: ends is never put on",
        "chair 1: colour: [] are rinsed, not ['ends']",
    ]


# ------------------------------------------------------------------ looks and rinses


@pytest.mark.parametrize(
    ("look", "rinse", "found"),
    [
        (14, 15, []),
        (28, 29, []),  # at the limit itself
        (28, 29.5, ["nape is rinsed 0.5 minutes past its limit"]),
        (13.5, 15, ["nape is looked at before its first check"]),
        (
            12,
            13.5,
            ["nape is rinsed before its first check", "nape is looked at before its first check"],
        ),
        (19, 19, ["two things at once at 10:19", "the look at nape comes after its rinse"]),
    ],
)
def test_a_zone_is_looked_at_and_rinsed_inside_its_window(
    look: float, rinse: float, found: list[str]
) -> None:
    crew = (INES, TOM)
    plan = (
        PREPARE,
        APPLY,
        task("check", look, look + 1, by="Tom"),
        task("rinse", rinse, rinse + 5),
        task("finish", rinse + 5, rinse + 15, ""),
    )
    assert told(day(NAPE, people=crew), *plan) == [f"chair 1: {each}" for each in found]


def test_a_rinse_takes_its_time_and_somebody_looks_before_it() -> None:
    short = task("rinse", 19, 23.5)
    assert told(day(NAPE), PREPARE, APPLY, LOOK, short, FINISH) == ["chair 1: a rinse is too short"]
    assert told(day(NAPE), PREPARE, APPLY, RINSE, FINISH) == [
        "chair 1: nobody looks at nape before its rinse"
    ]


def test_a_look_that_was_taken_is_not_asked_for_again() -> None:
    on = {"nape": MORNING + 5, "crown": MORNING + 9}
    both = task("rinse", 19, 24, "nape, crown")
    looked = Facts(on=on, looked=("nape", "crown"))
    now = MORNING + 18
    assert told(of_one(day(BOTH, now=now), facts=looked), both, FINISH) == []
    one = replace(looked, looked=("nape",))
    assert told(of_one(day(BOTH, now=now), facts=one), both, FINISH) == [
        "chair 1: nobody looks at nape, crown before its rinse"
    ]


def test_a_zone_that_is_off_is_neither_put_on_nor_rinsed_again() -> None:
    off = Facts(on={"nape": MORNING - 5, "crown": MORNING + 9}, off=("nape",))
    left = of_one(day(BOTH, now=MORNING + 15), facts=off)
    crown = (task("check", 18, 19, "crown"), task("rinse", 19, 24, "crown"), FINISH)
    assert told(left, *crown) == []
    assert told(left, *crown[:1], task("rinse", 19, 24, "nape, crown"), FINISH)[-1] == (
        "chair 1: colour: ['crown', 'nape'] are rinsed, not ['crown']"
    )


def test_a_zone_looked_at_may_be_rinsed_from_its_first_check_on() -> None:
    looked = Facts(on={"nape": MORNING + 9}, looked=("nape",))
    begun = of_one(day(NAPE, now=MORNING + 13), facts=looked)
    for at, found in ((14, []), (13.5, ["chair 1: nape is rinsed before its first check"])):
        plan = (task("rinse", at, at + 5), task("finish", at + 5, at + 15, ""))
        assert told(begun, *plan) == found


def test_a_rinse_under_way_is_not_judged_any_more() -> None:
    """It began past the limit and without a look: nothing a plan could mend."""
    late = Facts(
        on={"nape": MORNING - 10},
        under_way=UnderWay("rinse", "nape", MORNING + 19, "Ines"),
    )
    begun = of_one(day(NAPE, now=MORNING + 20), facts=late)
    assert told(begun, RINSE, FINISH) == []
    wrong = replace(late, under_way=UnderWay("check", "nape", MORNING + 19, "Ines"))
    assert told(of_one(begun, facts=wrong), RINSE, FINISH) == [
        "chair 1: nobody looks at nape before its rinse",
        "chair 1: nape is rinsed 9 minutes past its limit",
    ]
    to_come = of_one(day(NAPE, now=MORNING + 19), facts=late)
    assert told(to_come, RINSE, FINISH) == [
        "chair 1: nobody looks at nape before its rinse",
        "chair 1: nape is rinsed 9 minutes past its limit",
    ]


def test_a_look_that_has_begun_is_not_judged_any_more() -> None:
    """Somebody looked early; the plan can only go on."""
    early = task("check", 13, 14)
    facts = Facts(on={"nape": MORNING + 9}, under_way=UnderWay("check", "nape", MORNING + 13))
    begun = of_one(day(NAPE, now=MORNING + 13.5), facts=facts)
    assert told(begun, early, RINSE, FINISH) == []
    at_once = of_one(day(NAPE, now=MORNING + 13), facts=facts)
    assert told(at_once, early, RINSE, FINISH) == [
        "chair 1: nape is looked at before its first check"
    ]


def test_under_a_shared_total_the_first_zone_rules() -> None:
    """The crown is on at 20, its limit like the nape's at 29: counted on its own it would be 40."""
    plan = (
        PREPARE,
        APPLY,
        task("apply", 16, 20, "crown"),
        task("check", 29, 30, "nape, crown"),
        task("rinse", 30, 35, "nape, crown"),
        task("finish", 35, 45, ""),
    )
    assert told(day(SHARED), *plan) == [
        "chair 1: nape is rinsed 1 minutes past its limit",
        "chair 1: crown is rinsed 1 minutes past its limit",
    ]
    assert told(day(BOTH), *plan) == ["chair 1: nape is rinsed 1 minutes past its limit"]


# ------------------------------------------------------------------ bowls and stages


@pytest.mark.parametrize(
    ("last", "use_within", "found"),
    [
        (35, 30, []),
        (35.5, 30, ["chair 1: the root bowl is 30.5 minutes old when its last zone is on"]),
        (35.5, 8, ["chair 1: the root bowl is 30.5 minutes old when its last zone is on"]),
        (35.5, 7, []),  # nobody could use it up in time
    ],
)
def test_a_bowl_that_can_be_used_up_in_time_is(
    last: float, use_within: float, found: list[str]
) -> None:
    wide = window(1, 30, 60)
    book = stage(
        zone("nape", window=wide),
        zone("crown", window=wide),
        bowls=(bowl("root bowl", use_within),),
    )
    plan = (
        PREPARE,
        APPLY,
        task("apply", last - 4, last, "crown"),
        task("check", 38, 39, "nape, crown"),
        task("rinse", 39, 44, "nape, crown"),
        task("finish", 44, 54, ""),
    )
    whole = day(replace(recipe(book), place="chair"))
    assert told(whole, *plan) == found
    begun = of_one(whole, facts=Facts(on={"nape": MORNING + 9}))
    assert told(begun, *plan[2:]) == []  # its bowl is in use, and its age is called out


def test_the_age_of_a_bowl_in_use_is_called_out_and_not_planned() -> None:
    """The nape is on from it; crown and fringe follow with half an hour between them."""
    wide = window(1, 30, 60)
    book = stage(*(zone(name, window=wide) for name in ("nape", "crown", "fringe")))
    rest_of_it = (
        task("apply", 5, 9, "crown"),
        task("apply", 36, 40, "fringe"),
        task("check", 43, 44, "nape, crown, fringe"),
        task("rinse", 44, 49, "nape, crown, fringe"),
        task("finish", 49, 59, ""),
    )
    whole = day(replace(recipe(book), place="chair"))
    begun = of_one(whole, facts=Facts(on={"nape": MORNING - 1}))
    assert told(begun, *rest_of_it) == []
    assert told(whole, PREPARE, *rest_of_it)[-1] == (
        "chair 1: the root bowl is 35 minutes old when its last zone is on"
    )


def test_a_bowl_in_use_excuses_no_other_bowl() -> None:
    wide = window(1, 30, 60)
    two = stage(
        zone("nape", window=wide),
        zone("crown", "end bowl", window=wide),
        zone("ends", "end bowl", window=wide),
        bowls=(bowl(), bowl("end bowl")),
    )
    begun = of_one(day(replace(recipe(two), place="chair")), facts=Facts(on={"nape": MORNING - 1}))
    plan = (
        task("apply", 5, 9, "crown"),
        task("apply", 36, 40, "ends"),
        task("check", 43, 44, "nape, crown, ends"),
        task("rinse", 44, 49, "nape, crown, ends"),
        task("finish", 49, 59, ""),
    )
    assert told(begun, *plan) == [
        "chair 1: the end bowl is 35 minutes old when its last zone is on"
    ]


def test_each_bowl_has_an_age_of_its_own() -> None:
    wide = window(1, 30, 60)
    two = stage(
        zone("nape", window=wide),
        zone("ends", "end bowl", window=wide),
        bowls=(bowl(), bowl("end bowl")),
    )
    plan = (
        PREPARE,
        APPLY,
        task("apply", 36, 40, "ends"),
        task("check", 43, 44, "nape, ends"),
        task("rinse", 44, 49, "nape, ends"),
        task("finish", 49, 59, ""),
    )
    assert told(day(replace(recipe(two), place="chair")), *plan) == []


@pytest.mark.parametrize(
    ("gap", "found"),
    [
        (0, []),
        (15, []),
        (15.5, ["chair 1: the next product waits 15.5 minutes after the rinse"]),
        (
            -0.5,
            [
                "chair 1: two things at once at 10:23",
                "chair 1: a stage begins before the one before it is rinsed",
            ],
        ),
    ],
)
def test_the_next_product_follows_its_rinse(gap: float, found: list[str]) -> None:
    at = 24 + gap
    plan = (
        *GOOD[:3],
        task("rinse", 19, 24, by="Tom"),
        task("apply", at, at + 4, "ends", at=1),
        task("check", at + 13, at + 14, "ends", at=1),
        task("rinse", at + 14, at + 19, "ends", at=1),
        task("finish", at + 19, at + 29, ""),
    )
    assert told(day(TONED, people=(INES, TOM)), *plan) == found


def test_the_next_product_follows_the_last_rinse_and_the_first_pass_counts() -> None:
    """Nape and crown are rinsed one after the other, until 28; then ends and hairline go on."""
    two = replace(
        recipe(stage(zone("nape"), zone("crown")), stage(zone("ends"), zone("hairline"))),
        place="chair",
    )
    facts = Facts(
        on={"nape": MORNING, "crown": MORNING + 8}, looked=("nape", "crown"), prepared=True
    )
    plan = (
        task("rinse", 18, 23),
        task("rinse", 23, 28, "crown"),
        task("apply", 43, 47, "ends", at=1),
        task("apply", 47, 51, "hairline", at=1),
        task("check", 56, 57, "ends, hairline", at=1),
        task("rinse", 57, 62, "ends, hairline", at=1),
        task("finish", 62, 72, ""),
    )
    assert told(of_one(day(two, now=MORNING + 15), facts=facts), *plan) == []


# ------------------------------------------------------------------ people


def test_people_do_what_they_may_and_are_known() -> None:
    crew = (INES, TOM)
    by_tom = [replace(p, person="Tom") for p in GOOD]
    assert told(day(NAPE, people=crew), *by_tom) == ["Tom may not prepare", "Tom may not apply"]
    only = Person("Ada", ("apply",))
    by_ada = [replace(p, person="Ada") for p in GOOD]
    assert told(day(NAPE, people=(only,)), *by_ada) == [
        "Ada may not check",
        "Ada may not rinse",
        "Ada may not finish",
    ]
    assert told(day(NAPE), *GOOD[:4], replace(FINISH, person="Eve")) == ["nobody is called 'Eve'"]


def test_nobody_is_in_two_places() -> None:
    second = [replace(p, key=p.key._replace(head=1)) for p in GOOD]
    later = [replace(p, begins=p.begins + 4, ends=p.ends + 4) for p in second]
    assert told(day(NAPE, NAPE, basins=2), *GOOD, *later) == [
        "Ines is in two places from 10:04 to 10:05",
        "Ines is in two places from 10:05 to 10:09",
        "Ines is in two places from 10:22 to 10:23",
        "Ines is in two places from 10:23 to 10:24",
        "Ines is in two places from 10:24 to 10:28",
        "Ines is in two places from 10:28 to 10:34",
    ]


@pytest.mark.parametrize(
    ("pause", "now", "found"),
    [
        ((9, 18), 0, []),  # between the pass and the look, to the minute
        ((8.5, 18), 0, ["Ines works in the break at 10:08"]),
        ((9, 18.5), 0, ["Ines works in the break at 10:09"]),
        ((9, 18.5), 18.5, []),  # the look has begun by now
        ((9, 18.5), 18, ["Ines works in the break at 10:09"]),
    ],
)
def test_a_break_is_kept(pause: tuple[float, float], now: float, found: list[str]) -> None:
    crew = (replace(INES, breaks=(Break(MORNING + pause[0], MORNING + pause[1]),)),)
    on = of_one(day(NAPE, people=crew, now=MORNING + now), facts=Facts(prepared=True))
    assert told(on, *GOOD[1:]) == found


# ------------------------------------------------------------------ basins and chairs


def pair(second_rinse: float) -> list[Placed]:
    """Two heads with a person each; the second is rinsed later."""
    move = second_rinse - 19
    other = [replace(p, key=p.key._replace(head=1), person="Rosa") for p in GOOD]
    return [
        *GOOD,
        *(replace(p, begins=p.begins + move, ends=p.ends + move) for p in other),
    ]


CREW = (INES, Person("Rosa", SKILLS))


def test_a_basin_serves_one_head_at_a_time() -> None:
    assert told(day(NAPE, NAPE, people=CREW), *pair(24)) == []
    assert told(day(NAPE, NAPE, people=CREW), *pair(23.5)) == ["2 heads at 1 basins at 10:23"]
    assert told(day(NAPE, NAPE, people=CREW, basins=2), *pair(23.5)) == []


def test_a_head_done_at_the_basin_keeps_it_from_its_first_pass() -> None:
    """Chair one sits there from 10:05 to 10:24; the other is rinsed at 10:20."""
    there = replace(NAPE, place="basin")
    assert told(day(there, NAPE, people=CREW), *pair(20)) == ["2 heads at 1 basins at 10:20"]
    assert told(day(NAPE, there, people=CREW), *pair(38)) == []
    assert told(day(NAPE, there, people=CREW), *pair(37.5)) == ["2 heads at 1 basins at 10:23"]


def test_a_head_done_at_the_basin_keeps_it_to_its_last_rinse() -> None:
    """Two stages, rinsed at 10:19 and 10:44 to 10:49; the other head is rinsed at 10:48."""
    there = replace(TONED, place="basin")
    second = (
        task("apply", 28, 32, "ends", at=1),
        task("check", 43, 44, "ends", at=1),
        task("rinse", 44, 49, "ends", at=1),
        task("finish", 49, 59, ""),
    )
    other = [p for p in pair(48) if p.key.head == 1]
    assert told(day(there, NAPE, people=CREW), *GOOD[:4], *second, *other) == [
        "2 heads at 1 basins at 10:48"
    ]


def test_what_was_never_on_has_no_minutes() -> None:
    assert told(day(NAPE), PREPARE, LOOK, RINSE, FINISH) == [
        "chair 1: the first bowl stands for 13 minutes",
        "chair 1: nape is never put on",
    ]


def test_a_head_that_is_on_keeps_its_basin_from_now() -> None:
    there = replace(NAPE, place="basin")
    now = MORNING + 10
    rinse = task("rinse", 15, 20, head=1, by="Rosa")
    heads = day(there, NAPE, people=CREW, now=now)
    on = tuple(
        replace(b, facts=Facts(on={"nape": MORNING - 1}, looked=("nape",))) for b in heads.bookings
    )
    plan = (task("rinse", 19, 24), FINISH, rinse, task("finish", 20, 30, "", head=1, by="Rosa"))
    late = ["chair 1: nape is rinsed 0 minutes past its limit"]
    assert [f for f in told(replace(heads, bookings=on), *plan) if f not in late] == [
        "2 heads at 1 basins at 10:15"
    ]


def test_a_chair_has_one_client_at_a_time() -> None:
    twice = day(NAPE, NAPE, people=CREW, basins=2)
    same = replace(twice, bookings=tuple(replace(b, chair=1) for b in twice.bookings))
    assert told(same, *pair(53)) == ["chair 1: waits until 10:34"]
    assert told(same, *pair(52.5)) == [
        "chair 1 has two clients at 10:33",
        "chair 1: waits until 10:33",
    ]


# ------------------------------------------------------------------ what a plan costs and holds


def test_minutes_off_a_target_weigh_twice_before_and_after_it() -> None:
    quick = day(NAPE, house=House(prepare_minutes=0, finish_minutes=0))
    plan = (task("apply", 0, 4), task("check", 13, 14))
    costs = [cost(quick, Plan((*plan, task("rinse", at, at + 5)))) for at in (14, 17, 11)]
    assert costs == [19, 22 + 2 * 3, 16 + 2 * 3]


def test_zones_rinsed_together_are_off_by_the_first_and_by_the_last() -> None:
    """On at 4 and 8, so due at 14 and 18: at 16 both are two minutes off."""
    quick = day(BOTH, house=House(prepare_minutes=0, finish_minutes=0))
    plan = (
        task("apply", 0, 4),
        task("apply", 4, 8, "crown"),
        task("check", 15, 16, "nape, crown"),
        task("rinse", 16, 21, "nape, crown"),
    )
    assert cost(quick, Plan(plan)) == 21 + 2 * (2 + 2)


def test_a_zone_that_is_on_already_aims_at_its_own_target() -> None:
    """On at 10:00 and due at 10:10: rinsed at 10:12, it is two minutes off."""
    house = House(finish_minutes=0)
    on = of_one(day(NAPE, now=MORNING + 8, house=house), facts=Facts(on={"nape": MORNING}))
    plan = Plan((task("check", 11, 12), task("rinse", 12, 17)))
    assert cost(on, plan) == (17 - 8) + 2 * 2  # from now on


def test_slots_of_half_minutes_become_times_in_order() -> None:
    late, early = Key(0, 0, "rinse", "nape"), Key(0, 0, "apply", "nape")
    slots = {late: Slot(1238, 1248, 1, 0), early: Slot(1210, 1218, 0)}
    assert plan_of(day(NAPE, people=(INES, TOM)), slots, "Ines") == Plan(
        (
            Placed(early, 605, 609, "Ines"),
            Placed(late, 619, 624, "Tom", 0),
        ),
        "Ines",
    )


@pytest.mark.parametrize(
    ("now", "facts"),
    [
        (0, Facts()),
        (3, Facts(under_way=UnderWay("prepare", "", MORNING, "Ines"))),
        (5, Facts(prepared=True)),
        (
            7,
            Facts(prepared=True, under_way=UnderWay("apply", "nape", MORNING + 5, "Ines")),
        ),
        (9, Facts(prepared=True, on={"nape": MORNING + 9})),
        (
            18.5,
            Facts(
                prepared=True,
                on={"nape": MORNING + 9},
                under_way=UnderWay("check", "nape", MORNING + 18, "Ines"),
            ),
        ),
        (19, Facts(prepared=True, on={"nape": MORNING + 9}, looked=("nape",))),
        (24, Facts(stage=1, prepared=True)),
        (26, Facts(stage=1, prepared=True, under_way=UnderWay("finish", "", MORNING + 24, "Ines"))),
        (40, Facts(stage=1, prepared=True)),
    ],
)
def test_what_a_plan_has_done_by_a_moment(now: float, facts: Facts) -> None:
    later = happened(day(NAPE), Plan(GOOD), MORNING + now)
    assert later.bookings[0].facts == facts
    assert later.now == MORNING + now


def test_a_zone_rinsed_alone_leaves_the_stage_going_on() -> None:
    plan = Plan(
        (
            PREPARE,
            APPLY,
            task("apply", 9, 13, "crown"),
            task("check", 17, 18, "nape"),
            task("rinse", 18, 23, "nape"),
        )
    )
    facts = happened(of_one(day(BOTH), facts=Facts(pace=1.5)), plan, MORNING + 23).bookings[0].facts
    assert (facts.stage, facts.off, facts.looked) == (0, ("nape",), ("nape",))
    assert facts.on == {"nape": MORNING + 9, "crown": MORNING + 13}
    assert facts.pace == 1.5
    whole = Plan((*plan.placed, task("rinse", 23, 28, "crown")))
    assert happened(of_one(day(BOTH), facts=Facts(pace=1.5)), whole, MORNING + 28).bookings[
        0
    ].facts == Facts(stage=1, prepared=True, pace=1.5)


def test_the_rest_of_a_plan_is_what_has_not_ended() -> None:
    left = rest(Plan(GOOD, "Ines"), MORNING + 9)
    assert left == Plan((LOOK, RINSE, FINISH), "Ines")
    assert rest(Plan(GOOD), MORNING + 8).placed[0] == APPLY
