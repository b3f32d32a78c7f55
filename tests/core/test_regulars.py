"""Who sits in a chair, the alert test on record at the gate, and "same as last time".

Days of an alert test follow what is published: two days to show (48 hours, the usual advice of
industry and health pages), and a longest time that differs from "every time" to "once a year";
so both are a setting of the salon, and a leaflet's own days come before it.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core import numbers
from assistant.core.client_card import Card, PastBowl, PastTest, PastVisit, PastZone
from assistant.core.events import ClientKnown, LookUp, WriteRecord
from assistant.core.recipe import Recipe
from assistant.core.record import record_of
from assistant.core.rule import SalonRule
from tests.core.recipes import TWO_ZONES, bowl, recipe, stage, zone
from tests.core.service import Service

RULE = SalonRule()
GOOD = PastTest(30, "demi, line a", "ann")
BOWL = PastBowl("colour", "root bowl", "", "1:2", 3, 60)
NAPE = PastZone("colour", "nape", 10, 20, 10.4, False)
CROWN = PastZone("colour", "crown", 10, 20, 14.6, False)
LAST = PastVisit(42, "test tap", (BOWL,), (NAPE, CROWN), ("shorter",), ("too deep",))
CARD = Card(2, False, False, GOOD, LAST)
NEW = Card(0, False, False, None, None)


def known(service: Service, card: Card | None, chair: int = 1, client: str = "41") -> list[str]:
    return service.event(ClientKnown(service.now, chair, client, card))


def opened(card: Card | None, *recipes: Recipe) -> tuple[Service, str]:
    """A service whose client was announced; what is asked first."""
    service = Service(*(recipes or (TWO_ZONES,)))
    known(service, card)
    return service, " ".join(service.hear("start test tap"))


# ------------------------------------------------------------------ attaching


@pytest.mark.parametrize(
    ("said", "chair", "client"),
    [
        ("chair two is client forty one", 2, "41"),
        ("chair two is client four one seven", 2, "417"),
        ("chair three is client six two zero nine", 3, "6209"),
        ("chair two client number twelve", 2, "12"),
        ("client number one hundred and five", 1, "105"),
        ("chair three is client to three for", 3, "234"),  # as a recogniser may write it
    ],
)
def test_a_client_is_named_by_number_and_the_records_are_asked(
    said: str, chair: int, client: str
) -> None:
    service = Service(TWO_ZONES)
    service.hear(said)
    assert not [e for e in service.effects if isinstance(e, LookUp)]
    service.utter(f"confirm chair {numbers.spoken(chair)}")
    assert [e for e in service.effects if isinstance(e, LookUp)] == [LookUp(chair, client)]


@pytest.mark.parametrize("said", ["chair two is client", "chair nine is client two", "zero one"])
def test_what_is_no_client_asks_nothing(said: str) -> None:
    service = Service(TWO_ZONES)
    service.hear(said)
    assert not [e for e in service.effects if isinstance(e, LookUp)]


@pytest.mark.parametrize(
    ("said", "read_back"),
    [
        ("client number thirteen", "Client thirteen, one three in chair one?"),
        ("client number three zero", "Client thirty, three zero in chair one?"),
        ("client number four one seven", "Client four hundred and seventeen, four one seven in"),
        ("client number six two zero nine", "Client six two zero nine in chair one?"),
    ],
)
def test_the_number_is_read_back_so_that_a_thirteen_is_no_thirty(said: str, read_back: str) -> None:
    assert Service(TWO_ZONES).hear(said)[0].startswith(read_back)


@pytest.mark.parametrize("answer", ["leave it", "confirm chair three", "scalp is healthy"])
def test_a_number_that_nobody_confirms_opens_no_record(answer: str) -> None:
    service = Service(TWO_ZONES)
    service.hear("chair two is client four one")
    service.utter(answer)
    service.at("01:00").utter("confirm chair two")
    assert not [e for e in service.effects if isinstance(e, LookUp)]


def test_what_the_records_know_is_said_once() -> None:
    service = Service(TWO_ZONES)
    assert known(service, NEW) == ["Chair one: this client is new to the records."]
    assert known(service, CARD) == ["Chair one: this client is on record."]
    assert known(service, None) == ["Chair one: the records cannot be read."]


def test_with_two_heads_the_chair_is_asked_for() -> None:
    service = Service(TWO_ZONES)
    service.hear("chair one start test tap")
    service.hear("chair two start test tap")
    assert service.hear("client number twelve") == ["Which chair?"]
    assert service.utter("chair two")[0].startswith("Client twelve, one two in chair two?")
    service.utter("confirm chair two")
    assert LookUp(2, "12") in service.effects


def test_the_client_is_in_the_record_and_can_be_taken_back_for_a_minute() -> None:
    service = Service(TWO_ZONES)
    service.hear("start test tap")
    known(service, CARD)
    assert record_of(service.head()).client == "41"
    service.hear("undo that")
    assert record_of(service.head()).client == ""


def test_a_client_of_a_finished_head_is_the_next_one() -> None:
    service = Service(TWO_ZONES)
    service.hear("start test tap")
    service.hear("no alert test")
    known(service, CARD)
    assert record_of(service.head()).client == ""
    assert "On record" in " ".join(service.hear("start test tap"))
    assert record_of(service.head()).client == "41"


# ------------------------------------------------------------------- the gate


def test_a_good_test_asks_for_the_line_and_the_answer_is_the_line() -> None:
    service, asked = opened(CARD)
    assert "On record: clear thirty, three zero days ago, demi, line a." in asked
    assert service.head().state == "gate"
    service.utter("same product line")
    assert service.head().step().subject == "scalp"
    assert service.head().file.gate["alert test"] == (
        "on record: clear, 30 days ago, demi, line a (ann)"
    )


def test_another_line_needs_its_own_test() -> None:
    service, _ = opened(CARD)
    assert "own alert test" in service.utter("different product line")[0]
    assert service.head().state == "stopped"
    assert WriteRecord(1, 1) in service.effects


@pytest.mark.parametrize(
    ("test", "verdict"),
    [
        (PastTest(1, "a", ""), "outside"),  # common practice: two days to show
        (PastTest(2, "a", ""), "good"),
        (PastTest(120, "a", ""), "good"),  # the salon's own longest, an example
        (PastTest(121, "a", ""), "outside"),
        (PastTest(121, "a", "", 2, 365), "good"),  # the leaflet allows a year
        (PastTest(30, "a", "", 2, 7), "outside"),  # the leaflet wants a fresh one
        (PastTest(2, "a", "", 3, 0), "outside"),  # the leaflet wants three days to show
        (None, "none"),
    ],
)
def test_the_leaflets_days_come_before_the_salons(test: PastTest | None, verdict: str) -> None:
    assert Card(1, False, False, test, None).verdict(RULE) == verdict


@pytest.mark.parametrize(
    ("test", "says"),
    [
        (None, "No alert test on record"),
        (PastTest(200, "a", ""), "two hundred, two zero zero days old, outside two to one hundred"),
        (PastTest(1, "a", ""), "one day old, outside two"),
    ],
)
def test_a_missing_or_old_test_is_said_and_nothing_goes_on_without_another(
    test: PastTest | None, says: str
) -> None:
    service, asked = opened(replace(CARD, test=test))
    assert says in asked
    service.utter("same product line")  # nothing to be the same as
    service.hear("root bowl is mixed")
    service.hear("starting nape")
    assert (service.head().state, service.head().file.gate) == ("gate", {})
    service.hear("no test on record")
    assert service.head().state == "stopped"


def test_a_newer_test_can_be_told() -> None:
    service, _ = opened(replace(CARD, test=PastTest(200, "a", "")))
    service.hear("clear test three days ago")
    assert service.head().step().subject == "scalp"


def test_a_reaction_on_record_stops_at_once_without_its_detail() -> None:
    service, said = opened(replace(CARD, reaction=True, more=True))
    assert said.endswith("Stop. Do not colour today. See the record of chair one.")
    assert service.head().state == "stopped"
    assert WriteRecord(1, 1) in service.effects
    assert "line a" not in said
    assert service.hear("clear test three days ago") == ["This service was stopped."]


def test_a_reaction_found_while_the_gate_is_open_stops_it() -> None:
    service = Service(TWO_ZONES)
    service.hear("start test tap")
    service.hear("clear test three days ago")
    said = known(service, replace(CARD, reaction=True))
    assert "See the record of chair one" in said[-1]
    assert service.hear("undo that") == ["There is nothing left to take back."]
    assert service.head().state == "stopped"


def test_a_reaction_found_with_product_on_is_said_before_all_else() -> None:
    service = Service(TWO_ZONES)
    service.hear("start test tap")
    service.gate()
    for line in ("root bowl is mixed", "starting nape", "nape is on"):
        service.hear(line)
    said = known(service, replace(CARD, reaction=True))
    assert said == ["Stop. See the record of chair one before anything more."]
    assert service.head().running()  # its clock runs on


def test_records_that_cannot_be_read_leave_the_gate_as_for_anybody() -> None:
    _, asked = opened(None)
    assert "Alert test: how many days ago, and was it clear?" in asked


# ---------------------------------------------------------- same as last time


def test_same_as_last_time_tells_and_opens_only_after_the_second_phrase() -> None:
    service = Service(TWO_ZONES)
    known(service, CARD)
    told = service.hear("same as last time")
    assert told == [
        "Last was test tap, forty two, four two days ago.",
        "Expect about fifteen millimetres of regrowth, give or take five.",
        "The recipe is unchanged.",
        "Crown stayed on for fifteen minutes, planned ten.",
        "It came out: too deep.",
        "For this visit: shorter.",
        "Open chair one with test tap? Confirm with the chair, or leave it.",
    ]
    assert service.salon.heads == {}
    service.utter("confirm chair one")
    assert service.head().state == "gate"
    assert service.head().file.gate == {}


@pytest.mark.parametrize("answer", ["leave it", "confirm chair two", ""])
def test_without_it_nothing_is_opened(answer: str) -> None:
    service = Service(TWO_ZONES)
    known(service, CARD)
    service.hear("same as last time")
    if answer:
        service.utter(answer)
    service.at("01:00").utter("confirm chair one")
    assert service.salon.heads == {}


def test_what_changed_since_is_told() -> None:
    now = recipe(
        stage(zone("nape"), zone("sides"), bowls=(replace(bowl(), grams=45, developer_percent=6),))
    )
    service = Service(now)
    known(service, CARD)
    told = service.hear("same as last time")
    assert told[2:5] == [
        "Root bowl was sixty grams at one to two, three percent, "
        "and is forty five grams at one to two, six percent.",
        "Crown is gone from the recipe.",
        "One more changed.",  # the sides are new
    ]


def test_a_changed_window_and_shade_are_told() -> None:
    past = PastVisit(
        6,
        "test tap",
        (replace(BOWL, shade="7.1"),),
        (replace(NAPE, limit_minutes=25), replace(CROWN, left_out=True, minutes_on=None)),
        (),
        (),
    )
    service = Service(TWO_ZONES)
    known(service, replace(CARD, last=past, more=True))
    told = service.hear("same as last time")
    assert told[1:] == [
        "Root bowl has another shade.",
        "Nape had target ten, limit twenty five, and has target ten, limit twenty.",
        "Crown left out then.",
        "There is more to read: see the record of chair one.",
        "Open chair one with test tap? Confirm with the chair, or leave it.",
    ]


def test_with_the_service_begun_it_only_tells() -> None:
    service, _ = opened(CARD)
    told = service.hear("like last time")
    assert not any("Open chair" in said for said in told)
    assert service.head().step().subject == "alert test"


@pytest.mark.parametrize(
    ("card", "says"),
    [
        (NEW, "Chair one: no earlier visit on record."),
        (None, "Chair one: no earlier visit on record."),
        (replace(CARD, last=replace(LAST, recipe="gone tap")), "Gone tap is no recipe of today."),
    ],
)
def test_nothing_to_start_from_is_said(card: Card | None, says: str) -> None:
    service = Service(TWO_ZONES)
    known(service, card)
    assert service.hear("same as last time")[-1] == says
    service.utter("confirm chair one")
    assert service.salon.heads == {}


def test_nobody_is_known_is_said() -> None:
    assert "Name the client by number" in Service(TWO_ZONES).hear("same as last time")[0]


# ------------------------------------------------------------- for the record


def test_result_home_care_and_notes_are_told_by_voice() -> None:
    service = Service(TWO_ZONES)
    service.hear("start test tap")
    service.gate()
    for line in (
        "result is too warm",
        "result is as wished",
        "hair feels dry",
        "home care is explained",
        "note shorter next time",
        "note crown longer next time",
        "client is comfortable",
    ):
        service.hear(line)
    record = record_of(service.head())
    assert record.outcome == (("colour", "as wished"), ("hair", "dry"))
    assert record.home_care_at == 0.0
    assert record.notes == ("shorter", "crown longer")
    assert record.comfort == (0.0,)


@pytest.mark.parametrize(
    ("told", "still"),
    [
        ((), "Still to tell: the result, and home care."),
        (("result is uneven",), "Still to tell: home care."),
        (("home care is explained",), "Still to tell: the result."),
        (("result is uneven", "home care is explained"), ""),
    ],
)
def test_what_nobody_told_is_asked_for_at_the_end_and_can_still_be_told(
    told: tuple[str, ...], still: str
) -> None:
    service = Service(TWO_ZONES)
    service.hear("start test tap")
    service.gate()
    for line in ("root bowl is mixed", "nape is on", "crown is on", "rinsing now", "all rinsed"):
        service.hear(line)
    for line in (*told, "next step"):
        service.hear(line)
    ended = service.hear("next step")
    assert ended == ["Chair one finished. The record is written.", *([still] if still else [])]
    service.hear("result is as wished")
    assert ("colour", "as wished") in record_of(service.head()).outcome
    assert service.effects[-1] == WriteRecord(1, 1)
