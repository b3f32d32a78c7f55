"""When is a microphone lost, and when is it only slow? On a card and a clock of the test's own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import pytest

from assistant.core.events import DeviceBack, DeviceLost, Event
from assistant.edges.loudspeaker import Loudspeaker
from assistant.edges.microphone import (
    RETRY,
    SILENT,
    SLOW_START,
    STOOD_STILL,
    Frame,
    Microphone,
)
from assistant.edges.sound_card import Take
from assistant.errors import DeviceError

BLOCK = bytes(3200)
LOOK = 0.25


@dataclass
class Line:
    """An open input of the desk."""

    overflows: int = 0
    closed: bool = False

    def close(self) -> None:
        self.closed = True


@dataclass
class Desk:
    """A card, a clock and what was told."""

    at: float = 0.0
    there: bool = True
    opened: list[Line] = field(default_factory=list)
    told: list[Event] = field(default_factory=list)
    take: Take = print

    def open_input(self, name: str, take: Take) -> Line:
        if not self.there:
            raise DeviceError("no microphone: plug one in")
        self.take = take
        self.opened.append(Line())
        return self.opened[-1]

    def open_output(self, name: str) -> Loudspeaker:
        raise DeviceError("no loudspeaker on this desk")

    def now(self) -> float:
        return self.at


Pass = Callable[..., None]


@pytest.fixture
def desk() -> Desk:
    return Desk()


@pytest.fixture
def microphone(desk: Desk) -> Microphone:
    made = Microphone(desk, "", desk.now, desk.told.append)
    made.start()
    return made


@pytest.fixture
def passes(desk: Desk, microphone: Microphone) -> Pass:
    """Time passes with a look every quarter of a second, with or without sound."""

    def passed(seconds: float, *, sound: bool) -> None:
        for _ in range(round(seconds / LOOK)):
            desk.at += LOOK
            if sound:
                desk.take(BLOCK)
            microphone.look()

    return passed


def test_a_block_tells_its_rate_and_when_it_had_come(desk: Desk, microphone: Microphone) -> None:
    desk.at = 7.0
    desk.take(bytes(8820))
    assert microphone.frames.get_nowait() == Frame(7.0, bytes(8820), 44_100)


def test_one_second_without_sound_is_a_loss(desk: Desk, passes: Pass) -> None:
    passes(10.0, sound=True)
    passes(SILENT, sound=False)
    assert desk.told == []
    passes(LOOK, sound=False)
    assert desk.told == [DeviceLost(10.0 + SILENT + LOOK, "microphone")]
    assert desk.opened[0].closed


def test_a_device_may_take_a_moment_for_its_first_sound(desk: Desk, passes: Pass) -> None:
    """A null sink took two seconds (measured), which was told as a loss."""
    passes(SLOW_START, sound=False)
    assert desk.told == []
    passes(LOOK, sound=False)
    assert [type(e) for e in desk.told] == [DeviceLost]


def test_one_that_is_not_there_at_the_start_is_lost_until_it_comes(desk: Desk) -> None:
    desk.there = False
    microphone = Microphone(desk, "", desk.now, desk.told.append)
    microphone.start()
    microphone.look()
    assert [type(e) for e in desk.told] == [DeviceLost]
    desk.there, desk.at = True, RETRY
    microphone.look()
    desk.take(BLOCK)
    microphone.look()
    assert [type(e) for e in desk.told] == [DeviceLost, DeviceBack]


def test_it_is_looked_for_every_two_seconds_until_it_is_back(desk: Desk, passes: Pass) -> None:
    passes(10.0, sound=True)
    desk.there = False
    passes(6.0, sound=False)
    desk.there = True
    passes(RETRY, sound=False)
    assert len(desk.opened) == 2
    passes(1.0, sound=True)
    assert [type(e) for e in desk.told] == [DeviceLost, DeviceBack]
    passes(10.0, sound=True)
    assert len(desk.told) == len(desk.opened) == 2


def test_a_machine_that_stood_still_lost_nothing(
    desk: Desk, microphone: Microphone, passes: Pass
) -> None:
    """A laptop that slept, or a processor that was busy: no look happened either."""
    passes(10.0, sound=True)
    desk.at += STOOD_STILL + 30.0
    microphone.look()
    assert desk.told == []
    passes(1.0, sound=True)
    assert desk.told == []


def test_a_microphone_that_slept_with_the_machine_is_noticed(
    desk: Desk, microphone: Microphone, passes: Pass
) -> None:
    passes(10.0, sound=True)
    desk.at += 30.0
    microphone.look()
    passes(SILENT + LOOK, sound=False)
    assert [type(e) for e in desk.told] == [DeviceLost]


def test_overflows_are_counted_over_every_opening(
    desk: Desk, microphone: Microphone, passes: Pass
) -> None:
    passes(1.0, sound=True)
    desk.opened[0].overflows = 2
    passes(SILENT + LOOK + RETRY, sound=False)
    desk.opened[1].overflows = 3
    assert microphone.overflows == 5
