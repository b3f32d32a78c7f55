"""The live voice on a loudspeaker that keeps what it was given. No test waits for sound."""

from __future__ import annotations

from array import array
from collections.abc import Callable

import pytest

from assistant.core.events import DeviceBack, DeviceLost, Event, Priority, Say, SpeechDone, Unsay
from assistant.edges import tones
from assistant.edges.gate import TAIL, Gate
from assistant.edges.loudspeaker import BLOCK, WAKE, SilentLoudspeaker
from assistant.edges.renderer import Rendered
from assistant.edges.sound_card import Input, Take
from assistant.edges.voice import HOLD, LOUD, SOFT, Voice, volume
from assistant.edges.wav_files import Sound
from assistant.errors import DeviceError

RATE = SilentLoudspeaker.rate
STEP = round(BLOCK * RATE)
AWAKE = array("h", bytes(2 * round(WAKE * RATE)))


def hums(text: str) -> Rendered:
    """Sentences as level sounds: 0.1 s for each letter; "?" cannot be spoken."""
    if "?" in text:
        return Rendered(tones.beep(RATE), spoken=False)
    return Rendered(Sound(RATE, array("h", [1000] * round(0.1 * RATE * len(text)))), True)


class Room:
    """A card whose seconds are blocks played, a voice on it, and a hook before every block."""

    generation = 0

    def __init__(self) -> None:
        self.told: list[Event] = []
        self.before_block: Callable[[int], None] = lambda number: None
        self.blocks = 0
        self.extra = 0.0
        self.opened: list[SilentLoudspeaker] = []
        self.cannot_open = False
        self.user_speaks = False
        self.gate = Gate()
        self.voice = Voice(
            self, "", hums, self.gate, now=self.now, tell=self.told.append,
            user_speaks=lambda: self.user_speaks, noise=lambda: 0.0,
        )  # fmt: skip

    def now(self) -> float:
        return self.blocks * BLOCK + self.extra

    def open_input(self, name: str, take: Take) -> Input:
        raise DeviceError("no microphone in this room")

    def open_output(self, name: str) -> SilentLoudspeaker:
        if self.cannot_open:
            raise DeviceError("no loudspeaker: none is there: plug one in")
        self.opened.append(SilentLoudspeaker(self.hear))
        return self.opened[-1]

    def refresh(self) -> None:
        self.generation += 1

    def hear(self, block: array[int]) -> None:
        self.blocks += 1
        self.before_block(self.blocks)

    def say(self, number: int, text: str, priority: Priority = Priority.GUIDE) -> None:
        self.voice.say(Say(number, priority, 1, "say_text", call=f"call/{number}"), text)

    def ends(self, count: int) -> list[tuple[int, str]]:
        """Pump until so many sentences ended."""
        for _ in range(2000):
            done = [(e.say, e.outcome) for e in self.told if isinstance(e, SpeechDone)]
            if len(done) >= count:
                return done
            self.voice.pump()
        raise AssertionError(f"only {done} ended")


@pytest.fixture
def room() -> Room:
    return Room()


def test_a_sentence_is_played_whole_after_its_tone(room: Room) -> None:
    room.say(1, "abcde", Priority.CHECK)
    assert room.ends(1) == [(1, "played")]
    lead = tones.lead(Priority.CHECK, RATE).samples
    assert room.opened[0].taken == AWAKE + lead + array("h", [1000] * round(0.5 * RATE))


def test_one_at_a_time_the_urgent_first(room: Room) -> None:
    def while_the_first_is_spoken(number: int) -> None:
        if number == 1:
            room.say(2, "bb", Priority.CHECK)
            room.say(3, "cc", Priority.CHECK)
            room.say(4, "d", Priority.GUIDE)

    room.before_block = while_the_first_is_spoken
    room.say(1, "aaa", Priority.DUE)
    assert room.ends(4) == [(1, "played"), (2, "played"), (3, "played"), (4, "played")]


def test_a_limit_cuts_guidance_within_one_block(room: Room) -> None:
    """150 ms is the promise: not a block of 100 ms more is taken, and the buffer is emptied."""

    def at_the_third(number: int) -> None:
        if number == 3:
            room.say(2, "b", Priority.LIMIT)

    room.before_block = at_the_third
    room.say(1, "a" * 50)
    assert room.ends(2) == [(1, "cut"), (2, "played")]
    assert BLOCK <= 0.15
    taken = room.opened[0].taken
    limit = tones.lead(Priority.LIMIT, RATE).samples
    assert taken[: 3 * STEP] == AWAKE + array("h", [1000] * STEP)
    assert taken[3 * STEP :][: len(limit)] == limit
    assert room.opened[0].hushed == 1


