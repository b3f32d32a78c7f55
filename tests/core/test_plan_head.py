"""One head on its own: fewest rinses, start ranges, orders of zones, seen with the live clocks."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core import clocks, due, plan_head
from assistant.core.clocks import MINUTE, Waiting, ZoneClock
from assistant.core.plan_order import best_order
from assistant.core.recipe import problems
from tests.core.days import shipped
from tests.core.recipes import bowl, recipe, stage, window, zone
from tests.core.service import Service

minutes = st.integers(1, 60)


@st.composite
def some_clocks(draw: st.DrawFn) -> list[ZoneClock]:
    found = []
    for index in range(draw(st.integers(1, 6))):
        check, more, last = draw(minutes), draw(st.integers(0, 20)), draw(st.integers(0, 20))
        at = draw(st.integers(0, 40)) * MINUTE
        made = window(check, check + more, check + more + last)
        found.append(ZoneClock(f"zone {index}", at, at, made))
    return found


@settings(max_examples=150, deadline=None)
@given(some_clocks())
def test_rinses_are_the_fewest_and_inside_every_window(found: list[ZoneClock]) -> None:
    """Against brute force: no smaller set of moments hits every zone's window."""
    groups = clocks.rinses(found)
    by_name = {c.zone: c for c in found}
    assert sorted(z for g in groups for z in g.zones) == sorted(by_name)
    for group in groups:
        assert group.window.fits
        for name in group.zones:
            assert by_name[name].check_from_at <= group.window.opens
            assert group.window.closes <= by_name[name].limit_at
    moments = sorted({c.limit_at for c in found})
    fewer = itertools.combinations(moments, len(groups) - 1)
    assert not any(
        all(any(c.check_from_at <= at <= c.limit_at for at in at_once) for c in found)
        for at_once in fewer
    )


def test_one_rinse_means_the_common_window() -> None:
    one = ZoneClock("nape", 0, 0, window(5, 10, 20))
    two = ZoneClock("crown", 600, 600, window(5, 10, 20))
    (only,) = clocks.rinses([one, two])
    assert only.window == clocks.rinse_window([one, two])


# ---------------------------------------------------------------- start ranges

TWO_BOWLS = stage(
    zone("nape", window=window(12, 20, 25)),
    zone("ends", "toner bowl", window=window(5, 10, 20), wait_for_start=True, apply_minutes=2),
    bowls=(bowl(), bowl("toner bowl")),
)


@settings(max_examples=100, deadline=None)
@given(on=st.integers(0, 30), apply=st.integers(1, 6), begins=st.integers(-10, 60))
def test_inside_the_range_one_rinse_fits_and_outside_it_does_not(
    on: int, apply: int, begins: int
) -> None:
    nape = clocks.clock(TWO_BOWLS, "nape", on * MINUTE, on * MINUTE)
    still = Waiting("ends", apply, TWO_BOWLS.zone("ends").window)
    found = plan_head.start_range(TWO_BOWLS, [nape], [still])
    assert found.earliest is not None
    assert found.latest is not None
    at = (on + begins) * MINUTE
    ends = clocks.clock(TWO_BOWLS, "ends", at + apply * MINUTE, nape.started_at)
    fits = clocks.rinse_window([nape, ends]).fits
    assert fits == (found.earliest <= at <= found.latest)


def test_best_start_lets_targets_meet() -> None:
    nape = clocks.clock(TWO_BOWLS, "nape", 0, 0)
    still = Waiting("ends", 2, TWO_BOWLS.zone("ends").window)
    best = plan_head.start_range(TWO_BOWLS, [nape], [still]).best
    assert best is not None
    ends = clocks.clock(TWO_BOWLS, "ends", best + 2 * MINUTE, 0)
    assert ends.target_at == nape.target_at == 20 * MINUTE


def test_under_a_shared_total_the_recipe_says_how_long_after() -> None:
    """CV19's layout: root on 20 minutes after the lengths, total 35: the root gets 15."""
    made = stage(
        zone("lengths", window=window(30, 35, 45)),
        zone("roots", window=window(30, 35, 45), wait_for_start=True, start_after_minutes=20),
        counts_from="shared",
    )
    lengths, roots = plan_head.passes(made, made.zones)
    assert roots.clock.started_at - lengths.clock.started_at == 20 * MINUTE
    assert roots.clock.target_at - roots.clock.started_at == 15 * MINUTE
    assert not problems(recipe(made))


def test_the_minutes_after_need_a_shared_total() -> None:
    wrong = stage(zone("roots", wait_for_start=True, start_after_minutes=20))
    assert [p.what for p in problems(recipe(wrong))] == [
        "start_after_minutes goes with wait_for_start under a shared total, and only there"
    ]


