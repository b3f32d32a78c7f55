"""Which order of zones is proposed, in words with its reasons."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.plan_order import best_order
from assistant.core.recipe import Stage, Zone
from tests.core.recipes import bowl, stage, window, zone

STANDS = ("The order of the recipe stands.",)


def timed(name: str, target: float, **fields: object) -> Zone:
    return zone(name, window=window(5, target, 60), **fields)


def lightening(*zones: Zone, counts_from: str = "shared") -> Stage:
    strong = replace(bowl(), product="Powder Lightener")
    return stage(*zones, counts_from=counts_from, bowls=(strong,))


def test_the_longest_target_goes_first_where_each_zone_has_its_own_clock() -> None:
    """Passes of four: targets at 14 and 38 in the recipe's order, 34 and 18 in the other."""
    order = best_order(stage(timed("nape", 10), timed("crown", 30)))
    assert order.sentences() == (
        "A better order may be crown and nape.",
        "Crown needs longest, thirty minutes, so it goes first.",
        "The targets then lie eight minutes closer together.",
    )
    assert (order.apart_before, order.apart_minutes) == (24, 16)


def test_under_a_shared_total_the_targets_decide_nothing() -> None:
    shared = stage(timed("nape", 10), timed("crown", 30), counts_from="shared")
    assert best_order(shared).sentences() == STANDS
    assert best_order(stage(timed("nape", 30), timed("crown", 10))).sentences() == STANDS


def test_a_resistant_zone_goes_first_though_the_targets_then_lie_further_apart() -> None:
    order = best_order(stage(timed("nape", 30), timed("hairline", 10)))
    assert order.apart_minutes > order.apart_before
    assert order.sentences() == (
        "A better order may be hairline and nape.",
        "Hairline resists, so it gets the most time.",
    )


@pytest.mark.parametrize(
    ("depth_cm", "warm"), [(0.0, False), (0.5, True), (1.9, True), (2.0, False)]
)
def test_lightener_within_three_quarters_of_an_inch_of_the_scalp_goes_last(
    depth_cm: float, warm: bool
) -> None:
    zones = (zone("roots", depth_cm=depth_cm), zone("lengths", depth_cm=0.0))
    assert best_order(lightening(*zones)).changed is warm
    assert not best_order(stage(*zones, counts_from="shared")).changed  # colour is no lightener


def test_where_every_zone_is_warm_none_is_last_for_that() -> None:
    order = best_order(lightening(timed("nape", 10), timed("crown", 30), counts_from="own"))
    assert order.zones == ("crown", "nape")
    assert not any("warm" in reason for reason in order.reasons)
