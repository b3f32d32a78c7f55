"""`swatchword listen` before it listens: its help, its refusals, the phrases made beforehand."""

from __future__ import annotations

import re
import threading
from pathlib import Path
from typing import get_args

import pytest

from assistant import app
from assistant.cli import listen, main
from assistant.core.events import Mode
from assistant.core.intents import Intent, understand
from assistant.edges.renderer import Renderer
from tests.wake import WAKE

SAYS = "Check a strand"  # the one thing quoted in the help that it says itself


def test_every_command_of_the_first_five_minutes_is_understood() -> None:
    """Whoever reads the help says exactly this."""
    book = app.read_book()
    names = book.names(4)
    about = listen.ABOUT.replace("{wake}", WAKE)
    quoted = [q for q in re.findall(r'"([^"]+)"', about) if q != SAYS]
    assert len(quoted) >= 15
    for said in quoted:
        text = said.replace(",", "").lower()
        meant = [understand(text, book.words, names, mode, False) for mode in get_args(Mode)]
        assert any(isinstance(each, Intent) for each in meant), said


def test_the_help_shows_them(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["listen", "--help"])
    assert ended.value.code == 0
    out = capsys.readouterr().out
    assert "The first five minutes" in out
    assert f"{WAKE}, start root tap" in out


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("wake_word: crown", "is also a word that is said"),
        ("wake_word: xyzzy", "does not know: xyzzy"),
        ("voice: de", "no English voice"),
        ("chairs: 40", "write 1 to 12"),
    ],
)
def test_a_wrong_setting_is_one_line_and_no_session(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], line: str, told: str
) -> None:
    path = tmp_path / "settings.yaml"
    path.write_text(f"version: 1\n{line}\n", encoding="utf-8")
    chosen = ["listen", "--settings", str(path), "--out", str(tmp_path / "sessions")]
    assert main([*chosen, "--play", str(tmp_path / "none.wav")]) == 1
    assert told in capsys.readouterr().err
    assert not (tmp_path / "sessions").exists()


def test_a_recording_that_is_not_there_begins_no_session(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    chosen = ["listen", "--out", str(tmp_path / "sessions"), "--play", str(tmp_path / "none.wav")]
    assert main(chosen) == 1
    assert "name a WAV file that is there" in capsys.readouterr().err
    assert not (tmp_path / "sessions").exists()


def test_without_a_sound_card_library_it_does_not_begin(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "sounddevice.py").write_text("raise OSError('PortAudio library not found')")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert main(["listen", "--out", str(tmp_path / "sessions")]) == 1
    assert "apt install libportaudio2" in capsys.readouterr().err
    assert not (tmp_path / "sessions").exists()


def test_fixed_phrases_are_made_before_they_are_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Afterwards they come without the process that makes speech."""
    phrases = app.fixed_phrases(app.read_book())[:6]
    renderer = Renderer()
    listen._prepare(renderer, phrases, threading.Event())
    renderer._stop()
    monkeypatch.setattr(renderer, "_worker", ("false",))
    monkeypatch.setenv("PATH", "")
    assert all(renderer.rendered(phrase).spoken for phrase in phrases)
    assert not renderer.rendered("A sentence that was never made.").spoken
