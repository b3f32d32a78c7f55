"""One head's times worked out by hand: passes, rinses, what is rinsed between, start ranges."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from assistant.core import clocks, plan_head
from assistant.core.clocks import MINUTE, Waiting
from assistant.core.recipe import Stage, Zone
from tests.core.recipes import recipe, stage, window, zone


def minutes(seconds: Sequence[float]) -> list[float]:
    return [each / MINUTE for each in seconds]


def told(stage_: Stage, on: dict[str, float], begins: float = 0.0) -> list[object]:
    """The order of work with `on` and `begins` in minutes; zones by name."""
    known = {name: at * MINUTE for name, at in on.items()}
    work = plan_head.order_of_work(stage_, stage_.zones, known, begins * MINUTE)
    return [one.name if isinstance(one, Zone) else one for one in work]


def test_each_stage_begins_when_the_rinse_before_it_is_done() -> None:
    """A pass of 4, target 10 after it, a rinse of 5: 19 minutes a stage."""
    plans = plan_head.service_plan(recipe(*(stage(zone(n)) for n in ("nape", "ends", "fringe"))))
    assert minutes([plan.zones[0].begins for plan in plans]) == [0, 19, 38]
    assert minutes([plan.zones[0].clock.started_at for plan in plans]) == [4, 23, 42]
    assert minutes([plan.rinse_at[0] for plan in plans]) == [14, 33, 52]
    assert minutes([plan.ends for plan in plans]) == [19, 38, 57]


def test_a_stage_whose_zones_are_all_left_out_takes_no_time_and_no_rinse() -> None:
    book = recipe(stage(zone("nape")), stage(zone("ends", optional=True)), stage(zone("fringe")))
    plans = plan_head.service_plan(book, ["ends"])
    assert [[each.zone.name for each in plan.zones] for plan in plans] == [["nape"], ["fringe"]]
    assert minutes([plan.ends for plan in plans]) == [19, 38]
    assert all(plan.fits for plan in plans)


def test_a_rinse_waits_for_the_one_before_it() -> None:
    """On at 4, 8 and 12. Targets 24, 25 and 34: the second waits for a basin until 29."""
    first, then = window(5, 20, 20), window(17, 17, 40)
    three = stage(
        zone("nape", window=first),
        zone("crown", window=then),
        zone("ends", window=window(38, 38, 40)),
    )
    (plan,) = plan_head.service_plan(recipe(three))
    assert [rinse.zones for rinse in plan.rinses] == [("nape",), ("crown",), ("ends",)]
    assert minutes(plan.rinse_at) == [24, 29, 50]
    assert plan.ends == 55 * MINUTE
    soon = stage(
        three.zones[0],
        zone("crown", window=window(17, 17, 20)),
        zone("ends", window=window(18, 18, 40)),
    )
    (plan,) = plan_head.service_plan(recipe(soon))
    assert minutes(plan.rinse_at) == [24, 29, 34]  # the third's target is 30


def test_passes_follow_one_another_and_a_shared_total_counts_from_the_first() -> None:
    three = stage(zone("nape"), zone("crown"), zone("sides"), counts_from="shared")
    found = plan_head.passes(three, three.zones)
    assert minutes([each.begins for each in found]) == [0, 4, 8]
    assert minutes([each.clock.limit_at for each in found]) == [24, 24, 24]


def test_a_zone_that_would_wait_and_has_nobody_to_wait_for_begins_at_once() -> None:
    alone = stage(zone("ends", wait_for_start=True))
    assert plan_head.passes(alone, alone.zones)[0].begins == 0


# ------------------------------------------------------------ what is rinsed between


def test_a_zone_that_is_on_is_not_put_on_again() -> None:
    two = stage(zone("nape"), zone("crown"))
    assert told(two, {"nape": 0}, begins=3) == ["crown", ("nape", "crown")]


def test_of_zones_rinsed_already_nothing_is_to_be_rinsed() -> None:
    """The planner names the zones still to be done; what is on besides is off."""
    two = stage(zone("nape"), zone("crown"))
    known = {"nape": 0.0, "crown": 0.0}
    work = plan_head.order_of_work(two, [two.zone("crown")], known, 180.0)
    assert work == [("crown",)]


def test_a_limit_at_the_very_end_of_a_pass_is_still_kept_after_it() -> None:
    """The back is on at 5 and its limit is 15; so long does the side take."""
    short = window(5, 8, 10)
    for takes, order in (
        (10, ["back", "side", ("back",), ("side",)]),
        (10.1, ["back", ("back",), "side", ("side",)]),
    ):
        two = stage(
            zone("back", window=short, apply_minutes=5),
            zone("side", window=short, apply_minutes=takes),
        )
        assert told(two, {}) == order


def test_zones_of_a_shared_total_are_rinsed_together_though_put_on_apart() -> None:
    """Both count from the nape at 0: check 15, limit 20, before the long pass is done."""
    tight = window(15, 18, 20)
    three = stage(
        zone("nape", window=tight),
        zone("crown", window=tight),
        zone("sides", window=tight, apply_minutes=25),
        counts_from="shared",
    )
    assert told(three, {"nape": 0, "crown": 10}, begins=12)[0] == ("nape", "crown")


# ------------------------------------------------------------ start ranges


@pytest.mark.parametrize(("takes", "missed"), [(4, False), (5, False), (6, True)])
def test_a_start_is_missed_if_it_would_be_too_early_and_too_late(
    takes: float, missed: bool
) -> None:
    """Nape on at 0 may be rinsed from 25 to 30. The ends (2 to put on, limit 5) may not begin
    before 25 - 5 - 2 = 18; the fringe after them (first check 5) wants 30 - 2 - takes - 5."""
    held = stage(zone("nape", window=window(25, 28, 30)))
    nape = clocks.clock(held, "nape", 0, 0)
    ends = Waiting("ends", 2, window(1, 3, 5))
    fringe = Waiting("fringe", takes, window(5, 8, 20))
    found = plan_head.start_range(held, [nape], [ends, fringe])
    assert (found.zone, found.earliest) == ("ends", 18 * MINUTE)
    assert found.latest == (23 - takes) * MINUTE
    assert found.missed is missed


def test_where_nothing_bounds_a_start_none_is_missed() -> None:
    held = stage(zone("nape"), counts_from="shared")
    ends = Waiting("ends", 2, window(1, 3, 5))
    assert not plan_head.start_range(held, [], [ends]).missed
    nape = clocks.clock(held, "nape", 0, 0)
    assert not plan_head.start_range(held, [nape], [ends]).missed
