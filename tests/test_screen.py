"""What the screen shows of a live session."""

from __future__ import annotations

from assistant.cli.screen import Screen
from assistant.core.events import ClockDue, DeviceBack, DeviceLost, Heard, Priority, Say
from tests.wake import WAKE

LIMIT = Say(1, Priority.LIMIT, 1, "call_limit", call="limit/1/nape")
TONE = Say(2, Priority.LIMIT, 1, "call_limit", call="limit/1/nape", tone_only=True)
ANSWER = Say(3, Priority.GUIDE, None, "hello")


def _sentence(say: Say) -> str:
    return "" if say.tone_only else f"words of {say.phrase}."


def test_every_line_has_its_time_and_its_kind() -> None:
    screen = Screen(_sentence)
    assert screen.lines(Heard(61.0, f"{WAKE} [unk]", 60.0), [ANSWER]) == [
        f"01:01  heard   {WAKE} ...",
        "01:01  said    words of hello.",
    ]
    assert screen.lines(ClockDue(62.0), [LIMIT]) == ["01:02  call    words of call_limit."]


def test_a_tone_is_shown_with_the_words_it_stands_for() -> None:
    assert Screen(_sentence).lines(ClockDue(5.0), [TONE]) == ["00:05  tone    words of call_limit."]


def test_without_sound_every_sentence_rings_and_flashes_until_it_is_back() -> None:
    screen = Screen(_sentence)
    assert screen.lines(DeviceLost(1.0, "loudspeaker"), [LIMIT]) == [
        "00:01  LOST    loudspeaker; the clocks go on",
        "\a\x1b[7m00:01  call    words of call_limit.\x1b[0m",
    ]
    assert screen.lines(ClockDue(2.0), [TONE])[0].startswith("\a\x1b[7m00:02  tone    words")
    assert screen.lines(DeviceBack(3.0, "loudspeaker"), [ANSWER]) == [
        "00:03  back    loudspeaker",
        "00:03  said    words of hello.",
    ]


def test_a_lost_microphone_does_not_ring() -> None:
    screen = Screen(_sentence)
    assert screen.lines(DeviceLost(1.0, "microphone"), [LIMIT])[1][0] == "0"
