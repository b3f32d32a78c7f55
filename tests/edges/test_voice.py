"""The live voice on a loudspeaker that keeps what it was given. No test waits for sound."""

from __future__ import annotations

import math
from array import array
from collections.abc import Callable
from itertools import pairwise

import pytest

from assistant.core.events import DeviceBack, DeviceLost, Event, Priority, Say, SpeechDone, Unsay
from assistant.edges import tones
from assistant.edges.gate import TAIL, Gate
from assistant.edges.loudspeaker import BLOCK, WAKE, SilentLoudspeaker
from assistant.edges.renderer import Rendered
from assistant.edges.sound_card import Input, Take
from assistant.edges.voice import LOUD, RETRY, SOFT, Voice, volume
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

    def __init__(self) -> None:
        self.told: list[Event] = []
        self.before_block: Callable[[int], None] = lambda number: None
        self.blocks = 0
        self.extra = 0.0
        self.opened: list[SilentLoudspeaker] = []
        self.cannot_open = False
        self.user_speaks = False
        self.noise = 0.0
        self.gate = Gate()
        self.voice = Voice(
            self, "", hums, self.gate, now=self.now, tell=self.told.append,
            user_speaks=lambda: self.user_speaks, noise=lambda: self.noise,
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

    def hear(self, block: array[int]) -> None:
        self.blocks += 1
        self.before_block(self.blocks)

    def say(
        self, number: int, text: str, priority: Priority = Priority.GUIDE, *, fresh: bool = True
    ) -> None:
        say = Say(number, priority, 1, "say_text", call=f"call/{number}", fresh=fresh)
        self.voice.say(say, text)

    def ends(self, count: int) -> list[tuple[int, str]]:
        """Pump until so many sentences ended."""
        for _ in range(2000):
            done = [(e.say, e.outcome) for e in self.told if isinstance(e, SpeechDone)]
            if len(done) >= count:
                return done
            pause = self.voice.pump()
            if pause and not self.user_speaks:
                self.extra += pause
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
    """Not one block more is taken, and the buffer is emptied (150 ms: test_sound_card.py)."""

    def after_one_of_words(number: int) -> None:
        if number == 6:
            room.say(2, "b", Priority.LIMIT)

    room.before_block = after_one_of_words
    room.say(1, "a" * 50)
    assert room.ends(2) == [(1, "cut"), (2, "played")]
    taken = room.opened[0].taken
    limit = tones.lead(Priority.LIMIT, RATE).samples
    before = AWAKE + array("h", [1000] * STEP)
    assert taken[: len(before)] == before
    assert taken[len(before) :][: len(limit)] == limit
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


def test_a_loudspeaker_that_stumbles_is_opened_again_and_the_sentence_said_whole(
    room: Room,
) -> None:
    def stumbles(number: int) -> None:
        if number == 7:
            raise DeviceError("no loudspeaker: it was unplugged: plug it in")

    room.before_block = stumbles
    room.say(1, "aaaa")
    assert room.ends(1) == [(1, "played")]
    assert [type(e) for e in room.told] == [SpeechDone]
    assert [opened.closed for opened in room.opened] == [True, False]
    assert room.opened[1].taken == AWAKE + array("h", [1000] * round(0.4 * RATE))


def test_a_loudspeaker_that_fails_twice_is_reported_and_its_return_too(room: Room) -> None:
    def breaks(number: int) -> None:
        if number in (2, 3):
            raise DeviceError("no loudspeaker: it was unplugged: plug it in")

    room.before_block = breaks
    room.say(1, "aaaa")
    room.say(2, "bb")
    assert room.ends(2) == [(1, "failed"), (2, "played")]
    assert [type(e) for e in room.told] == [DeviceLost, SpeechDone, DeviceBack, SpeechDone]
    assert [opened.closed for opened in room.opened] == [True, True, False]


def test_no_loudspeaker_at_all_is_told_once(room: Room) -> None:
    room.cannot_open = True
    room.say(1, "a")
    room.say(2, "b")
    assert room.ends(2) == [(1, "failed"), (2, "failed")]
    assert sum(isinstance(e, DeviceLost) for e in room.told) == 1
    room.cannot_open = False
    room.say(3, "c")
    assert room.ends(3)[-1] == (3, "played")


def test_without_a_loudspeaker_each_sentence_has_its_time_on_the_screen(room: Room) -> None:
    """Else a call that comes back at once would fail a hundred times and hide the others."""
    room.cannot_open = True
    for number in range(1, 4):
        room.say(number, "a", Priority.LIMIT)
    room.ends(3)
    done = [e.at for e in room.told if isinstance(e, SpeechDone)]
    assert done[0] >= RETRY
    assert all(later - earlier >= RETRY for earlier, later in pairwise(done))


def test_a_lost_loudspeaker_is_looked_for_though_nobody_speaks(room: Room) -> None:
    room.cannot_open = True
    room.say(1, "a")
    room.ends(1)
    room.voice.pump()
    tried = room.now()
    room.cannot_open = False
    room.extra = tried + RETRY - 0.01
    room.voice.pump()
    assert room.opened == []
    room.extra = tried + RETRY
    room.voice.pump()
    assert len(room.opened) == 1
    assert [type(e) for e in room.told] == [DeviceLost, SpeechDone, DeviceBack]


def test_the_gate_is_shut_while_words_sound_and_for_a_tail_after(room: Room) -> None:
    """Neither the silence that wakes the output nor the tone shuts it."""
    seen: list[bool] = []
    room.before_block = lambda number: seen.append(room.gate.shut(room.now() - BLOCK, room.now()))
    room.say(1, "aaa", Priority.CHECK)
    room.ends(1)
    before = len(AWAKE) + len(tones.lead(Priority.CHECK, RATE).samples)
    assert seen == [False] * math.ceil(before / STEP) + [True] * math.ceil(0.3 * RATE / STEP)
    end = room.now()
    assert room.gate.shut(end + TAIL - 0.01, end + TAIL + 0.09)
    assert not room.gate.shut(end + TAIL, end + TAIL + 0.1)


def test_a_call_of_tones_alone_does_not_shut_the_gate(room: Room) -> None:
    seen: list[bool] = []
    room.before_block = lambda number: seen.append(room.gate.shut(room.now() - BLOCK, room.now()))
    room.say(1, "", Priority.LIMIT)
    assert room.ends(1) == [(1, "played")]
    assert len(seen) > 10
    assert not any(seen)
    assert not room.gate.shut(room.now(), room.now() + 0.1)


@pytest.mark.parametrize(
    ("priority", "fresh", "seconds"),
    [
        (Priority.LIMIT, True, 1.0),
        (Priority.LIMIT, False, 3.0),  # an answer to it may be on its way
        (Priority.DUE, True, 5.0),
        (Priority.CHECK, False, 5.0),
        (Priority.GUIDE, False, 5.0),
    ],
)
def test_it_waits_for_who_speaks_but_not_for_ever(
    room: Room, priority: Priority, fresh: bool, seconds: float
) -> None:
    room.user_speaks = True
    room.say(1, "a", priority, fresh=fresh)
    room.voice.pump()
    room.extra = seconds - 0.01
    room.voice.pump()
    assert room.blocks == 0
    room.extra = seconds + 0.01
    assert room.ends(1) == [(1, "played")]


def test_volume_grows_with_the_noise_up_to_a_cap() -> None:
    assert volume(-80.0) == SOFT
    assert SOFT < volume(-45.0) < volume(-35.0) < LOUD
    assert volume(-10.0) == LOUD


def test_it_speaks_softer_in_a_quiet_room(room: Room) -> None:
    """The loudness that the ears measured when the sentence began."""
    room.noise = -80.0
    room.say(1, "a")
    room.ends(1)
    assert max(room.opened[0].taken) == round(1000 * SOFT)
    room.noise = -20.0
    room.say(2, "a")
    room.ends(2)
    assert max(room.opened[0].taken) == round(1000 * LOUD)


def test_a_sentence_that_cannot_be_made_at_all_is_told_and_the_next_one_sounds(
    room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever goes wrong in making it: the voice's thread must not end."""
    before = hums("x")

    def broken(text: str) -> Rendered:
        if text == "bad":
            raise MemoryError
        return before

    monkeypatch.setattr(room.voice, "_render", broken)
    room.say(1, "bad")
    room.say(2, "a")
    assert room.ends(2) == [(1, "failed"), (2, "played")]


def test_what_was_said_before_a_restart_is_not_said_again(room: Room) -> None:
    room.voice.muted = True
    room.say(1, "a")
    room.voice.muted = False
    room.say(2, "b")
    assert room.ends(1) == [(2, "played")]
