"""The real sounddevice path on a virtual card: what is played into a null sink is heard back.

Needs PortAudio, PulseAudio and its ALSA plugin (`.ci/run` installs them); no kernel module.
"""

from __future__ import annotations

import queue
import subprocess
import threading
import time
from array import array
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.edges import sound_card
from assistant.edges.ears import loudness
from assistant.edges.loudspeaker import BLOCK, Loudspeaker
from assistant.edges.renderer import RATE as SPOKEN_RATE
from assistant.edges.sound_card import SoundCard
from assistant.errors import DeviceError
from tests.edges.virtual_card import VirtualCard

SOON = 10.0  # seconds after which a test gives up
TONE = array("h", [8000 if n // 20 % 2 else -8000 for n in range(round(BLOCK * SPOKEN_RATE))])
CUT_WITHIN = 0.150  # seconds, the promise


@pytest.fixture(scope="module")
def virtual(tmp_path_factory: pytest.TempPathFactory) -> Iterator[VirtualCard]:
    if missing := VirtualCard.missing():
        pytest.skip(f"no virtual sound card here: {missing}")
    card = VirtualCard(tmp_path_factory.mktemp("card"))
    with pytest.MonkeyPatch.context() as patch:
        for key, value in card.environment.items():
            patch.setenv(key, value)
        yield card
    card.close()


@pytest.fixture
def card(virtual: VirtualCard) -> SoundCard:
    try:
        found = SoundCard()
    except DeviceError as error:
        pytest.skip(str(error))
    if not found.names("output"):
        pytest.skip("no virtual card: apt install libasound2-plugins")
    return found


class Heard:
    """What a microphone hands over."""

    def __init__(self) -> None:
        self.blocks: queue.Queue[bytes] = queue.Queue()

    def take(self, block: bytes) -> None:
        self.blocks.put(block)

    def loud(self) -> None:
        """Return when something loud came."""
        while loudness(self.blocks.get(timeout=SOON)) < -20.0:
            pass


def play_on(speaker: Loudspeaker) -> None:
    """For five seconds; a buffer takes some blocks though nobody sounds them."""
    for _ in range(100):
        speaker.play(TONE)


def test_what_is_played_is_heard_at_the_recognisers_rate(card: SoundCard) -> None:
    heard = Heard()
    speaker, hears = card.open_output(""), card.open_input("", heard.take)
    try:
        assert len(heard.blocks.get(timeout=SOON)) == 2 * 1600
        for _ in range(20):
            speaker.play(TONE)
        speaker.drain()
        heard.loud()
    finally:
        hears.close()
        speaker.close()


def test_a_lost_microphone_leaves_the_loudspeaker_sounding(
    card: SoundCard, virtual: VirtualCard
) -> None:
    """One side's trouble once ended the other side's stream, which then did the same."""
    heard = Heard()
    speaker, hears = card.open_output(""), card.open_input("", heard.take)
    try:
        heard.blocks.get(timeout=SOON)
        virtual.unplug()
        speaker.play(TONE)
        with pytest.raises(DeviceError, match="microphone"):
            card.open_input("", heard.take)
        speaker.play(TONE)
        virtual.plug_in()
        hears.close()
        hears = card.open_input("", heard.take)  # found though it came later
        for _ in range(20):
            speaker.play(TONE)
        heard.loud()
    finally:
        hears.close()
        speaker.close()


def test_a_lost_loudspeaker_leaves_the_microphone_hearing(
    card: SoundCard, virtual: VirtualCard
) -> None:
    heard = Heard()
    speaker, hears = card.open_output(""), card.open_input("", heard.take)
    try:
        speaker.play(TONE)
        virtual.silence()
        with pytest.raises(DeviceError, match="loudspeaker"):
            play_on(speaker)
        speaker.close()
        speaker = card.open_output("")
        for _ in range(20):
            speaker.play(TONE)
        heard.loud()  # by the stream that was open all the time
    finally:
        hears.close()
        speaker.close()


def test_a_sentence_is_cut_within_150_ms(card: SoundCard, virtual: VirtualCard) -> None:
    """From the wish to the last loud sample in the room, by a second program that listens."""
    speaker = card.open_output("")
    room = subprocess.Popen(virtual.listener(), stdout=subprocess.PIPE, env=virtual.everything)
    assert room.stdout is not None
    levels: list[tuple[float, int]] = []
    pipe = room.stdout

    def listen() -> None:
        while block := pipe.read(320):  # ten milliseconds
            levels.append((time.monotonic(), max(array("h", block))))

    thread = threading.Thread(target=listen)
    thread.start()
    try:
        for _ in range(30):
            speaker.play(TONE)
        asked = time.monotonic()
        speaker.hush()
        for _ in range(10):
            speaker.play(array("h", bytes(len(TONE) * 2)))
    finally:
        speaker.close()
        room.kill()
        thread.join(SOON)
        pipe.close()
        room.wait(SOON)
    loud = [at for at, level in levels if level > 1000]
    assert loud
    assert loud[0] < asked
    # the wish may come while a block is being taken: up to one block earlier than `hush`
    assert loud[-1] - asked + BLOCK < CUT_WITHIN


def test_a_process_that_dies_is_one_line_and_no_hang(card: SoundCard) -> None:
    speaker = card.open_output("")
    assert isinstance(speaker, sound_card._Output)
    speaker.play(TONE)
    speaker._process.kill()
    for _ in range(2):  # asked again it is still gone
        with pytest.raises(DeviceError, match="it is gone: look at its plug"):
            speaker.play(TONE)
    speaker.close()


def test_a_driver_that_hangs_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sound_card, "PATIENCE", 0.2)
    with pytest.raises(DeviceError, match="no answer"):
        SoundCard(("sh", "-c", "exec sleep 60"))


def test_a_device_that_is_not_there_is_named_with_those_that_are(card: SoundCard) -> None:
    with pytest.raises(DeviceError, match=r"'no such thing' among .*pulse"):
        card.open_input("no such thing", lambda block: None)


def test_without_portaudio_one_line_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "sounddevice.py").write_text("raise OSError('PortAudio library not found')")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with pytest.raises(DeviceError, match="apt install libportaudio2"):
        SoundCard()
