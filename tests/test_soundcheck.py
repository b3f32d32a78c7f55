"""Each finding of the sound check, in a played room; no sound card is needed."""

from __future__ import annotations

import random
from array import array
from pathlib import Path

import pytest

from assistant import soundcheck
from assistant.cli import main
from assistant.edges.settings_file import Settings
from assistant.errors import DeviceError
from assistant.soundcheck import Finding, guarded, noise_finding


@pytest.mark.parametrize(
    ("noise", "ok", "said"),
    [
        (-90.0, False, "nothing comes in"),
        (-60.0, True, "quiet enough"),
        (-38.0, True, "rather loud"),
        (-25.0, False, "use a headset or come within 30 cm"),
    ],
)
def test_a_noise_level_becomes_a_sentence(noise: float, ok: bool, said: str) -> None:
    finding = noise_finding(noise)
    assert finding.ok is ok
    assert said in str(finding)


def test_loudness_is_known_for_known_sounds() -> None:
    """A square wave at half of full scale has that as its effective value: 20 log 0.5."""
    square = array("h", [16384, -16384] * 800).tobytes()
    assert soundcheck.loudness(square) == pytest.approx(-6.02, abs=0.01)
    rng = random.Random(1)
    noise = array("h", (rng.randint(-3277, 3277) for _ in range(16000))).tobytes()
    assert soundcheck.loudness(noise) == pytest.approx(-20 - 4.77, abs=0.1)  # peak over root 3


def test_trouble_becomes_a_line_with_what_to_do() -> None:
    def breaks() -> Finding:
        raise DeviceError("no microphone: plug one in")

    line = str(guarded("microphone", breaks))
    assert line.split() == "microphone look here no microphone; plug one in".split()


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    taken = tmp_path / "file"
    taken.write_text("", encoding="utf-8")
    assert not soundcheck.disk(Settings(folder=str(taken / "sessions"))).ok
    assert soundcheck.disk(Settings(folder=str(tmp_path))).ok
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_words_are_looked_up(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["soundcheck", "--words", "crown", "nape"]) == 0
    assert main(["soundcheck", "--words", "crown", "qqxz"]) == 1
    assert "qqxz         look here  not known" in capsys.readouterr().out


def test_without_a_card_every_line_comes_and_the_exit_code_is_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "sounddevice.py").write_text("raise OSError('PortAudio library not found')")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert main(["soundcheck"]) == 1
    out = capsys.readouterr().out
    assert "apt install libportaudio2" in out
    assert [line.split()[0] for line in out.splitlines()[:6]] == [
        "settings",
        "words",
        "recognition",
        "clock",
        "disk",
        "speech",
    ]
