"""A live session without a sound card: the same parts on a room of recordings, hours in minutes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from assistant import app
from assistant.core.events import DeviceBack, DeviceLost, Event, Heard, Priority, Say, SpeechDone
from assistant.edges import recordings, wav_files
from assistant.edges.clock import VirtualClock
from assistant.edges.journal import latest, read
from assistant.edges.played_room import PlayedRoom
from assistant.edges.recogniser import Model, bundled_model
from assistant.edges.renderer import Renderer
from assistant.edges.settings_file import Settings
from assistant.live import Live
from tests.wake import WAKE


@pytest.fixture(scope="module")
def model() -> Model:
    return Model(bundled_model())


@pytest.fixture(scope="module")
def renderer() -> Renderer:
    return Renderer()


class Session:
    """A session in a played room, and everything that happened in it."""

    def __init__(
        self,
        model: Model,
        renderer: Renderer,
        folder: Path,
        room: PlayedRoom,
        *,
        resume: Path | None = None,
        headset: bool = False,
    ) -> None:
        self.room, self.clock = room, VirtualClock()
        settings = Settings(headset=headset)
        chair = app.Chair(model, room, renderer.rendered, settings, self.clock)
        self.live: Live = app.live_session(chair, app.read_book(), folder, resume)
        self.events: list[Event] = []
        self.live.parts.hub.watch(lambda event, effects: self.events.append(event))

    def play(self, text: str, at: float) -> float:
        path = recordings.recording_for(text, "stylist", "clean", None)
        return self.room.play(wav_files.read(path), at)

    def at(self, when: float, what: Callable[[], None]) -> None:
        self.clock.at(when, what)

    def run(self, until: float) -> None:
        self.live.begin()
        self.live.run_in(self.room, self.clock, until)
        self.live.close()

    def heard(self) -> list[str]:
        return [event.text for event in self.events if isinstance(event, Heard)]


Make = Callable[..., Session]


@pytest.fixture
def make(model: Model, renderer: Renderer, tmp_path: Path) -> Make:
    def made(room: PlayedRoom, resume: Path | None = None, *, headset: bool = False) -> Session:
        return Session(model, renderer, tmp_path, room, resume=resume, headset=headset)

    return made


START, TEST = f"{WAKE} start root tap", "clear test three days ago"


def test_a_command_and_the_answer_to_its_question_are_heard(make: Make) -> None:
    """The answer needs no wake word; the echo of our own voice, at equal level, is not heard."""
    session = make(PlayedRoom(echo=1.0))
    session.play(START, 6.0)
    ends = session.play(TEST, 17.0)
    session.run(24.0)
    assert session.heard() == [START, TEST]
    assert session.live.parts.hub.failures == 0
    known = [e.at for e in session.events if isinstance(e, Heard)][-1]
    assert known <= ends + 0.7


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_a_microphone_of_another_rate_is_understood(make: Make, rate: int) -> None:
    session = make(PlayedRoom(rate))
    session.play(START, 6.0)
    session.run(10.0)
    assert session.heard() == [START]


def test_an_answer_that_nobody_asked_for_is_not_even_passed_on(make: Make) -> None:
    session = make(PlayedRoom())
    session.play(TEST, 6.0)
    session.run(12.0)
    assert session.heard() == []


def test_the_key_stands_for_the_wake_word(make: Make) -> None:
    session = make(PlayedRoom())
    session.at(5.8, session.live.parts.ears.wake)
    session.play(TEST, 6.0)
    session.run(12.0)
    heard = [e for e in session.events if isinstance(e, Heard)]
    assert [(e.text, e.woken) for e in heard] == [(TEST, True)]


def test_own_speech_alone_triggers_nothing(make: Make) -> None:
    """A minute of its own sentences fed back at equal level (hours: tests.bench.own_speech)."""
    session = make(PlayedRoom(echo=1.0))
    for half in range(4):
        hub = session.live.parts.hub
        session.at(8.0 + 13 * half, lambda: session.live.parts.ears.wake())
        session.at(9.0 + 13 * half, lambda hub=hub: hub.handle(_ask(session.clock.now())))
    session.run(60.0)
    spoken = [e for e in session.events if isinstance(e, SpeechDone)]
    assert len(spoken) >= 5
    assert session.heard() == [f"{WAKE} what can i say"] * 4


@pytest.mark.parametrize(("headset", "heard"), [(True, [START]), (False, [])])
def test_only_by_headset_one_may_speak_while_it_speaks(
    make: Make, headset: bool, heard: list[str]
) -> None:
    """The greeting lasts four seconds; a headset's microphone hears it 20 dB down."""
    session = make(PlayedRoom(echo=0.1), headset=headset)
    session.play(START, 1.5)
    session.run(6.0)
    spoken = [e.at for e in session.events if isinstance(e, SpeechDone)]
    assert spoken[0] > 3.0
    assert session.heard() == heard


