"""The marks of a service come from its facts, whatever happened."""

from __future__ import annotations

import pytest

from assistant.core.events import Priority
from assistant.core.timeline import SaidMark, StageBand, lane, timeline
from tests.core.recipes import recipe, stage, window, zone
from tests.core.service import Service

M = 60.0
TAP = recipe(
    stage(
        zone("nape", window=window(5, 10, 20)),
        zone("crown", window=window(8, 12, 30)),
        zone("face frame", window=window(3, 5, 20), optional=True),
    )
)


def served() -> Service:
    """Nape on at 2, crown at 6, a look at the nape at 8, rinse from 16 to 18."""
    service = Service(TAP)
    service.hear("start test tap")
    service.gate()
    service.hear("bowl is mixed")
    service.at("01:00").hear("starting nape")
    service.at("02:00").hear("nape is on")
    service.at("06:00").hear("crown is on")
    service.at("06:30").hear("skip the face frame")
    service.at("08:00").hear("nape is not ready")
    service.at("16:00").hear("rinsing now")
    service.at("18:00").hear("all rinsed")
    return service


def test_what_one_heads_lane_tells() -> None:
    service = served()
    made = lane(service.head())
    (band,) = made.stages
    nape, crown, frame = band.zones
    assert (made.chair, made.recipe) == (1, "Test tap")
    assert (nape.pass_began_at, nape.on_at) == (1 * M, 2 * M)
    assert (nape.check_at, nape.target_at, nape.limit_at) == (7 * M, 12 * M, 22 * M)
    assert [(check.at, check.answer) for check in nape.checks] == [(8 * M, "not ready")]
    assert (crown.on_at, crown.rinsing_at, crown.rinsed_at) == (6 * M, 16 * M, 18 * M)
    assert frame.left_out
    assert frame.on_at is None


def test_the_rinse_window_stays_when_all_is_rinsed() -> None:
    """Hand-worked: nape [7, 22], crown [14, 36]: together 14 to 22, closed by the nape."""
    (band,) = lane(served().head()).stages
    assert (band.opens_at, band.closes_at, band.closed_by) == (14 * M, 22 * M, "nape")
    assert band.fits


def test_a_window_that_is_empty_or_absent_does_not_fit() -> None:
    assert not StageBand("foils", (), 51 * M, 43 * M, "back left").fits
    assert not StageBand("foils", ()).fits


def test_heads_come_in_order_of_chair() -> None:
    service = Service(TAP)
    for chair in ("three", "one"):
        service.hear(f"chair {chair} start test tap")
    said = [SaidMark(0.0, None, Priority.DUE, "Microphone lost.")]
    made = timeline("Two", service.salon.heads.values(), 100.0, said)
    assert [head.chair for head in made.heads] == [1, 3]
    assert made.said[0].text == "Microphone lost."
    assert all(bar.on_at is None for head in made.heads for bar in head.stages[0].zones)


def test_a_burn_is_marked_when_it_was_said() -> None:
    service = served()
    burned = Service(TAP)
    burned.hear("start test tap")
    burned.gate()
    burned.hear("bowl is mixed")
    burned.at("02:00").hear("nape is on")
    burned.at("09:00").hear("it burns")
    assert lane(burned.head()).burns_at == pytest.approx(9 * M)
    assert lane(service.head()).burns_at is None
