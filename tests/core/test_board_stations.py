"""Several devices on one board: chairs, times, silence."""

from __future__ import annotations

import pytest

from assistant.core.board_frame import Frame
from assistant.core.board_stations import SILENT_SECONDS, Station, merged, station
from assistant.core.events import DeviceLost
from assistant.core.snapshot import snapshot
from tests.core.recipes import TWO_ZONES
from tests.core.service import Service

NOW = 5000.0  # the board's own line of time


def device(until: str, beat: int = 1) -> Frame:
    """A device with one chair, its nape on since 0:00."""
    service = Service(TWO_ZONES)
    service.hear("start test tap")
    service.gate()
    for line in ("root bowl is mixed", "starting nape", "nape is on"):
        service.hear(line)
    service.at(until)
    service.event(DeviceLost(service.now, "microphone"))
    return Frame(beat, snapshot(service.salon), "heard", "said")


def test_each_device_keeps_its_minutes_and_gets_the_salons_chairs() -> None:
    both = merged([station(3, device("04:00"), NOW), station(1, device("09:00"), NOW)], NOW, 1)
    assert [head.chair for head in both.view.heads] == [1, 3]
    nape = [head.zones[0] for head in both.view.heads]
    assert [zone.limit_at for zone in nape] == [NOW + 11 * 60, NOW + 16 * 60]  # of twenty
    assert [zone.on_at for zone in nape] == [NOW - 9 * 60, NOW - 4 * 60]
    opens = [head.window_opens for head in both.view.heads]
    assert opens == [NOW - 4 * 60, NOW + 60]
    coming = [(d.chair, d.kind, d.at) for d in both.view.due if not d.up]
    assert (1, "due", NOW + 60) in coming
    assert (3, "check", NOW + 60) in coming
    assert both.view.lost == ("microphone of chair 1", "microphone of chair 3")


def test_what_is_up_anywhere_comes_first() -> None:
    both = merged([station(1, device("04:00"), NOW), station(3, device("20:01"), NOW)], NOW, 1)
    assert (both.view.due[0].chair, both.view.due[0].kind) == (3, "limit")


def test_a_device_without_news_is_silent_and_its_clocks_are_still_shown() -> None:
    one = station(3, device("04:00"), NOW)
    assert not merged([one], NOW + SILENT_SECONDS, 1).view.lost[1:]
    late = merged([one], NOW + SILENT_SECONDS + 1, 2)
    silent = [d for d in late.view.due if d.kind == "silent"]
    assert [(d.chair, d.up, d.at, d.todo) for d in silent] == [
        (3, True, NOW, "device is silent, look")
    ]
    assert late.view.lost[-1] == "chair 3 is silent"
    assert late.view.heads[0].zones[0].limit_at == NOW + 16 * 60


def test_a_limit_goes_before_a_silent_device() -> None:
    late = merged([station(1, device("20:01"), NOW)], NOW + 60, 1)
    kinds = [d.kind for d in late.view.due if d.up]
    assert kinds.index("limit") < kinds.index("silent")


def test_news_that_a_broker_kept_is_not_taken_for_alive() -> None:
    kept = station(2, device("04:00"), NOW, age=90.0)
    assert kept.silent(NOW)
    shown = merged([kept], NOW, 1)
    assert shown.view.heads[0].zones[0].limit_at == NOW + 16 * 60 - 90
    assert "chair 2 is silent" in shown.view.lost


def test_nobody_there_is_an_empty_board() -> None:
    assert merged([], NOW, 4).view.heads == ()


@pytest.mark.parametrize("chair", [0, 13, True, "2", 1.0])
def test_a_chair_that_cannot_be_is_refused(chair: object) -> None:
    with pytest.raises(ValueError, match="no chair"):
        station(chair, device("04:00"), NOW)  # type: ignore[arg-type] # as it comes from outside


def test_a_frame_of_the_wrong_kind_is_refused() -> None:
    frame = device("04:00")
    wrong = Frame(1, frame.view, "a", "b")
    object.__setattr__(wrong, "view", type(frame.view)("x", "open", (), (), (), 0.0))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="not a board's frame"):
        station(1, wrong, NOW)
    assert isinstance(station(1, frame, NOW), Station)


def test_an_answered_call_is_no_longer_the_first_thing_to_do() -> None:
    service = Service(TWO_ZONES)
    service.hear("start test tap")
    service.gate()
    for line in ("root bowl is mixed", "starting nape", "nape is on", "ask the stylist"):
        service.hear(line)
    service.at("11:00")  # a strand check is due as well

    def first() -> str:
        return snapshot(service.salon).due[0].kind

    assert first() == "stylist"
    service.hear("heard you")
    assert first() != "stylist"
    assert any(due.kind == "stylist" and due.up for due in snapshot(service.salon).due)
