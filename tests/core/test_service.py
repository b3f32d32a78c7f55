"""A service at one chair, told as it goes: time rules, checks, undo, safety."""

from __future__ import annotations

import pytest

from tests.core.recipes import TWO_ZONES, bowl, recipe, stage, window, zone
from tests.core.service import Service


def started(recipe_under_test=TWO_ZONES) -> Service:
    service = Service(recipe_under_test).at("00:05")
    service.hear(f"start {recipe_under_test.name}")
    service.gate()
    return service


def both_on(nape: str = "10:00", crown: str = "15:00") -> Service:
    service = started().at("02:00")
    service.hear("root bowl is mixed")
    service.at(nape).hear("nape is on")
    service.at(crown).hear("crown is on")
    return service


def test_the_routine_is_walked_section_by_section() -> None:
    service = started()
    assert service.said[-1][1].startswith("Root bowl: twenty grams colour, forty grams developer")
    assert service.at("02:00").hear("root bowl is mixed")[-1] == (
        "Next, nape: half a centimetre from the scalp."
    )
    assert service.hear("next step") == ["Press, do not drag."]
    assert service.at("03:00").hear("starting nape") == ["Quiet for the nape."]
    assert service.at("07:00").hear("nape is on")[0] == (
        "Nape on. Check in five minutes, limit twenty."
    )
    assert service.head().state == "place"


def test_each_zone_has_its_own_clock() -> None:
    service = both_on("10:00", "15:00").at("30:30")
    assert "Chair one. Nape. Limit. Rinse now." in service.calls("29:59")
    assert not [c for c in service.calls() if "Crown. Limit" in c]
    clocks = {r.zone.name: service.head().clock(r) for r in service.head().running()}
    assert (clocks["nape"].limit_at, clocks["crown"].limit_at) == (30 * 60, 35 * 60)


def test_calls_come_on_the_second() -> None:
    service = both_on("10:00", "16:30").at("32:00")
    first = {text: at for at, text in reversed(service.said)}
    assert first["Chair one. Nape. Check a strand."] == 15 * 60
    assert first["Chair one. Nape. Due. Check now."] == 20 * 60
    assert first["Chair one. Nape. Three minutes to limit."] == 27 * 60
    assert first["Chair one. Nape. Limit. Rinse now."] == 30 * 60


def test_a_limit_is_never_extended_by_voice() -> None:
    service = both_on().at("26:00")
    assert service.hear("give nape twelve minutes") == [
        "Not twelve, one two. Nape: four minutes to the limit."
    ]
    service.at("30:00")
    assert service.hear("nape is not ready") == ["No. Nape at the limit. Rinse at once."]
    assert service.head().clock(service.head().zone("nape")).limit_at == 30 * 60


def test_give_it_rearms_inside_the_limit() -> None:
    service = both_on().at("15:05")
    assert service.hear("give nape seven minutes") == ["Nape: I call in seven minutes."]
    service.at("22:06")
    assert "Chair one. Nape. Due. Check now." in service.calls("22:05")
    assert not [c for c in service.calls("15:30") if "Nape" in c and "Due" in c][1:]


def test_thirteen_or_thirty_takes_the_one_that_fits_or_asks() -> None:
    service = both_on().at("16:00")
    assert service.hear("give nape thirty minutes") == [
        "Nape: I call in thirteen minutes, one three."
    ]
    wide = recipe(stage(zone("nape", window=window(5, 10, 60))))
    service = Service(wide).at("00:01")
    service.hear("start test tap")
    service.gate()
    service.hear("bowl is mixed")
    service.hear("nape is on")
    service.at("06:00")
    assert service.hear("give nape thirty minutes") == [
        "Thirteen, one three, or thirty, three zero?"
    ]
    run = service.head().zone("nape")
    assert run is not None
    assert run.look_at == 19 * 60  # the earlier one is armed meanwhile
    assert service.utter("thirty") == ["Nape: I call in thirty minutes, three zero."]
    assert run.look_at == 36 * 60


def test_you_may_rinse_counts_to_the_first_limit_of_the_head() -> None:
    service = both_on("10:00", "15:00").at("20:30")
    service.hear("nape is ready")
    service.at("26:00")
    assert service.hear("crown is ready") == ["Crown ready. You may rinse, four minutes left."]


def test_undo_restores_the_original_start() -> None:
    service = both_on().at("18:00")
    service.hear("rinsing nape")
    service.hear("nape is rinsed")
    assert service.hear("undo that")[0] == "Taken back. Clocks as they were."
    run = service.head().zone("nape")
    assert run is not None
    assert run.running
    assert service.head().clock(run).limit_at == 30 * 60


def test_undo_is_only_for_a_minute() -> None:
    service = both_on("10:00", "15:00").at("16:01")
    assert service.hear("undo that") == ["There is nothing left to take back."]


def test_stopping_a_clock_needs_a_second_different_phrase() -> None:
    service = both_on().at("16:00")
    assert service.hear("stop the clock on nape") == [
        "Stop the nape clock? Confirm with the chair, or leave it."
    ]
    run = service.head().zone("nape")
    assert run is not None
    assert run.running
    assert service.utter("leave it") == ["Left as it was."]
    service.hear("stop the clock on nape")
    assert service.utter("confirm chair two") == ["That was about chair one."]
    assert run.running
    assert service.utter("confirm chair one") == ["Nape clock stopped."]
    assert not run.running


