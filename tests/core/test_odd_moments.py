"""What is seldom said or seldom so: a question given up, many chairs, a zone that is off."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.call import Spoken
from assistant.core.choose import Advice
from assistant.core.client_card import Card, PastBowl, PastVisit
from assistant.core.due import Alarm, alarms
from assistant.core.events import ClientKnown
from assistant.core.plan_day import SKILLS, Booking, Break, Day, House, Person, problems
from assistant.core.snapshot import snapshot
from assistant.core.wording import call_phrase
from tests.core.days import CREW, MORNING
from tests.core.recipes import TWO_ZONES, recipe, stage, zone
from tests.core.service import Service


def served(*lines: str) -> Service:
    service = Service(TWO_ZONES).at("00:05")
    service.hear("start test tap")
    service.gate()
    for line in ("root bowl is mixed", *lines):
        service.hear(line)
    return service


def test_the_board_tells_what_each_zone_is_doing() -> None:
    optional = recipe(stage(zone("nape"), zone("crown"), zone("ends", optional=True)))
    service = Service(optional).at("00:05")
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    states = []
    for line in (
        "starting nape",
        "nape is on",
        "leave out the ends",
        "crown is on",
        "nape is ready",
        "rinsing nape",
        "nape is rinsed",
    ):
        service.hear(line)
        states.append([each.state for each in snapshot(service.salon).heads[0].zones])
    assert states == [
        ["being put on", "waiting", "waiting"],
        ["on", "waiting", "waiting"],
        ["on", "waiting", "left out"],
        ["on", "on", "left out"],
        ["ready", "on", "left out"],
        ["rinsing", "on", "left out"],
        ["off", "on", "left out"],
    ]


def test_a_question_for_the_chair_is_given_up_after_a_while() -> None:
    service = served("nape is on")
    service.hear("chair two start test tap")
    service.hear("start test tap")
    service.at("02:00")
    assert service.hear("chair three") == ["I had not asked anything."]


def test_limits_at_more_than_three_chairs_are_counted() -> None:
    up = tuple(Alarm("limit", chair, chair, "nape", 0.0) for chair in (1, 2, 3, 4))
    assert call_phrase(Spoken(up, 1), 10.0)[:2] == (
        "call_limit_chairs",
        (("chairs", "four chairs"),),
    )
    assert call_phrase(Spoken(up[:2], 1), 10.0)[1] == (("chairs", "chairs one and two"),)


def test_a_zone_that_waits_and_is_alone_is_called_to_no_moment() -> None:
    """It would meet the target of the others, and there are none on."""
    late = recipe(stage(zone("roots", wait_for_start=True), zone("ends"), counts_from="own"))
    service = Service(late).at("00:05")
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    assert [a.kind for a in alarms(service.head()) if a.kind == "start"] == []


def visit(recipe_name: str, *bowls: PastBowl) -> Card:
    return Card(1, False, False, None, PastVisit(42, recipe_name, bowls, (), (), ()))


def test_same_as_last_time_among_several_chairs_asks_which() -> None:
    service = served()
    service.hear("chair two start test tap")
    assert service.hear("same as last time") == ["Which chair?"]


def test_the_last_visit_was_another_recipe_than_todays() -> None:
    other = replace(TWO_ZONES, name="other tap")
    service = Service(TWO_ZONES, other).at("00:05")
    service.event(ClientKnown(service.now, 1, "41", visit("other tap")))
    service.hear("start test tap")
    told = service.hear("same as last time")
    assert told[-1] == service.phrases.phrases["same_other_today"].format(recipe="test tap")


def test_a_bowl_that_the_recipe_no_longer_has_is_told() -> None:
    gone = PastBowl("colour", "end bowl", "", "1:2", 3, 60)
    service = Service(TWO_ZONES).at("00:05")
    service.event(ClientKnown(service.now, 1, "41", visit("test tap", gone)))
    told = " ".join(service.hear("same as last time")).lower()
    assert "end bowl" in told


def test_two_bookings_of_one_chair_that_do_not_meet_and_a_break_that_is_one() -> None:
    dry = replace(TWO_ZONES, place="chair")
    crew = (Person("Ines", SKILLS, (Break(MORNING, MORNING + 10),)),)
    twice = Day((Booking(1, dry, MORNING), Booking(1, dry, MORNING + 120)), crew, 1)
    assert problems(twice) == []


@pytest.mark.parametrize("counted", ["own", "shared"])
def test_a_day_of_either_way_of_counting_has_no_problem(counted: str) -> None:
    book = recipe(stage(zone("nape"), zone("crown"), counts_from=counted))
    day = Day((Booking(1, book, MORNING), Booking(1, book, MORNING + 90)), CREW[:1], 1)
    assert problems(replace(day, house=House())) == []


def test_advice_with_everything_asked_says_no_more_than_that() -> None:
    assert all("Not asked yet" not in line for line in Advice((), (), (), ()).sentences())
