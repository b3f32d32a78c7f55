"""The questions before anything is mixed: each answer written down, in turn, and taken back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.client_card import Card, PastTest
from assistant.core.events import ClientKnown
from assistant.core.record import record_of
from tests.core.recipes import TWO_ZONES
from tests.core.service import GATE, Service

ON_RECORD = Card(2, False, False, PastTest(30, "demi, line a", "ann"), None)
FIRST = "Alert test: how many days ago, and was it clear?"


def asked(*answers: str, card: Card | None = None) -> Service:
    """At the gate, with these answers given."""
    service = Service(TWO_ZONES)
    if card is not None:
        service.event(ClientKnown(0.0, 1, "41", card))
    service.hear("start test tap")
    for answer in answers:
        service.hear(answer)
    return service


def stopped(service: Service) -> tuple[str, str, dict[str, str]]:
    """The state, and why and after which answers by the record."""
    record = record_of(service.head())
    return service.head().state, record.stopped_why, dict(record.gate)


def test_every_answer_is_read_back_and_the_next_question_follows() -> None:
    service = asked()
    told = [service.utter(answer) for answer in GATE[:4]]
    assert told == [
        ["Written down: three days.", "Look at the scalp. Healthy or sore?"],
        ["Scalp: healthy.", "Gloves?"],
        ["Gloves: on.", "Is the product leaflet in your hand?"],
        ["Leaflet: in hand.", "Is the client sixteen, or not yet?"],
    ]
    assert service.utter(GATE[4])[-1].startswith("Root bowl:")


@pytest.mark.parametrize("given", range(1, 5))
def test_the_last_answer_can_be_taken_back(given: int) -> None:
    before = asked(*GATE[: given - 1]).head().file.gate
    service = asked(*GATE[:given])
    assert service.hear("undo that")[0] == "Taken back. Clocks as they were."
    assert service.head().file.gate == before


def test_the_line_of_the_test_on_record_can_be_taken_back_too() -> None:
    service = asked(card=ON_RECORD)
    assert service.utter("same product line") == [
        "Same line as thirty, three zero days ago. Written down.",
        "Look at the scalp. Healthy or sore?",
    ]
    service.hear("undo that")
    assert service.head().file.gate == {}


@pytest.mark.parametrize("days", [2, 120])  # the salon's own rule, as it is set by default
def test_a_clear_test_counts_on_the_first_and_the_last_day_of_the_rule(days: int) -> None:
    said = {2: "two", 120: "one hundred and twenty"}[days]
    service = asked(f"clear test {said} days ago")
    assert service.head().file.gate == {"alert test": f"clear, {days} days ago"}
    assert service.head().step().subject == "scalp"


def test_outside_the_rule_it_stops_and_the_record_says_why() -> None:
    assert stopped(asked("clear test one days ago")) == (
        "stopped",
        "test_days",
        {"alert test": "clear, 1 days ago, outside the salon's rule"},
    )


def test_a_bad_answer_and_a_reaction_on_record_are_the_reason_in_the_record() -> None:
    assert stopped(asked("no test on record")) == (
        "stopped",
        "test_missing",
        {"alert test": "none on record"},
    )
    assert stopped(asked(card=replace(ON_RECORD, reaction=True))) == (
        "stopped",
        "reaction_on_record",
        {"alert test": "reaction on record"},
    )


def test_an_answer_that_stopped_the_service_can_be_taken_back_for_a_minute() -> None:
    service = asked("clear test one days ago")
    service.hear("undo that")
    assert (service.head().state, service.head().file.gate) == ("gate", {})


def test_without_the_leaflet_nothing_goes_on() -> None:
    service = asked(*GATE[:3])
    assert service.utter("no leaflet") == ["Fetch the leaflet first. Its times come before mine."]
    assert service.head().step().subject == "leaflet"
    assert "leaflet" not in service.head().file.gate
    assert service.utter("leaflet in hand")[0] == "Leaflet: in hand."


def test_without_a_test_on_record_there_is_no_line_to_be_the_same() -> None:
    assert asked().utter("same product line") == [FIRST]


@pytest.mark.parametrize("said", ["clear test three days ago", "same product line"])
def test_the_alert_test_is_answered_once(said: str) -> None:
    service = asked("clear test two days ago")
    assert service.hear(said) == ["First comes the scalp question."]
    assert service.head().file.gate == {"alert test": "clear, 2 days ago"}
