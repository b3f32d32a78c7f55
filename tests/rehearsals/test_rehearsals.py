"""Every shipped rehearsal says what it must when it must; golden transcripts are diffed.

Typed and with guessed sentence lengths, so that a transcript is the same on every machine.
After a wanted change: `python -m tests.rehearsals.golden` writes the transcripts anew; read the
diff before you commit it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant import app
from assistant.core.script import Script
from assistant.edges import script_files
from assistant.rehearsal import Played
from assistant.transcript import transcript, verdicts
from tests.rehearsals.golden import FOLDER, play_typed

NAMES = script_files.names()


@pytest.fixture(scope="module")
def book() -> app.Book:
    return app.read_book()


@pytest.mark.parametrize("name", NAMES)
def test_everything_expected_is_said_in_time(name: str, tmp_path: Path) -> None:
    script, played = play_typed(name, tmp_path)
    assert script.expect, "a rehearsal expects something"
    missed = [str(v) for v in verdicts(script, transcript(played)) if not v.met]
    assert missed == []


@pytest.mark.parametrize("name", NAMES)
def test_the_transcript_is_the_golden_one(name: str, tmp_path: Path) -> None:
    _, played = play_typed(name, tmp_path)
    lines = [str(line) for line in transcript(played)]
    assert lines == (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines()


def test_a_service_killed_three_times_is_told_like_one_that_was_not(tmp_path: Path) -> None:
    _, whole = play_typed("root-tap", tmp_path / "whole")
    _, killed = play_typed("killed", tmp_path / "killed")
    assert [str(line) for line in transcript(killed)] == [str(line) for line in transcript(whole)]


def test_an_expectation_that_is_not_met_is_a_miss(tmp_path: Path) -> None:
    script, played = play_typed("root-tap", tmp_path)
    lines = transcript(played)
    late = [line for line in lines if line.at > script.expect[0].by.seconds]
    assert not next(iter(verdicts(script, late))).met


@pytest.mark.parametrize("name", NAMES)
def test_on_real_sound_everything_expected_is_said(
    name: str, tmp_path: Path, book: app.Book
) -> None:
    """The real chain: recordings (synthetic voices), the bundled model, the real recogniser."""
    script = script_files.load(name)
    hearing = app.recorded_hearing(book, app.load_model(None, book, script.chairs), script.chairs)
    played = played_with(script, book, hearing, tmp_path)
    assert [str(v) for v in verdicts(script, transcript(played)) if not v.met] == []
    assert hearing.worked.sound_seconds > 30


def played_with(
    script: Script, book: app.Book, hearing: app.RecordedHearing, folder: Path
) -> Played:
    voice = app.voice_of(silent=True)
    return app.rehearsal(script, book, hearing, voice.seconds_of, folder).play()