def test_the_live_head_asks_for_the_roots_at_that_minute() -> None:
    made = stage(
        zone("lengths", window=window(30, 35, 45)),
        zone("roots", window=window(30, 35, 45), wait_for_start=True, start_after_minutes=20),
        counts_from="shared",
    )
    service = Service(recipe(made)).at("00:05")
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    service.at("02:00").hear("lengths is on")
    starts = [a for a in due.alarms(service.head()) if a.kind == "start"]
    assert [a.at for a in starts] == [(2 + 20 - 4) * MINUTE]
    service.at("03:00")
    assert service.hear("when do the roots go on") == [
        "Roots: best in fifteen minutes, one five, at the latest in forty minutes."
    ]


# ---------------------------------------------------------------- whole services


@pytest.mark.parametrize("name", sorted(shipped()))
def test_a_shipped_recipe_fits_one_rinse_per_stage_at_its_own_pace(name: str) -> None:
    for plan in plan_head.service_plan(shipped()[name]):
        assert plan.fits
        (at,) = plan.rinse_at
        for z in plan.zones:
            assert z.clock.check_from_at <= at <= z.clock.limit_at


@pytest.mark.parametrize("name", sorted(shipped()))
def test_slack_is_the_pace_at_which_it_stops_fitting(name: str) -> None:
    """A stage whose zones all go on at once fits exactly as long as its slack says."""
    first = plan_head.service_plan(shipped()[name])[0]
    if any(z.zone.wait_for_start for z in first.zones) or first.stage.counts_from == "shared":
        late = plan_head.service_plan(shipped()[name], pace=6)[0]
        assert late.slack_minutes < first.slack_minutes
        return
    opener = first.rinses[0].window.opened_by
    closer = first.rinses[0].window.closed_by
    names = [z.zone.name for z in first.zones]
    between = first.zones[names.index(closer) + 1 : names.index(opener) + 1]
    slower = 1 + first.slack_minutes / sum(z.zone.apply_minutes for z in between)
    assert not plan_head.service_plan(shipped()[name], pace=slower * 1.3)[0].fits
    assert plan_head.service_plan(shipped()[name], pace=1 + (slower - 1) * 0.5)[0].fits


def test_passes_that_outlast_the_first_limit_are_rinsed_between() -> None:
    slow = stage(
        zone("back", window=window(5, 8, 10), apply_minutes=5),
        zone("side", window=window(5, 8, 10), apply_minutes=8),
        zone("front", window=window(5, 8, 10), apply_minutes=8),
    )
    work = plan_head.order_of_work(slow, slow.zones, {}, 0.0)
    told = [one if isinstance(one, tuple) else one.name for one in work]
    assert told == ["back", "side", ("back",), "front", ("side",), ("front",)]


# ---------------------------------------------------------------- the best order


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 6), st.integers(10, 40)), min_size=2, max_size=5))
def test_longest_target_first_ends_soonest(zones: list[tuple[int, int]]) -> None:
    """Jackson's rule (1955), longest tail first, against every order there is."""
    made = stage(
        *(
            zone(f"zone {i}", apply_minutes=takes, window=window(5, target, 60))
            for i, (takes, target) in enumerate(zones)
        )
    )
    proposed = best_order(made).zones

    def last_target(order: tuple[str, ...]) -> float:
        planned = plan_head.passes(made, [made.zone(name) for name in order])
        return max(p.clock.target_at for p in planned)

    best = min(last_target(order) for order in itertools.permutations(proposed))
    assert last_target(proposed) == best


def test_a_resistant_hairline_goes_first_and_says_why() -> None:
    made = stage(zone("nape"), zone("hairline"), counts_from="shared")
    order = best_order(made)
    assert order.zones == ("hairline", "nape")
    assert order.sentences() == (
        "A better order may be hairline and nape.",
        "Hairline resists, so it gets the most time.",
    )


def test_lightener_near_the_scalp_goes_last() -> None:
    """Open textbook (BCcampus 2021, section 4.5): start off the scalp, the scalp follows."""
    strong = replace(bowl("lightener bowl"), product="powder lightener")
    made = stage(
        zone("roots", "lightener bowl", depth_cm=1.3),
        zone("lengths", "lightener bowl", depth_cm=0),
        counts_from="shared",
        bowls=(strong,),
    )
    order = best_order(made)
    assert order.zones == ("lengths", "roots")
    assert "Roots is warm at the scalp and lifts fast, so it is last." in order.reasons


def test_zones_that_wait_keep_their_place_and_shipped_orders_stand() -> None:
    assert best_order(TWO_BOWLS).zones == ("nape", "ends")
    assert not any(best_order(s).changed for r in shipped().values() for s in r.stages)
