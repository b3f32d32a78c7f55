"""Sums and plans asked for by voice: a bowl, a start, the toner. Answers change nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core import due
from tests.core.recipes import TWO_ZONES, bowl, recipe, stage, window, zone
from tests.core.service import Service

LATE_ENDS = recipe(
    stage(
        zone("nape", window=window(12, 20, 25)),
        zone("ends", "toner bowl", window=window(5, 10, 20), wait_for_start=True),
        bowls=(bowl(), bowl("toner bowl")),
    )
)


def started(made=TWO_ZONES) -> Service:
    service = Service(made).at("00:05")
    service.hear(f"start {made.name}")
    service.gate()
    service.at("02:00").hear("root bowl is mixed")
    return service


DRY = replace(TWO_ZONES, place="chair")


def two_chairs(made=DRY) -> Service:
    """Chair one has both zones on at the same time; chair two is open with its bowl mixed."""
    service = started(made).at("04:00")
    service.hear("nape is on")
    service.hear("crown is on")
    service.hear("chair two start test tap")
    service.gate("chair two")
    service.hear("chair two root bowl is mixed")
    return service


def test_a_bowl_is_weighed_and_its_numbers_read_back() -> None:
    service = Service(TWO_ZONES).at("00:05")
    assert service.hear("mix forty grams at one to two") == [
        "Forty, four zero grams at one to two: thirteen grams colour, twenty six grams developer."
    ]
    assert service.hear("mix five zero grams at one to one and a half") == [
        "Fifty, five zero grams at one to one point five: "
        "twenty grams colour, thirty grams developer."
    ]


@pytest.mark.parametrize("said", ["mix grams at one to two", "mix forty grams at one to nine"])
def test_half_of_it_is_not_understood(said: str) -> None:
    assert Service(TWO_ZONES).at("00:05").hear(said) == ["Sorry, once more?"]


@pytest.mark.parametrize("grams", ["one", "two", "three"])
def test_a_bowl_too_small_for_the_scale_is_asked_again_not_passed_over(grams: str) -> None:
    (answer,) = Service(TWO_ZONES).hear(f"mix {grams} grams at one to four")
    assert answer == "Name the grams and the ratio again." or "grams colour" in answer


def test_a_chair_may_begin_while_the_other_has_time() -> None:
    """Window 5 to 20: two passes of four minutes end long before the limit of chair one."""
    service = two_chairs().at("05:00")
    assert service.hear("can i start chair two now") == [
        "Yes. Begin chair two, every rinse still fits."
    ]
    assert service.hear("may i start chair two now")[0].startswith("Yes")


def test_at_the_basin_a_chair_waits_for_the_basin() -> None:
    """One basin, kept from the first pass on: chair one is rinsed from 10:00 to 15:00."""
    service = two_chairs(TWO_ZONES).at("05:00")
    assert service.hear("can i start chair two now") == [
        "Chair one needs you first. Begin chair two in ten minutes, one zero."
    ]


def test_a_chair_waits_where_a_limit_would_be_missed() -> None:
    """At 22:00 chair one has two minutes to its limit: look, rinse, then chair two."""
    service = two_chairs().at("22:00")
    said = service.hear("can i start chair two now")
    assert said == ["Chair one needs you first. Begin chair two in six minutes."]


def test_a_chair_that_is_late_already_is_named() -> None:
    service = two_chairs().at("25:00")
    assert service.hear("can i start chair two now") == [
        "No. Chair one is late as it is. Get help there first."
    ]


def test_a_chair_without_recipe_or_already_begun() -> None:
    service = two_chairs().at("05:00")
    assert service.hear("can i start chair three now") == [
        "Chair three has no recipe yet. Open it first."
    ]
    assert service.hear("can i start chair one now") == ["Chair one has begun already."]


def test_when_the_toner_goes_on() -> None:
    """Nape on at 10:00, due 30:00; ends need 10 minutes and a pass of 4: best begun at 16:00
    + ... 30 - 10 - 4 = 16; at the latest 35:00 (nape's limit) - 5 - 4 = 26:00."""
    service = started(LATE_ENDS).at("10:00")
    service.hear("nape is on")
    service.hear("toner bowl is mixed")
    service.at("11:00")
    answer = ["Ends: best in five minutes, at the latest in fifteen minutes."]
    assert service.hear("when does the toner go on") == answer
    assert service.hear("when do the ends go on") == answer
    assert service.at("17:00").hear("when does the toner go on") == [
        "Ends: now, or in nine minutes at the latest."
    ]
    assert service.at("26:30").hear("when do the ends go on") == [
        "Ends: too late for a single rinse. Plan two."
    ]
    assert service.hear("when does the nape go on") == ["Nape: product is on already."]


def test_a_toner_of_its_own_stage_comes_after_the_rinse() -> None:
    two = recipe(stage(zone("nape")), stage(zone("lengths"), zone("ends")))
    service = started(two).at("10:00")
    service.hear("nape is on")
    assert service.hear("when does the toner go on") == [
        "The colour comes after the rinse. Nape closes the window."
    ]


def test_questions_change_no_head_and_no_alarm() -> None:
    service = two_chairs().at("22:00")
    before = [head.snapshot() for head in service.salon.heads.values()]
    alarms = [due.alarms(head) for head in service.salon.heads.values()]
    for said in (
        "mix forty grams at one to two",
        "can i start chair two now",
        "chair one when does the toner go on",
    ):
        assert service.hear(said)
    assert [head.snapshot() for head in service.salon.heads.values()] == before
    assert [due.alarms(head) for head in service.salon.heads.values()] == alarms
