"""What is in the way of a day and what mends it, worked out by hand on small days.

Ines may do everything, one pair of hands; a pass takes as long as the test says, a look one
minute, a rinse five. Nobody waits longer than the house's rule.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.plan_clash import Clash, clash
from assistant.core.plan_day import Booking, Break, Day, Facts, House, Person
from assistant.core.plan_greedy import greedy
from assistant.core.recipe import Recipe
from tests.core.days import CREW, MORNING
from tests.core.recipes import recipe, stage, window, zone

LONG = window(40, 50, 120)
HOUSE = House(prepare_minutes=0, finish_minutes=0, wait_minutes=10)


def takes(minutes: float, place: str = "chair") -> Recipe:
    """One zone whose pass takes so long, and then needs nobody for forty minutes."""
    nape = zone("nape", apply_minutes=minutes, window=LONG)
    return replace(recipe(stage(nape)), place=place)


def day(*heads: Booking, people: tuple[Person, ...] = CREW[:1], now: float = MORNING) -> Day:
    return Day(heads, people, 1, now, HOUSE)


def found(planned: Day) -> Clash:
    clashing = clash(planned, greedy)
    assert clashing is not None
    return clashing


def on(minutes_ago: float, book: Recipe, chair: int = 1, **more: float) -> Booking:
    """Product on the nape since so many minutes, on other zones by name."""
    since = {"nape": minutes_ago, **more}
    facts = Facts(on={name: MORNING - ago for name, ago in since.items()}, prepared=True)
    return Booking(chair, book, MORNING - max(since.values()), facts=facts)


# ------------------------------------------------------------ somebody waits too long


def test_whoever_waits_least_is_asked_to_and_the_rule_of_the_house_is_the_moment() -> None:
    """Chair two waits twelve minutes for chair one, or chair one fifteen for chair two."""
    both = day(Booking(1, takes(12), MORNING), Booking(2, takes(15), MORNING))
    assert found(both).sentence() == (
        "Chairs one and two both need hands at 10:10. "
        "Start chair two twelve minutes later, or get one more person at 10:10."
    )


def test_who_waits_longer_already_is_reckoned_from_now() -> None:
    """At 10:20 chair one has waited 20 minutes (by the rule till now), chair two 5 (till 10:25).
    Chair one would go on at 10:32, 12 too late; chair two at 10:40, 15 too late."""
    late = day(
        Booking(1, takes(20), MORNING), Booking(2, takes(12), MORNING + 15), now=MORNING + 20
    )
    assert found(late).sentence() == (
        "Chairs one and two both need hands at 10:20. "
        "Start chair one thirty two minutes later, or get one more person at 10:20."
    )


def test_who_waits_least_beyond_the_rule_is_not_always_who_begins_first() -> None:
    """Chair one at 10:32, 12 beyond its patience; chair two at 10:30, 15 beyond."""
    both = day(Booking(1, takes(20), MORNING + 10), Booking(2, takes(27), MORNING + 5))
    assert found(both).options[0] == "start chair one twenty two minutes later"


def test_the_chair_in_the_way_is_the_one_at_work_then() -> None:
    """Chair one is done at 10:10, then one of the others keeps Ines until 10:30."""
    three = day(
        *(Booking(chair, takes(long), MORNING) for chair, long in ((1, 10), (2, 20), (3, 20)))
    )
    assert sorted(found(three).chairs) == [2, 3]


def test_hands_are_named_by_who_needs_them_first_and_not_by_a_rinse() -> None:
    """Chair one is rinsed at 10:33 at the earliest; till 10:20 Ines is at chair two."""
    three = day(on(7, takes(4)), Booking(2, takes(20), MORNING), Booking(3, takes(20), MORNING))
    assert sorted(found(three).chairs) == [2, 3]


def test_in_a_break_it_is_only_this_chair_that_needs_hands() -> None:
    alone = (replace(CREW[0], breaks=(Break(MORNING, MORNING + 20),)),)
    assert found(day(Booking(1, takes(4), MORNING), people=alone)).sentence() == (
        "Chair one needs hands at 10:10. "
        "Start chair one twenty minutes later, or get one more person at 10:10."
    )


def test_a_hand_to_rinse_is_asked_for_where_that_is_enough() -> None:
    """Chair one is rinsed from 10:01 to 10:06 at the latest; chair two has no patience left."""
    tight = replace(recipe(stage(zone("nape", window=window(5, 10, 20)))), place="chair")
    two = day(on(19, tight), Booking(2, takes(4), MORNING - 10))
    assert found(two).sentence() == (
        "Chairs one and two both need a hand to rinse at 10:00. "
        "Start chair two sixteen minutes later, or get one more person to rinse at 10:00."
    )


def test_who_keeps_the_basin_is_named_and_not_who_is_at_work_first() -> None:
    """Rosa puts colour on chair two, which needs no basin; chair one keeps the only one."""
    three = day(
        on(6, takes(4, "basin")),
        Booking(2, takes(30), MORNING),
        Booking(3, takes(4, "basin"), MORNING - 10),
        people=(CREW[0], CREW[2]),
    )
    clashing = found(three)
    assert (clashing.chairs, clashing.needs) == ((1, 3), "the basin")


def test_what_does_not_mend_it_is_not_offered() -> None:
    """Three at once, none waits, three people: one basin more is not enough."""
    nobody_waits = replace(HOUSE, wait_minutes=0)
    heads = [Booking(chair, takes(4, "basin"), MORNING) for chair in (1, 2, 3)]
    crew = (CREW[0], CREW[2], replace(CREW[0], name="Eve"))
    three = replace(day(*heads, people=crew), house=nobody_waits)
    assert [option.split()[0] for option in found(three).options] == ["start"]


def test_a_zone_is_left_out_only_if_it_may_be_and_still_is_to_come() -> None:
    """The ends of chair one take twenty minutes: without them chair two goes on in time."""
    ends = zone("ends", apply_minutes=20, optional=True, window=LONG)
    book = replace(recipe(stage(zone("nape", window=LONG), ends)), place="chair")
    waits = Booking(2, takes(30), MORNING - 5)
    options = found(day(Booking(1, book, MORNING), waits)).options
    assert (options[1], len(options)) == ("leave out the ends on chair one", 2)
    without = Booking(1, book, MORNING, leave_out=("ends",))
    assert clash(day(without, waits), greedy) is None


def test_a_zone_that_is_on_is_never_left_out() -> None:
    """Without the ends the basin would be free at once."""
    zones = (zone("nape", window=LONG), zone("ends", window=LONG, optional=True))
    keeps = on(1, recipe(stage(*zones)), ends=1)
    keeps = replace(keeps, facts=replace(keeps.facts, off=("nape",)))
    two = day(keeps, Booking(2, takes(4, "basin"), MORNING), people=(CREW[0], CREW[2]))
    assert found(two).options == (
        "start chair two fifty four minutes later",
        "free one more basin at 10:10",
    )


# ------------------------------------------------------------ a limit cannot be kept

TIGHT = replace(recipe(stage(zone("nape", window=window(5, 10, 20)))), place="chair")


@pytest.mark.parametrize(("minutes_ago", "at"), [(79, "09:01"), (80, "10:00")])
def test_a_limit_is_looked_for_up_to_an_hour_back(minutes_ago: float, at: str) -> None:
    """On for 79 minutes it was passed 59 minutes ago, and the look takes one more."""
    assert f"at {at}" in found(day(on(minutes_ago, TIGHT))).sentence()


def test_where_nothing_helps_the_head_whose_limit_is_longest_past_is_named() -> None:
    assert found(day(on(60, TIGHT), on(100, TIGHT, 2))).chairs == (2,)


@pytest.mark.parametrize(("counts_from", "at"), [("own", "09:58"), ("shared", "09:55")])
def test_the_limit_is_that_of_the_zones_own_clock_or_of_the_common_one(
    counts_from: str, at: str
) -> None:
    """Nape on since 9:38; the crown since 9:35 and rinsed. Limits of twenty minutes."""
    tight = window(5, 10, 20)
    two = stage(zone("nape", window=tight), zone("crown", window=tight), counts_from=counts_from)
    head = on(22, replace(recipe(two), place="chair"), crown=25)
    head = replace(head, facts=replace(head.facts, off=("crown",)))
    assert found(day(head)).sentence().startswith(f"Chair one needs hands at {at}.")


def test_of_two_zones_the_first_limit_counts() -> None:
    tight = window(5, 10, 20)
    two = stage(zone("nape", window=tight), zone("crown", window=tight))
    assert (
        found(day(on(22, replace(recipe(two), place="chair"), crown=25)))
        .sentence()
        .startswith("Chair one needs hands at 09:55.")
    )


def test_a_zone_of_the_same_name_in_a_later_stage_has_no_limit_yet() -> None:
    twice = stage(zone("nape", window=window(5, 10, 20)))
    toned = replace(recipe(twice, twice), place="chair")
    assert found(day(on(25, toned))).at == MORNING - 5
    other = on(2, toned, 2)  # its second nape would be rinsed long after 10:18
    both = found(day(on(25, TIGHT), other))
    assert (both.at, both.chairs[-1]) == (MORNING - 5, 1)


def test_what_is_off_is_past_no_limit() -> None:
    two = stage(*(zone(name, window=window(5, 10, 20)) for name in ("nape", "crown")))
    rinsed = on(61, replace(recipe(two), place="chair"), crown=130)
    rinsed = replace(rinsed, facts=replace(rinsed.facts, off=("crown",)))
    assert found(day(rinsed, on(100, TIGHT, 2))).chairs == (2,)