def test_what_is_no_longer_true_is_not_spoken(room: Room) -> None:
    def meanwhile(number: int) -> None:
        if number == 1:
            room.say(2, "b", Priority.CHECK)
            room.say(3, "c", Priority.CHECK)
            room.voice.unsay(Unsay(("call/2",)))

    room.before_block = meanwhile
    room.say(1, "aa", Priority.CHECK)
    assert room.ends(2) == [(1, "played"), (3, "played")]


def test_words_that_cannot_be_made_are_beeped_and_reported(room: Room) -> None:
    room.say(1, "what?", Priority.LIMIT)
    room.say(2, "a")
    assert room.ends(2) == [(1, "played"), (2, "played")]
    lead = tones.lead(Priority.LIMIT, RATE).samples
    beeped = AWAKE + lead + tones.beep(RATE).samples
    assert room.opened[0].taken[: len(beeped)] == beeped
    devices = [e for e in room.told if not isinstance(e, SpeechDone)]
    assert [type(e) for e in devices] == [DeviceLost, DeviceBack]


def test_a_loudspeaker_that_fails_is_reported_and_opened_again(room: Room) -> None:
    def breaks(number: int) -> None:
        if number == 2:
            raise DeviceError("no loudspeaker: it was unplugged: plug it in")

    room.before_block = breaks
    room.say(1, "aaaa")
    room.say(2, "bb")
    assert room.ends(2) == [(1, "failed"), (2, "played")]
    assert [type(e) for e in room.told] == [DeviceLost, SpeechDone, DeviceBack, SpeechDone]
    assert [opened.closed for opened in room.opened] == [True, False]
    assert room.generation == 1


def test_no_loudspeaker_at_all_is_told_once(room: Room) -> None:
    room.cannot_open = True
    room.say(1, "a")
    room.say(2, "b")
    assert room.ends(2) == [(1, "failed"), (2, "failed")]
    assert sum(isinstance(e, DeviceLost) for e in room.told) == 1
    room.cannot_open = False
    room.say(3, "c")
    assert room.ends(3)[-1] == (3, "played")


def test_a_card_looked_at_anew_in_mid_sentence_goes_on(room: Room) -> None:
    def anew(number: int) -> None:
        if number == 3:
            room.refresh()

    room.before_block = anew
    room.say(1, "a" * 9)
    assert room.ends(1) == [(1, "played")]
    assert [opened.closed for opened in room.opened] == [True, False]
    assert len(room.opened[0].taken) + len(room.opened[1].taken) == len(AWAKE) + 9 * STEP


def test_the_gate_is_shut_while_it_speaks_and_for_a_tail_after(room: Room) -> None:
    seen: list[bool] = []
    room.before_block = lambda number: seen.append(room.gate.shut(room.now() - BLOCK, room.now()))
    assert not room.gate.shut(-BLOCK, 0.0)
    room.say(1, "aaa")
    room.ends(1)
    assert seen == [True] * 5
    end = room.now()
    assert room.gate.shut(end + TAIL - 0.01, end + TAIL + 0.09)
    assert not room.gate.shut(end + TAIL, end + TAIL + 0.1)


@pytest.mark.parametrize("priority", list(Priority))
def test_it_waits_for_who_speaks_but_not_for_ever(room: Room, priority: Priority) -> None:
    """A limit waits one second at most, everything else five."""
    room.user_speaks = True
    room.say(1, "a", priority)
    room.voice.pump()
    room.extra = HOLD[priority] - 0.01
    room.voice.pump()
    assert room.blocks == 0
    room.extra = HOLD[priority] + 0.01
    assert room.ends(1) == [(1, "played")]
    assert HOLD[Priority.LIMIT] == 1.0


def test_volume_grows_with_the_noise_up_to_a_cap() -> None:
    assert volume(-80.0) == SOFT
    assert SOFT < volume(-45.0) < volume(-35.0) < LOUD
    assert volume(-10.0) == LOUD


def test_what_was_said_before_a_restart_is_not_said_again(room: Room) -> None:
    room.voice.muted = True
    room.say(1, "a")
    room.voice.muted = False
    room.say(2, "b")
    assert room.ends(1) == [(2, "played")]
