"""What must not be taken back, and what does not settle a doubt."""

from __future__ import annotations

from assistant.core.events import Resumed
from tests.core.recipes import TWO_ZONES, recipe, stage, zone
from tests.core.service import Service

ONE_ZONE = recipe(stage(zone("roots")), name="root touch")


def _with_one_clock() -> Service:
    service = Service(TWO_ZONES, ONE_ZONE)
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    service.hear("starting nape")
    service.at("03:00").hear("nape is on")
    return service


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
    service = _with_one_clock()
    service.at("05:00").hear("it burns")
    service.hear("undo that")
    assert service.head().state == "stopped"
    assert any("Burning" in said for said in service.at("05:30").calls("05:05"))


def test_a_note_does_not_settle_a_clock_in_doubt() -> None:
    service = _with_one_clock()
    service.at("05:00").event(Resumed(310.0, 10.0, certain=False))
    service.hear("note warmer next time")
    assert any("in doubt" in said for said in service.at("05:40").calls("05:15"))
    service.hear("heard you")
    assert not any("in doubt" in said for said in service.at("07:30").calls("05:45"))


def test_every_call_that_is_up_comes_at_once_when_the_program_is_back() -> None:
    service = _with_one_clock()
    service.at("24:03")  # the limit was passed at 23:00 and is said every ten seconds
    service.event(Resumed(24 * 60 + 4.0, 1.0, certain=True))
    assert any("Rinse now" in said for said in service.calls("24:04"))
