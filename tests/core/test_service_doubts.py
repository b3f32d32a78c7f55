"""What must not be taken back, and what does not settle a doubt."""

from __future__ import annotations

import pytest

from assistant.app import GuessedVoice
from assistant.core.events import Priority, Resumed, Say
from assistant.core.record import record_of
from assistant.edges.gate import TAIL
from tests.core.recipes import TWO_ZONES, recipe, stage, zone
from tests.core.service import Service

ONE_ZONE = recipe(stage(zone("roots")), name="root touch")


def test_the_next_client_does_not_get_the_last_ones_zones_by_undo() -> None:
    service = Service(TWO_ZONES, ONE_ZONE)
    service.hear("start root touch")
    service.gate()
    for line in ("root bowl is mixed", "starting roots", "roots is on"):
        service.hear(line)
    for line in ("rinsing now", "all rinsed", "next step", "next step"):
        service.at("10:00").hear(line)
    service.at("10:20").hear("start test tap")
    assert service.hear("undo that") == ["There is nothing left to take back."]
    assert [run.zone.name for run in service.head().file.zones] == ["nape", "crown"]


def test_a_burn_is_not_taken_back_by_undo() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.at("05:00").hear("it burns")
    service.hear("undo that")
    assert service.head().state == "stopped"
    assert any("Burning" in said for said in service.at("05:30").calls("05:05"))


def test_a_note_does_not_settle_a_clock_in_doubt() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.at("05:00").event(Resumed(310.0, 10.0, certain=False))
    service.hear("note warmer next time")
    assert any("in doubt" in said for said in service.at("05:40").calls("05:15"))
    service.hear("heard you")  # a minute of rest, but nobody has looked
    assert not any("in doubt" in said for said in service.at("06:35").calls("05:45"))
    assert any("in doubt" in said for said in service.at("07:00").calls("06:36"))
    service.hear("not ready")
    assert not any("in doubt" in said for said in service.at("08:00").calls("07:01"))


def test_every_zone_in_doubt_has_to_be_looked_at_even_one_that_was_ready() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.hear("starting crown")
    service.at("05:00").hear("crown is on")
    service.at("17:00").hear("nape is ready")
    service.at("18:00").event(Resumed(18 * 60 + 10.0, 10.0, certain=False))
    assert any("Clock in doubt" in said for said in service.calls("18:00"))
    service.hear("crown is not ready")
    assert any("in doubt" in said for said in service.at("18:45").calls("18:30"))
    service.hear("everything is ready")
    assert not any("in doubt" in said for said in service.at("19:40").calls("18:50"))


def test_the_look_back_of_a_minute_does_not_take_a_doubt_away() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.event(Resumed(190.0, 5.0, certain=False))
    service.hear("undo that")
    assert any("in doubt" in said for said in service.at("03:40").calls("03:15"))


def test_between_two_limits_in_words_there_is_a_tone_so_that_a_burn_is_heard() -> None:
    """While it speaks it hears nobody: half of every 20 seconds and more must be left."""
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.at("23:45")  # the limit came at 23:00
    words = [text for at, text in service.said if at >= 23 * 60]
    assert [bool(text) for text in words] == [True, False, True, False, True]
    seconds, sentence = GuessedVoice().seconds_of, max(words, key=len)
    say = Say(1, Priority.LIMIT, 1, "call_limit")
    assert seconds(say, sentence) + seconds(say, "") + 2 * TAIL < 10.0


def test_two_heads_at_their_limits_share_one_tone() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.hear("chair two start root touch")
    service.gate("chair two")
    for line in ("root bowl is mixed", "starting roots", "roots is on"):
        service.hear(f"chair two {line}")
    service.at("60:00")
    moments = [at for at, text in service.said if not text and at >= 55 * 60]
    assert len(moments) == len(set(moments)) > 10


def test_a_misheard_rinse_does_not_silence_a_limit() -> None:
    """ "Is it off?" comes two minutes after the rinse if the limit has come, not after five."""
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.at("23:05").hear("rinsing now")
    assert not any("Is it off" in said for said in service.at("25:00").calls("23:10"))
    assert any("Nape. Is it off" in said for said in service.at("25:06").calls("25:00"))
    service.at("28:20")
    calls = [text for at, text in service.said if at >= 28 * 60 + 5]
    assert calls == ["Chair one. Nape. Over limit. Is it off?", ""]
    service.hear("nape is rinsed")
    assert not any("Is it off" in said for said in service.at("40:00").calls("28:25"))


def test_a_rinse_far_from_its_limit_has_five_minutes() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.at("15:05").hear("rinsing now")
    assert not any("Is it off" in said for said in service.at("20:00").calls("15:10"))
    assert any("Nape. Is it off" in said for said in service.at("20:06").calls("20:00"))


def test_a_head_that_cannot_be_worked_out_silences_nobody() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.hear("chair two start root touch")
    service.gate("chair two")
    for line in ("root bowl is mixed", "starting roots", "roots is on"):
        service.hear(f"chair two {line}")
    broken = service.head(1)
    broken.steps = ()  # from here on nothing about this head can be derived
    broken.file.notes.append("")  # which is noticed as soon as a fact changes
    service.hear("chair two how long")
    service.at("23:20")
    assert 1 in service.salon.broken
    assert any("Chair one. Calls failing" in said for said in service.calls("03:00"))
    assert any("Chair one. Nape. Limit" in said for said in service.calls("23:00"))
    assert any("Chair two" in said and "Check" in said for said in service.calls())


def test_a_burn_that_was_none_is_taken_up_again_by_a_second_phrase() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.at("05:00").hear("it burns")
    assert service.hear("carry on with this service")[0].startswith("Nothing burned on chair one?")
    assert service.head().state == "stopped"
    assert service.hear("confirm chair one")[0].startswith("Taken up")
    assert service.head().state == "place"
    assert any("Nape. Limit" in said for said in service.at("23:05").calls("23:00"))
    incidents = record_of(service.head()).incidents
    assert [text for _, text in incidents] == [
        "burning was reported",
        "nothing burned: taken up again",
    ]


def test_a_service_that_was_refused_is_not_taken_up() -> None:
    service = Service(TWO_ZONES)
    service.hear("start test tap")
    service.hear("no alert test")
    service.hear("carry on with this service")
    service.hear("confirm chair one")
    assert service.head().state == "stopped"


def test_zones_late_by_different_minutes_are_given_no_number() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.hear("starting crown")
    service.at("05:30").hear("crown is on")
    calls = service.at("27:40").calls("26:00")
    both = [text for text in calls if "nape and crown" in text.lower()]
    assert both
    assert not any("over" in text.lower() for text in both)


@pytest.mark.parametrize(
    ("away", "said"),
    [
        (4.9, None),
        (5.0, "Back. Every clock kept running."),
        (30.0, "Back. Every clock kept running."),
        (31.0, "Back after one minute. Every clock kept running."),
        (140.0, "Back after two minutes. Every clock kept running."),
    ],
)
def test_it_says_how_long_it_was_away_unless_it_was_seconds(away: float, said: str | None) -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    told = service.event(Resumed(service.now + away, away, certain=True))
    assert told == ([said] if said else [])


def test_every_call_that_is_up_comes_at_once_when_the_program_is_back() -> None:
    service = Service(TWO_ZONES, ONE_ZONE).nape_on()
    service.at("24:03")  # the limit was passed at 23:00 and is said every ten seconds
    service.event(Resumed(24 * 60 + 4.0, 1.0, certain=True))
    assert any("Rinse now" in said for said in service.calls("24:04"))