def test_a_call_of_tones_leaves_a_command_its_hearing(make: Make) -> None:
    """Priority 1 sounds every ten seconds; by turns it is a tone, which shuts no ear."""
    session = make(PlayedRoom(echo=0.3))
    tone = Say(99, Priority.LIMIT, 1, "call_limit", tone_only=True)
    session.at(6.4, lambda: session.live.parts.voice.say(tone, ""))
    session.play(START, 6.0)
    session.run(12.0)
    ended = [e for e in session.events if isinstance(e, SpeechDone) and e.say == 99]
    assert [e.outcome for e in ended] == ["played"]
    assert session.heard() == [START]


def _ask(at: float) -> Heard:
    return Heard(at, f"{WAKE} what can i say", at)


def test_a_lost_microphone_is_told_and_looked_for(make: Make) -> None:
    session = make(PlayedRoom())

    def plugged(there: bool) -> None:
        session.room.microphone_there = there

    session.at(6.0, lambda: plugged(False))
    session.at(15.0, lambda: plugged(True))
    session.play(START, 26.0)
    session.run(31.0)
    told = [e for e in session.events if isinstance(e, DeviceLost | DeviceBack)]
    assert [(type(e), e.device) for e in told] == [
        (DeviceLost, "microphone"),
        (DeviceBack, "microphone"),
    ]
    assert 7.0 <= told[0].at <= 7.3
    assert 15.0 <= told[1].at <= 17.3
    assert session.heard() == [START]


def test_a_lost_loudspeaker_stops_nothing(make: Make) -> None:
    session = make(PlayedRoom())
    session.room.loudspeaker_there = False

    def plug_in() -> None:
        session.room.loudspeaker_there = True

    session.at(12.0, plug_in)
    session.play(START, 6.0)
    session.run(40.0)
    told = [type(e) for e in session.events if isinstance(e, DeviceLost | DeviceBack)]
    assert told == [DeviceLost, DeviceBack]
    assert session.heard() == [START]


def test_a_session_goes_on_from_its_journal(make: Make, tmp_path: Path) -> None:
    first = make(PlayedRoom())
    first.play(START, 6.0)
    first.run(10.0)
    journal = latest(tmp_path)
    assert journal is not None
    second = make(PlayedRoom(), journal)
    second.run(5.0)
    salon = second.live.parts.hub.salon
    assert {chair: head.recipe.name for chair, head in salon.heads.items()} == {1: "root tap"}
    records, damage = read(journal)
    assert damage is None
    assert sum(isinstance(r.event, Heard) for r in records) == 1


def test_what_was_lost_when_the_program_ended_is_told_as_back_when_it_is_there_again(
    make: Make, tmp_path: Path
) -> None:
    """Else "Sound is failing" would be called for the rest of the day."""
    first = make(PlayedRoom())

    def unplug() -> None:
        first.room.microphone_there = first.room.loudspeaker_there = False

    first.at(6.0, unplug)
    first.run(12.0)
    lost = {e.device for e in first.events if isinstance(e, DeviceLost)}
    assert lost == {"microphone", "loudspeaker"}
    second = make(PlayedRoom(), latest(tmp_path))
    second.run(18.0)
    back = {e.device for e in second.events if isinstance(e, DeviceBack)}
    assert back == lost
    assert second.live.parts.hub.salon.lost == {}
