"""The real sounddevice path on a virtual card: what is played into a null sink is heard back.

Needs PortAudio, PulseAudio and its ALSA plugin (`.ci/run` installs them); no kernel module.
"""

from __future__ import annotations

import os
import queue
import shutil
import subprocess
import sys
from array import array
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.edges.ears import loudness
from assistant.edges.sound_card import SoundCard
from assistant.errors import DeviceError

SOON = 10.0  # seconds after which a test gives up
TONE = array("h", [8000 if n // 20 % 2 else -8000 for n in range(2205)])


@pytest.fixture
def card(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundCard]:
    """A card whose loudspeaker is its microphone."""
    if shutil.which("pulseaudio") is None:
        pytest.skip("no pulseaudio here: apt install pulseaudio libasound2-plugins libportaudio2")
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path}/socket")
    server = subprocess.Popen(
        [
            *"pulseaudio -n --daemonize=no --exit-idle-time=-1 --use-pid-file=no".split(),
            "--load=module-null-sink sink_name=room",
            f"--load=module-native-protocol-unix socket={tmp_path}/socket auth-anonymous=1",
        ],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "HOME": str(tmp_path)},
    )
    try:
        yield _opened(tmp_path / "socket")
    finally:
        server.terminate()
        server.wait(SOON)


def _opened(socket: Path) -> SoundCard:
    for _ in range(200):
        if socket.exists():
            break
        subprocess.run(["true"], check=True)  # gives the server its turn
    try:
        card = SoundCard()
    except DeviceError as error:
        pytest.skip(str(error))
    for _ in range(50):
        card.refresh()
        if card.names("output"):
            return card
    pytest.skip("no virtual card: apt install libasound2-plugins")


def test_what_is_played_is_heard_at_the_recognisers_rate(card: SoundCard) -> None:
    blocks: queue.Queue[bytes] = queue.Queue()
    speaker = card.open_output("")
    hears = card.open_input("", blocks.put)
    loudest = -90.0
    for _ in range(60):
        speaker.play(TONE)
        if not blocks.empty():
            block = blocks.get_nowait()
            assert len(block) == 2 * 1600
            loudest = max(loudest, loudness(block))
        if loudest > -20.0:
            break
    speaker.hush()
    hears.close()
    speaker.close()
    assert loudest > -20.0


def test_looking_anew_ends_streams_without_a_crash(card: SoundCard) -> None:
    speaker = card.open_output("")
    speaker.play(TONE)
    before = card.generation
    card.refresh()
    assert card.generation == before + 1
    with pytest.raises(DeviceError, match="looked for anew"):
        speaker.play(TONE)
    speaker.close()
    again = card.open_output("")
    again.play(TONE)
    again.close()


def test_a_device_that_is_not_there_is_named_with_those_that_are(card: SoundCard) -> None:
    with pytest.raises(DeviceError, match=r"'no such thing' among .*pulse"):
        card.open_input("no such thing", lambda block: None)


def test_without_portaudio_one_line_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(DeviceError, match="apt install libportaudio2"):
        SoundCard()
