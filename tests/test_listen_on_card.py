"""`swatchword listen` in real time on a virtual sound card, and everything that may go wrong.

Real processes, real sounddevice, the real disk; the room is a PulseAudio null sink.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from assistant.core.events import DeviceBack, DeviceLost, SpeechDone
from assistant.edges.recogniser import Model, bundled_model
from assistant.edges.sound_card import SoundCard
from assistant.errors import DeviceError
from tests.edges.virtual_card import VirtualCard
from tests.listen_process import BEFORE, Listening, begun
from tests.wake import WAKE

HOW_LONG = f"{WAKE} how long"
SAID_BEFORE = [*BEFORE, f"{WAKE} nape is on"]
Start = Callable[..., Listening]


@pytest.fixture(scope="module")
def model() -> Model:
    return Model(bundled_model())


@pytest.fixture
def virtual(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[VirtualCard]:
    if missing := VirtualCard.missing():
        pytest.skip(f"no virtual sound card here: {missing}")
    folder = tmp_path / "card"
    folder.mkdir()
    card = VirtualCard(folder)
    for key, value in card.environment.items():
        monkeypatch.setenv(key, value)
    try:
        if not SoundCard().names("output"):
            pytest.skip("no virtual card: apt install libasound2-plugins")
        yield card
    except DeviceError as error:
        pytest.skip(str(error))
    finally:
        card.close()


@pytest.fixture
def start(virtual: VirtualCard, tmp_path: Path) -> Iterator[Start]:
    running: list[Listening] = []

    def started(*more: str) -> Listening:
        running.append(Listening(tmp_path / "sessions", virtual, *more))
        return running[-1]

    yield started
    for each in running:
        if each.running:
            each.kill()


@pytest.fixture
def sessions(tmp_path: Path) -> Path:
    return tmp_path / "sessions"


def words(line: str) -> str:
    """What was said, without its time."""
    return re.split("said|call", line)[1].strip(" \x1b[0m")


def test_killed_in_mid_service_it_goes_on_with_every_clock_right(
    start: Start, sessions: Path, model: Model
) -> None:
    begun(sessions, model, on_for=5 * 60 + 5)
    first = start("--resume")
    first.until("going on with .*root tap")
    first.until("said .*Back after five minutes. Every clock kept running.")
    first.spoken(1)
    first.ask(HOW_LONG)
    answer = words(first.until("said .*Nape: on for"))
    first.kill()  # while it answers
    again = start("--resume")
    again.until("going on with .*root tap")
    again.ask(HOW_LONG)
    assert words(again.until("said .*Nape: on for")) == answer
    assert set(again.spoken(2)) == {"played"}
    assert again.heard() == [*SAID_BEFORE, HOW_LONG, HOW_LONG]
    assert again.interrupt() == 0


def test_a_microphone_that_is_pulled_is_missed_and_found_again(
    start: Start, sessions: Path, model: Model, virtual: VirtualCard
) -> None:
    begun(sessions, model, on_for=60)
    run = start("--resume")
    run.until("said .*Every clock kept running")
    run.spoken(1)
    virtual.unplug()
    run.until("LOST +microphone")
    assert words(run.until("call")) == "Microphone lost. Clocks go on."
    run.spoken(2)
    virtual.plug_in()
    run.until("back +microphone")
    assert words(run.until("said")) == "Microphone is back."
    run.spoken(3)
    run.ask(HOW_LONG)
    assert run.spoken(4) == ["played"] * 4
    assert not any("loudspeaker" in line for line in run.lines)
    assert run.interrupt() == 0


def test_a_full_disk_stops_no_clock_and_nothing_is_lost_when_there_is_room_again(
    start: Start, sessions: Path, model: Model
) -> None:
    begun(sessions, model, on_for=60)
    run = start("--resume")
    run.until("said .*Every clock kept running")
    run.spoken(1)
    run.disk_full(True)
    run.ask(HOW_LONG)
    run.until("said .*Nape: on for")
    run.until("LOST +disk")
    assert words(run.until("call")) == "Disk is failing. Clocks go on."
    assert run.heard() == SAID_BEFORE  # the disk has not seen it
    run.disk_full(False)
    run.say(HOW_LONG)
    run.until("back +disk")
    run.until("said .*Disk is back.")
    run.kill()
    assert run.heard()[: len(SAID_BEFORE) + 1] == [*SAID_BEFORE, HOW_LONG]


def test_a_player_stopped_in_mid_call_says_the_call_again(
    start: Start, sessions: Path, model: Model, virtual: VirtualCard
) -> None:
    begun(sessions, model, on_for=26 * 60)
    run = start("--resume")
    run.until("said .*Every clock kept running")
    run.until("call .*Nape. Limit. Rinse now")
    before = len(run.spoken(1))
    virtual.silence()
    run.until("call .*Nape")
    assert set(run.spoken(before + 2)) <= {"played", "cut"}
    assert not any("LOST" in line for line in run.lines)


def test_without_any_sound_the_call_rings_and_flashes_on_the_screen(
    start: Start, sessions: Path, model: Model, virtual: VirtualCard
) -> None:
    begun(sessions, model, on_for=26 * 60)
    run = start("--resume")
    run.until("said .*Every clock kept running")
    run.spoken(1)
    virtual.remove()
    run.until("LOST +loudspeaker")
    line = run.until("(call|tone) .*[Nn]ape.* Rinse now")
    assert line.startswith("\a\x1b[7m")
    assert line.endswith("\x1b[0m")
    virtual.restore()
    run.until("back +loudspeaker")
    run.until("call .*[Nn]ape")
    ended = [r.event for r in run.records()]
    lost = [e.device for e in ended if isinstance(e, DeviceLost)]
    assert sorted(lost) == ["loudspeaker", "microphone"]
    assert any(isinstance(e, DeviceBack) and e.device == "loudspeaker" for e in ended)
    assert any(isinstance(e, SpeechDone) and e.outcome == "failed" for e in ended)
