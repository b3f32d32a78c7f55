"""May a chair be started now? Asked while others are in the middle of something."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.plan_day import UnderWay
from assistant.core.plan_live import day_of
from assistant.core.recipe import Recipe
from assistant.core.rule import SalonRule
from tests.core.recipes import TWO_ZONES, recipe, stage, window, zone
from tests.core.service import Service

DRY = replace(TWO_ZONES, place="chair")
YES = ["Yes. Begin chair two, every rinse still fits."]


def opened(service: Service, chair: str, *lines: str) -> Service:
    service.hear(f"{chair} start test tap")
    service.gate(chair)
    for line in ("root bowl is mixed", *lines):
        service.hear(f"{chair} {line}")
    return service


def asked(service: Service, at: str) -> list[str]:
    """Whether chair two may be started."""
    return opened(service, "chair two").at(at).hear("can i start chair two now")


def later(minutes: str) -> list[str]:
    return [f"Chair one needs you first. Begin chair two in {minutes}."]


def test_of_a_pass_under_way_only_the_rest_is_waited_for() -> None:
    service = opened(Service(DRY), "chair one", "nape is on").at("02:00")
    service.hear("chair one starting crown")
    assert asked(service, "05:00") == later("one minute")


def test_a_pass_that_takes_longer_than_planned_is_named_and_over_at_once() -> None:
    service = opened(Service(DRY), "chair one", "nape is on").at("01:00")
    service.hear("chair one starting crown")
    assert asked(service, "08:00") == YES


def test_a_zone_rinsed_long_ago_does_not_hide_the_one_that_is_on() -> None:
    """The crown's limit is 20:00; at 18:30 it is looked at and rinsed before anything else."""
    service = opened(Service(DRY), "chair one", "nape is on", "crown is on").at("06:00")
    service.hear("chair one rinsing nape")
    service.at("08:00").hear("chair one nape is rinsed")
    assert asked(service, "18:30") == later("six minutes")


def test_a_client_who_waits_with_the_bowl_mixed_is_not_late() -> None:
    """Chair one has been open for an hour and forty minutes; nothing is on yet."""
    assert asked(opened(Service(DRY), "chair one"), "100:00") == later("eight minutes")


def test_a_client_who_waits_with_the_bowl_mixed_gives_way_to_a_rinse() -> None:
    """Chair three is rinsed till 101:00; then chair one is put on, eight minutes."""
    service = opened(Service(DRY), "chair one").at("80:00")
    opened(service, "chair three", "nape is on", "crown is on").at("96:00")
    service.hear("chair three rinsing now")
    assert asked(service, "98:00") == [
        "Chair three needs you first. Begin chair two in eleven minutes, one one."
    ]


def test_a_service_that_was_ended_is_in_nobodys_way() -> None:
    service = opened(Service(TWO_ZONES), "chair one")
    service.hear("chair one end this service")
    service.hear("confirm chair one")
    assert asked(service, "01:00") == YES


def test_a_basin_that_is_kept_for_long_is_waited_for() -> None:
    """The only basin is taken from the pass until the rinse, first possible at 40:00."""
    long = recipe(stage(zone("nape", window=window(40, 45, 50))))
    service = opened(Service(long), "chair one", "nape is on")
    assert asked(service, "01:00") == later("forty five minutes, four five")


def test_a_pass_that_fits_between_look_and_target_goes_before_the_rinse() -> None:
    """Looked at from 5:00 to 6:00, due at 15:00: a pass of eight fits between."""
    slow = recipe(stage(zone("nape", apply_minutes=8, window=window(5, 15, 20))))
    service = opened(Service(replace(slow, place="chair")), "chair one", "nape is on")
    assert asked(service, "01:00") == later("five minutes")


# ------------------------------------------------------------ the heads as a day


@pytest.mark.parametrize(
    ("book", "on", "basins"), [(TWO_ZONES, True, 2), (TWO_ZONES, False, 1), (DRY, True, 1)]
)
def test_heads_that_keep_a_basin_have_one_whatever_the_rule_says(
    book: Recipe, on: bool, basins: int
) -> None:
    service = Service(book)
    for chair in ("chair one", "chair two"):
        opened(service, chair, *(["nape is on"] if on else []))
    heads = list(service.salon.heads.values())
    assert day_of(heads, 60.0, SalonRule(basins=1)).basins == basins


def test_a_rinse_of_two_zones_is_under_way_since_the_first() -> None:
    service = opened(Service(DRY), "chair one", "nape is on", "crown is on").at("06:00")
    service.hear("rinsing nape")
    service.at("07:00").hear("rinsing crown")
    (booking,) = day_of([service.head()], 480.0, SalonRule()).bookings
    assert booking.facts.under_way == UnderWay("rinse", "nape, crown", 6)
    service.hear("nape is rinsed")
    (booking,) = day_of([service.head()], 480.0, SalonRule()).bookings
    assert booking.facts.under_way == UnderWay("rinse", "crown", 7)