def test_no_answer_to_a_confirmation_leaves_the_clock_running() -> None:
    service = both_on().at("16:00")
    service.hear("stop the clock on nape")
    service.at("17:00")
    assert service.hear("confirm chair one") == ["I had not asked anything."]
    run = service.head().zone("nape")
    assert run is not None
    assert run.running


@pytest.mark.parametrize(
    ("answers", "reason"),
    [
        (["no test on record"], "No alert test"),
        (["there was a reaction"], "A reaction"),
        (["clear test one days ago"], "outside your salon's"),
        (["clear test three days ago", "scalp is sore"], "sore or broken"),
        (
            ["clear test three days ago", "scalp is healthy", "gloves are on", "leaflet in hand",
             "too young"],
            "younger than sixteen",
        ),
    ],
)  # fmt: skip
def test_a_bad_answer_stops_the_routine_with_its_reason(answers: list[str], reason: str) -> None:
    service = Service(TWO_ZONES).at("00:01")
    service.hear("start test tap")
    said = [service.utter(answer) for answer in answers]
    assert reason in said[-1][0]
    assert service.head().state == "stopped"
    assert service.hear("root bowl is mixed") == ["This service was stopped."]
    assert service.head().file.gate  # the answer is recorded


def test_it_burns_outranks_everything_and_is_called_until_rinsed() -> None:
    service = both_on().at("16:00")
    assert service.hear("it burns") == ["Chair one. Burning. Rinse with cool water now."]
    before = len(service.said)
    service.at("16:31")
    assert len(service.said) - before == 3  # every ten seconds
    service.hear("rinsing now")
    service.at("18:00").hear("all rinsed")
    before = len(service.said)
    service.at("40:00")
    assert service.said[before:] == []
    assert service.head().state == "stopped"


def test_next_never_starts_or_stops_a_clock() -> None:
    service = started()
    service.hear("root bowl is mixed")
    for _ in range(8):
        service.hear("next step")
    assert not service.head().running()
    service.hear("nape is on")
    before = [(r.zone.name, r.on_at) for r in service.head().running()]
    for _ in range(8):
        service.hear("next step")
    assert [(r.zone.name, r.on_at) for r in service.head().running()] == before


def test_a_zone_cannot_go_on_from_a_bowl_that_is_not_mixed() -> None:
    two = recipe(
        stage(zone("nape"), zone("lengths", "toner bowl"), bowls=(bowl(), bowl("toner bowl")))
    )
    service = started(two)
    service.hear("root bowl is mixed")
    assert service.hear("lengths is on") == ["Mix the toner bowl first."]
    assert not service.head().running()


def test_checks_wait_for_the_end_of_a_pass_and_limits_do_not() -> None:
    service = started().at("01:00")
    service.hear("root bowl is mixed")
    service.at("02:00").hear("nape is on")
    service.at("06:00").hear("starting crown")
    service.at("11:50")
    assert not [c for c in service.calls("06:01") if "Check a strand" in c]
    service.at("23:00")
    assert [c for c in service.calls("21:59") if "Limit" in c]


def test_the_rinse_window_is_foreseen_to_be_empty() -> None:
    """Crown must be on by 17:00 or nape's limit (22:00) comes before crown's first check."""
    service = started().at("01:00")
    service.hear("root bowl is mixed")
    service.at("02:00").hear("nape is on")
    service.at("14:00")
    warnings = [at for at, text in service.said if "needs its own rinse" in text]
    assert warnings
    assert warnings[0] == 13 * 60  # 22:00 - 5 min to the first check - 4 min of the pass


def test_a_head_with_several_zones_opens_its_rinse_window_once() -> None:
    service = both_on("10:00", "12:00").at("17:10")
    assert [c for c in service.calls("10:00") if "Rinse window open" in c] == [
        "Chair one. Crown. Check. Rinse window open."
    ]


def test_two_clients_need_the_chair() -> None:
    service = both_on().at("16:00")
    service.hear("chair two start test tap")
    assert service.hear("rinsing now") == ["Which chair?"]
    assert service.utter("chair one") == [
        "Nape and crown: rinse noted. Tell me when it runs clear."
    ]


def test_an_error_ladder_that_ends_in_silence() -> None:
    service = started()
    said = [service.hear(text) for text in ("newspaper", "crown crown", "newspaper", "newspaper")]
    assert said[0] == ["Sorry, once more?"]
    assert said[1] == ["I understood: crown crown. Please say it again in full."]
    assert said[2][0].startswith("You could say:")
    assert said[3] == []


def test_chatter_without_the_wake_word_changes_nothing() -> None:
    service = both_on().at("16:00")
    before = service.salon.heads[1].snapshot()
    for text in ("rinsing now", "all rinsed", "stop the clock on nape", "[unk]", "", "it is [unk]"):
        assert service.utter(text) == []
    assert service.salon.heads[1].snapshot() == before
