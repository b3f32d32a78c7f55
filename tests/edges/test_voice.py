"""The live voice on a loudspeaker that keeps what it was given. No test waits for sound."""

from __future__ import annotations

import queue
import sys
from array import array
from collections.abc import Callable, Iterator

import pytest

from assistant.core.events import Priority, Say, SpeechDone, Unsay
from assistant.edges import loudspeaker as loudspeakers
from assistant.edges import tones
from assistant.edges.loudspeaker import BLOCK, SilentLoudspeaker, SoundCard
from assistant.edges.renderer import Rendered
from assistant.edges.voice import LiveVoice
from assistant.edges.wav_files import Sound
from assistant.errors import DeviceError

RATE = SilentLoudspeaker.rate
SOON = 10.0  # seconds after which a test gives up


class Hums:
    """Sentences as level sounds: 0.1 s for each letter; "?" cannot be spoken."""

    def rendered(self, text: str) -> Rendered:
        if "?" in text:
            return Rendered(tones.beep(RATE), spoken=False)
        return Rendered(Sound(RATE, array("h", [1000] * round(0.1 * RATE * len(text)))), True)


class Room:
    """A voice, what it reported, and a hook that is called before every block."""

    def __init__(self) -> None:
        self.done: queue.Queue[SpeechDone] = queue.Queue()
        self.troubles: list[str] = []
        self.before_block: Callable[[int], None] = lambda number: None
        self.blocks = 0
        self.opened: list[SilentLoudspeaker] = []
        self.cannot_open = False
        self.voice = LiveVoice(
            Hums(), self.open, now=lambda: float(self.blocks), done=self.done.put,
            trouble=self.troubles.append,
        )  # fmt: skip

    def open(self) -> SilentLoudspeaker:
        if self.cannot_open:
            raise DeviceError("no loudspeaker: none is there: plug one in")
        self.opened.append(SilentLoudspeaker(self.hear))
        return self.opened[-1]

    def hear(self, block: array[int]) -> None:
        self.blocks += 1
        self.before_block(self.blocks)

    def say(self, number: int, text: str, priority: Priority = Priority.GUIDE) -> None:
        self.voice.say(Say(number, priority, 1, "say_text", call=f"call/{number}"), text)

    def ends(self, count: int) -> list[tuple[int, str]]:
        found = [self.done.get(timeout=SOON) for _ in range(count)]
        return [(end.say, end.outcome) for end in found]


@pytest.fixture
def room() -> Iterator[Room]:
    made = Room()
    yield made
    made.voice.close()


def test_a_sentence_is_played_whole_after_its_tone(room: Room) -> None:
    room.say(1, "abcde", Priority.CHECK)
    assert room.ends(1) == [(1, "played")]
    lead = tones.lead(Priority.CHECK, RATE).samples
    assert room.opened[0].taken == lead + array("h", [1000] * round(0.5 * RATE))


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
    assert taken[: 3 * round(BLOCK * RATE)] == array("h", [1000] * 3 * round(BLOCK * RATE))
    assert taken[3 * round(BLOCK * RATE) :][: len(limit)] == limit
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
    assert room.ends(1) == [(1, "failed")]
    assert room.troubles == ["could not be spoken: what?"]
    lead = tones.lead(Priority.LIMIT, RATE).samples
    assert room.opened[0].taken == lead + tones.beep(RATE).samples


def test_a_loudspeaker_that_fails_is_reported_and_opened_again(room: Room) -> None:
    def breaks(number: int) -> None:
        if number == 2:
            raise DeviceError("no loudspeaker: it was unplugged: plug it in")

    room.before_block = breaks
    room.say(1, "aaaa")
    room.say(2, "bb")
    assert room.ends(2) == [(1, "failed"), (2, "played")]
    assert room.troubles == ["no loudspeaker: it was unplugged: plug it in"]
    assert [opened.closed for opened in room.opened] == [True, False]


def test_no_loudspeaker_at_all_fails_each_sentence_and_nothing_else(room: Room) -> None:
    room.cannot_open = True
    room.say(1, "a")
    assert room.ends(1) == [(1, "failed")]
    room.cannot_open = False
    room.say(2, "b")
    assert room.ends(1) == [(2, "played")]


def test_it_tells_when_it_speaks_and_for_a_tail_after(room: Room) -> None:
    """Here a second is a block: the clock of this room counts blocks."""
    seen: list[bool] = []
    room.before_block = lambda number: seen.append(room.voice.speaking(0.0))
    room.say(1, "aaa")
    room.ends(1)
    assert seen == [True, True, True]
    assert not room.voice.speaking(0.0)
    assert room.voice.speaking(0.4)


def test_volume_never_wraps_around(room: Room) -> None:
    room.voice.volume = 50.0
    room.say(1, "a")
    room.ends(1)
    assert set(room.opened[0].taken) == {32_767}


def test_stopping_cuts_what_is_spoken(room: Room) -> None:
    def stop(number: int) -> None:
        if number == 2:
            room.voice.stop()

    room.before_block = stop
    room.say(1, "a" * 90)
    assert room.ends(1) == [(1, "cut")]
    room.voice.close()
    assert room.opened[0].closed
    assert room.blocks == 2


def test_without_portaudio_one_line_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(DeviceError, match="apt install libportaudio2"):
        SoundCard()


def test_importing_the_edge_needs_no_sound_card() -> None:
    assert "sounddevice" not in vars(loudspeakers)
