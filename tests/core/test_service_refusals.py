"""Said at the wrong moment, at the wrong chair or about nothing: an answer, and nothing changes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.head import Head
from assistant.core.recipe import Recipe
from tests.core.recipes import TWO_ZONES, bowl, recipe, stage, window, zone
from tests.core.service import Service

TWO_BOWLS = recipe(stage(zone("nape"), zone("ends", "end bowl"), bowls=(bowl(), bowl("end bowl"))))
WITH_ENDS = recipe(stage(zone("nape"), zone("ends", optional=True)))
TONED = recipe(
    stage(zone("nape")),
    replace(stage(zone("ends", "end bowl"), bowls=(bowl("end bowl"),)), name="toner"),
)
LONG = recipe(stage(zone("nape", window=window(5, 40, 60))))


def started(book: Recipe = TWO_ZONES, *lines: str) -> Service:
    service = Service(book).at("00:05")
    service.hear(f"start {book.name}")
    service.gate()
    for line in lines:
        service.hear(line)
    return service


def both_on() -> Service:
    return started(TWO_ZONES, "root bowl is mixed", "nape is on", "crown is on")


def kept(head: Head) -> str:
    """Everything that is known of a head, to be compared."""
    return repr(head.file)


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ("it burns", "No client yet. Say start, and a recipe."),
        ("how long", "No client yet. Say start, and a recipe."),
        ("chair two how long", "Chair two has no client."),
        ("heard you", "There is no call to answer."),
        ("undo that", "There is nothing left to take back."),
    ],
)
def test_before_anybody_sits_down(said: str, answer: str) -> None:
    service = Service(TWO_ZONES).at("00:05")
    assert service.hear(said) == [answer]
    assert service.salon.heads == {}


@pytest.mark.parametrize("said", ["chair one", "confirm chair one", "leave it", "three zero"])
def test_an_answer_to_nothing_we_asked(said: str) -> None:
    service = both_on()
    before = kept(service.head())
    assert service.hear(said) == ["I had not asked anything."]
    assert kept(service.head()) == before


@pytest.mark.parametrize(
    "said",
    [
        "scalp is healthy",
        "same product line",
        "root bowl is mixed",
        "leave out the nape",
        "rinsing now",
        "nape is ready",
        "nape is not ready",
        "give nape five minutes",
    ],
)
def test_out_of_turn_at_the_gate_the_question_is_told_again(said: str) -> None:
    service = Service(TWO_ZONES).at("00:05")
    service.hear("start test tap")
    service.hear("clear test three days ago")
    before = kept(service.head())
    if said == "scalp is healthy":  # the present question, so its answer is out of turn twice
        service.hear(said)
        before = kept(service.head())
    assert service.hear(said)[0].startswith("First comes the")
    assert kept(service.head()) == before


@pytest.mark.parametrize("said", ["it burns", "rinsing now", "nape is ready", "nape is on"])
def test_after_the_end_nothing_is_done(said: str) -> None:
    service = started()
    service.hear("end this service")
    assert service.hear("confirm chair one")[0].startswith("Service closed")
    before = kept(service.head())
    assert service.hear(said)[0] == "This chair is finished."
    assert kept(service.head()) == before
    service.hear("end this service")
    assert service.hear("confirm chair one") == ["This chair is finished."]


def test_a_clock_that_does_not_run_is_not_stopped() -> None:
    service = started(TWO_ZONES, "stop the clock on nape")
    assert service.hear("confirm chair one") == ["First mix the root bowl."]


def test_no_service_ends_while_product_is_on() -> None:
    service = both_on()
    service.hear("end this service")
    assert service.hear("confirm chair one") == ["Not while product is on. Rinse first."]
    assert service.head().active


def test_another_bowl_than_the_next_is_not_noted() -> None:
    service = started(TWO_BOWLS)
    assert service.hear("end bowl is mixed") == ["The next one is the root bowl."]
    assert service.head().file.mixed == {}


def test_a_bowl_mixed_afresh_is_younger_and_nothing_else() -> None:
    service = started(TWO_ZONES, "root bowl is mixed").at("20:00")
    assert service.hear("root bowl is mixed") == ["Root bowl noted. Its age counts from now."]
    assert service.head().file.mixed == {(0, "root bowl"): 20 * 60.0}
    assert service.head().step().subject == "nape"


def test_a_zone_is_left_out_between_two_passes_and_only_if_it_may_be() -> None:
    service = started(WITH_ENDS, "root bowl is mixed", "starting nape")
    assert service.hear("leave out the ends")[0] == "Ends left out."
    assert service.hear("leave out the ends") == ["Not now. The nape is being done."]
    plain = started(TWO_ZONES, "root bowl is mixed")
    assert plain.hear("leave out the nape") == ["Nape cannot be left out in this recipe."]


# ------------------------------------------------------------------ checks


@pytest.mark.parametrize("said", ["it is ready", "not ready", "give it five"])
def test_an_answer_to_a_check_that_fits_two_zones_asks_which(said: str) -> None:
    service = both_on().at("02:00")
    before = kept(service.head())
    assert service.hear(said) == ["Which zone? Nape and crown?"]
    assert kept(service.head()) == before


def test_at_the_limit_no_minutes_are_given() -> None:
    service = both_on().at("21:00")
    assert service.hear("give nape five minutes") == ["No. Nape at the limit. Rinse at once."]
    assert service.hear("give nape thirteen minutes") == ["No. Nape at the limit. Rinse at once."]


def asked_thirteen_or_thirty(at: str) -> Service:
    service = started(LONG, "root bowl is mixed", "nape is on").at(at)
    assert service.hear("give it thirteen") == ["Thirteen, one three, or thirty, three zero?"]
    return service


def test_thirteen_or_thirty_is_asked_where_both_fit() -> None:
    service = asked_thirteen_or_thirty("10:00")
    assert service.hear("three zero") == ["Nape: I call in thirty minutes, three zero."]


def test_the_answer_to_thirteen_or_thirty_may_have_become_too_long() -> None:
    """Asked with thirty minutes and a second left; answered two seconds later."""
    service = asked_thirteen_or_thirty("30:03").at("30:12")
    assert service.hear("three zero")[0].startswith("Not thirty")
    assert service.head().file.zones[0].look_at == (30 + 13) * 60 + 3.0  # as first taken


def test_the_answer_to_thirteen_or_thirty_about_a_zone_rinsed_meanwhile() -> None:
    service = asked_thirteen_or_thirty("10:00")
    service.head().file.zones[0].rinsing_at = 600.0  # as an assistant's screen would say it
    assert service.hear("three zero") == ["Not now. The colour is developing."]


# ------------------------------------------------------------------ several chairs


def test_a_new_client_among_others_needs_a_chair_that_is_free() -> None:
    service = both_on()
    assert service.hear("start test tap") == ["Which chair?"]
    assert service.hear("chair one") == ["Chair one is busy with test tap. Name another chair."]
    service.hear("start test tap")
    assert service.hear("chair two")[0] == "Chair two: test tap."


def test_help_speaks_of_the_chair_that_was_asked_something() -> None:
    service = both_on()
    service.hear("chair two start test tap")
    for answer in ("clear test three days ago", "scalp is healthy", "gloves are on"):
        service.hear(f"chair two {answer}")
    service.hear("chair two no leaflet")  # asked again, so there is an open question
    assert service.hear("what can i say")[0].startswith("You could say:")
    assert "rinsing" not in service.said[-1][1]


def test_help_without_a_client_says_how_to_begin() -> None:
    service = Service(TWO_ZONES).at("00:05")
    assert service.hear("what can i say") == ["You could say: start test tap. Or: what can i say."]


# ------------------------------------------------------------------ where are we


def test_a_step_back_reads_what_was_before() -> None:
    service = Service(TWO_BOWLS).at("00:05")
    first = service.hear("start test tap")[-1]
    assert service.hear("step back") == [first]  # nothing was before
    service.hear("clear test three days ago")
    assert service.hear("step back") == ["Alert test: clear, 3 days ago."]
    for answer in ("scalp is healthy", "gloves are on", "leaflet in hand", "sixteen or over"):
        told = service.hear(answer)
    service.hear("root bowl is mixed")
    assert service.hear("step back") == [told[-1]]
    service.hear("nape is on")
    assert service.hear("step back") == ["Before that: nape."]


def test_a_service_that_is_over_is_nowhere() -> None:
    service = both_on()
    service.hear("it burns")
    assert service.hear("where are we") == ["This service was stopped."]


def test_how_long_and_when_without_product_and_past_the_limit() -> None:
    service = started()
    assert service.hear("how long") == ["No product is on."]
    assert service.hear("when do we rinse") == ["No product is on."]
    for line in ("root bowl is mixed", "nape is on"):
        service.hear(line)
    service.at("28:00")
    assert service.hear("how long") == ["Nape: seven minutes over the limit. Rinse at once."]


# ------------------------------------------------------------------ what goes on when


def test_a_toner_of_its_own_stage_comes_after_the_rinse() -> None:
    service = started(TONED, "root bowl is mixed")
    assert service.hear("when does the toner go on") == ["The toner comes after the rinse."]
    assert service.hear("when do the ends go on") == ["Ends: not in this stage."]
    service.hear("nape is on")
    assert service.hear("when does the toner go on") == [
        "The toner comes after the rinse. Nape closes the window."
    ]
    service.hear("rinsing now")
    service.hear("all rinsed")
    assert service.hear("when does the toner go on") == ["Nothing else goes on here."]


def test_a_zone_that_waits_for_nothing_is_next_in_turn() -> None:
    service = started(TWO_ZONES, "root bowl is mixed")
    assert service.hear("when does the nape go on") == ["Nape: next in turn, nothing waits for it."]
    service.hear("nape is on")
    assert service.hear("when does the nape go on") == ["Nape: product is on already."]
    service.at("18:00")
    assert service.hear("when does the crown go on") == [
        "Crown: too late for a single rinse. Plan two."
    ]
