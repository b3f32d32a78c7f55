"""The tasks of one head and how far apart they must and may be, worked out by hand.

A step is half a minute; times are minutes after ten o'clock. Every zone of these recipes is put
on in four minutes, looked at from five after that, due at ten, off by twenty, if nothing else is
said.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.plan_day import Booking, Day, Facts, House, UnderWay
from assistant.core.plan_tasks import Aim, Chain, Key, Lag, Task, chains
from assistant.core.recipe import Stage
from tests.core.days import CREW, MORNING
from tests.core.recipes import bowl, recipe, stage, window, zone

BARE = House(prepare_minutes=0, finish_minutes=0)
NAPE, TWO = stage(zone("nape")), stage(zone("nape"), zone("crown"))
SHARED = replace(TWO, counts_from="shared")


def chain(*stages: Stage, house: House = BARE, place: str = "chair", **booking: object) -> Chain:
    """One head that came at ten, and it is ten."""
    book = replace(recipe(*stages), place=place)
    head = replace(Booking(1, book, MORNING), **booking)  # type: ignore[arg-type]
    return chains(Day((head,), CREW, 1, MORNING, house))[0]


def since(**minutes_ago: float) -> dict[str, float]:
    return {name: MORNING - ago for name, ago in minutes_ago.items()}


def names(found: Chain) -> list[tuple[int, str, str]]:
    return [task.key[1:] for task in found.tasks]


def the(found: Chain, kind: str, stage_: int = 0, nth: int = 0) -> Task:
    return [t for t in found.tasks if (t.key.kind, t.key.stage) == (kind, stage_)][nth]


def steps(minutes: float) -> int:
    """Of a time after ten."""
    return round((MORNING + minutes) * 2)


def lags(task: Task) -> list[tuple[str, str, float | None, float | None]]:
    """After what, at least and at most how many minutes; without "after the one before it"."""

    def minutes(count: int | None) -> float | None:
        return None if count is None else count / 2

    known = [(g.after.kind, g.after.subject, minutes(g.least), minutes(g.most)) for g in task.lags]
    return [lag for lag in known if lag[2:] != (0, None)]


# ------------------------------------------------------------ which tasks


def test_a_head_is_prepared_put_on_looked_at_rinsed_stage_by_stage_and_finished() -> None:
    found = chain(TWO, NAPE, house=House(prepare_minutes=1, finish_minutes=1))
    assert names(found) == [
        (0, "prepare", ""),
        (0, "apply", "nape"),
        (0, "apply", "crown"),
        (0, "check", "nape, crown"),
        (0, "rinse", "nape, crown"),
        (1, "apply", "nape"),
        (1, "check", "nape"),
        (1, "rinse", "nape"),
        (1, "finish", ""),
    ]
    assert [t.lags[-1] for t in found.tasks[1:]] == [Lag(t.key, least=0) for t in found.tasks[:-1]]


def test_what_is_off_is_not_done_again_and_only_in_its_own_stage() -> None:
    facts = Facts(on=since(nape=15, crown=10), off=("nape",), prepared=True)
    found = chain(TWO, TWO, facts=facts)
    assert names(found)[:2] == [(0, "check", "crown"), (0, "rinse", "crown")]
    assert (1, "apply", "nape") in names(found)


def test_a_rinse_under_way_is_that_of_the_present_stage() -> None:
    way = UnderWay("rinse", "nape", MORNING - 2)
    found = chain(NAPE, NAPE, facts=Facts(on=since(nape=15), prepared=True, under_way=way))
    assert names(found) == [
        (0, "rinse", "nape"),
        (1, "apply", "nape"),
        (1, "check", "nape"),
        (1, "rinse", "nape"),
    ]
    assert (found.tasks[0].fixed_at, found.tasks[0].steps) == (steps(-2), 10)


def test_of_two_zones_a_rinse_under_way_may_be_of_one() -> None:
    way = UnderWay("rinse", "nape", MORNING - 2)
    facts = Facts(on=since(nape=15, crown=15), prepared=True, under_way=way)
    assert names(chain(TWO, facts=facts)) == [
        (0, "rinse", "nape"),
        (0, "check", "crown"),
        (0, "rinse", "crown"),
    ]


def test_a_look_under_way_at_some_of_the_zones_is_the_look_that_is_next() -> None:
    way = UnderWay("check", "nape", MORNING - 1)
    facts = Facts(on=since(nape=10, crown=6), prepared=True, under_way=way)
    found = chain(TWO, facts=facts)
    assert [(t.key.kind, t.fixed_at) for t in found.tasks] == [
        ("check", steps(-1)),
        ("rinse", None),
    ]


@pytest.mark.parametrize(
    ("looked", "kinds"), [(("nape",), ["check", "rinse"]), (("nape", "crown"), ["rinse"])]
)
def test_zones_rinsed_together_are_looked_at_until_each_was(
    looked: tuple[str, ...], kinds: list[str]
) -> None:
    facts = Facts(on=since(nape=10, crown=6), looked=looked, prepared=True)
    assert [t.key.kind for t in chain(TWO, facts=facts).tasks] == kinds


def test_a_zone_whose_limit_comes_before_the_next_pass_is_done_is_rinsed_first() -> None:
    slow = stage(zone("nape"), zone("crown", apply_minutes=10))
    found = chain(slow, facts=Facts(on=since(nape=15), prepared=True))
    assert [t.key.kind for t in found.tasks] == ["check", "rinse", "apply", "check", "rinse"]
    soon = chain(slow, facts=Facts(on=since(nape=8), prepared=True))
    assert [t.key.kind for t in soon.tasks] == ["apply", "check", "rinse", "check", "rinse"]


# ------------------------------------------------------------ who, how long, from when


def test_a_task_takes_at_least_a_step() -> None:
    for minutes, least in ((0, 1), (0.5, 1), (1, 2)):
        assert the(chain(NAPE, house=replace(BARE, check_minutes=minutes)), "check").steps == least


def test_a_slow_hand_is_planned_with() -> None:
    found = chain(TWO, facts=Facts(on=since(nape=1), prepared=True, pace=1.5))
    assert the(found, "apply").steps == 12


def test_who_was_asked_for_prepares_and_puts_on_and_anybody_rinses() -> None:
    """Of Ines, Tom and Rosa all may rinse; Tom, who may least else, comes first."""
    found = chain(NAPE, house=House(), by="Rosa")
    assert [t.people for t in found.tasks] == [(2,), (2,), (1, 0, 2), (1, 0, 2), (1, 0, 2)]


def test_a_client_waits_as_long_as_the_house_lets_them_and_none_who_was_begun() -> None:
    first = chain(NAPE).tasks[0]
    assert (first.earliest, first.latest, first.patience) == (steps(0), steps(30), True)
    begun = chain(NAPE, facts=Facts(prepared=True)).tasks[0]
    assert (begun.latest, begun.patience) == (None, False)
    assert chain(facts=Facts(stage=1)).tasks == ()  # nothing is left to do


def test_a_basin_is_held_from_now_by_whoever_has_begun_at_it() -> None:
    preparing = Facts(under_way=UnderWay("prepare", "", MORNING - 1))
    passing = Facts(prepared=True, under_way=UnderWay("apply", "nape", MORNING - 1))
    on = Facts(on=since(nape=5), prepared=True)
    house = House()
    for facts, held in ((Facts(), None), (preparing, None), (passing, steps(0)), (on, steps(0))):
        assert chain(NAPE, house=house, place="basin", facts=facts).holds_from == held
    assert chain(NAPE, house=house, facts=on).holds_from is None  # in the chair


def test_a_basin_is_kept_to_the_last_rinse() -> None:
    found = chain(TWO, NAPE, place="basin")
    assert found.tasks[found.last_rinse].key == Key(0, 1, "rinse", "nape")


# ------------------------------------------------------------ how far apart


def test_the_first_pass_follows_the_preparing_and_a_toner_its_rinse() -> None:
    found = chain(NAPE, NAPE, house=House())
    assert lags(the(found, "apply")) == [("prepare", "", 0, 10)]
    assert lags(the(found, "apply", 1)) == [("rinse", "nape", 0, 15)]


def test_each_zone_counts_from_its_own_pass_or_all_from_the_first() -> None:
    own, shared = chain(TWO), chain(SHARED)
    looks = [("apply", "nape", 5, None), ("apply", "crown", 5, None)]
    assert lags(the(own, "check")) == looks
    assert lags(the(own, "rinse")) == [(kind, name, None, 20) for kind, name, *_ in looks]
    assert the(own, "rinse").aims == tuple(
        Aim(Key(0, 0, "apply", n), 20) for n in ("nape", "crown")
    )
    assert lags(the(shared, "check")) == looks[:1] * 2
    assert lags(the(shared, "rinse")) == [("apply", "nape", None, 20)] * 2


def test_of_zones_that_are_on_the_last_check_and_the_first_limit_count() -> None:
    for on in (since(nape=8, crown=2), since(crown=2, nape=8)):
        found = chain(TWO, facts=Facts(on=on, prepared=True))
        assert the(found, "check").earliest == steps(3)
        assert the(found, "rinse").latest == steps(12)
    turned = chain(TWO, facts=Facts(on=since(nape=2, crown=8), prepared=True))
    assert the(turned, "rinse").latest == steps(12)
    shared = chain(SHARED, facts=Facts(on=since(nape=2, crown=8), prepared=True))
    assert the(shared, "check").earliest == steps(0)  # five after 9:52 has passed
    assert the(shared, "rinse").latest == steps(12)
    assert the(shared, "rinse").aims == (Aim(None, steps(2)), Aim(None, steps(2)))


WAITS = (zone("nape", window=window(12, 20, 25)), zone("ends", wait_for_start=True))
TOTAL = (zone("nape"), zone("ends", wait_for_start=True, start_after_minutes=8))


def test_a_zone_that_waits_wishes_to_begin_so_that_the_targets_meet() -> None:
    """Own clocks: 20 - 10 - 4 after the nape is on. One total: on 8 after it, so begun 4 after."""
    for zones, counts, after in ((WAITS, "own", 6), (TOTAL, "shared", 4)):
        made = stage(*zones, counts_from=counts)
        assert the(chain(made), "apply", nth=1).wish == Aim(Key(0, 0, "apply", "nape"), after * 2)
        on = chain(made, facts=Facts(on=since(nape=1), prepared=True))
        assert the(on, "apply").wish == Aim(None, steps(after - 1))


def test_a_zone_that_waits_and_is_the_first_wishes_nothing() -> None:
    first = zone("ends", wait_for_start=True, start_after_minutes=8)
    assert the(chain(stage(first, counts_from="shared")), "apply").wish is None


def test_a_slow_hand_begins_the_zone_that_waits_earlier() -> None:
    """The ends take six minutes instead of four."""
    for zones, counts, after in ((WAITS, "own", 4), (TOTAL, "shared", 2)):
        facts = Facts(on=since(nape=1), prepared=True, pace=1.5)
        found = chain(stage(*zones, counts_from=counts), facts=facts)
        assert the(found, "apply").wish == Aim(None, steps(after - 1))


def test_what_was_looked_at_is_not_rinsed_before_its_first_check() -> None:
    found = chain(NAPE, facts=Facts(on=since(nape=2), looked=("nape",), prepared=True))
    assert [(t.key.kind, t.earliest) for t in found.tasks] == [("rinse", steps(3))]


@pytest.mark.parametrize(
    ("use_within", "within"),
    [
        (30, 22),  # passes of 4, 4 and 4: the last begins 22 after the first is done, ends at 30
        (12, 4),  # one right after the other
        (11.5, None),  # no hand is so fast: its age is called out live
    ],
)
def test_the_last_pass_of_a_bowl_ends_while_the_bowl_is_good(
    use_within: float, within: float | None
) -> None:
    three = (zone("nape"), zone("crown"), zone("ends"))
    found = chain(stage(*three, bowls=(bowl(use_within=use_within),)))
    expected = [] if within is None else [("apply", "nape", None, within)]
    assert lags(the(found, "apply", nth=2)) == expected
    assert lags(the(found, "apply", nth=1)) == []


def test_a_bowl_that_some_zone_has_already_was_mixed_before() -> None:
    three = stage(zone("nape"), zone("crown"), zone("ends"), bowls=(bowl(use_within=30),))
    found = chain(three, facts=Facts(on=since(nape=1), prepared=True))
    assert lags(the(found, "apply", nth=1)) == []
    two_bowls = (bowl("toner bowl"), bowl(use_within=30))
    mixed = stage(zone("nape", "toner bowl"), zone("crown"), zone("ends"), bowls=two_bowls)
    assert lags(the(chain(mixed), "apply", nth=2)) == [("apply", "crown", None, 22)]
    other = chain(mixed, facts=Facts(on=since(nape=1), prepared=True))
    assert lags(the(other, "apply", nth=1)) == [("apply", "crown", None, 22)]
