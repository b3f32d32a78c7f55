"""Writes the golden transcripts: `python -m tests.rehearsals.golden [NAME ...]`."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from assistant import app
from assistant.core.script import Script
from assistant.edges import script_files
from assistant.rehearsal import Played
from assistant.transcript import transcript

FOLDER = Path(__file__).parent / "golden"


def play_typed(name: str, folder: Path) -> tuple[Script, Played]:
    """A shipped script, typed, with guessed sentence lengths."""
    script, book = script_files.load(name), app.read_book()
    voice = app.voice_of(silent=True)
    hearing = app.typed_hearing(book)
    return script, app.rehearsal(script, book, hearing, voice.seconds_of, folder).play()


def main(names: list[str]) -> None:
    FOLDER.mkdir(exist_ok=True)
    for name in names or script_files.names():
        with tempfile.TemporaryDirectory() as folder:
            _, played = play_typed(name, Path(folder))
        lines = "\n".join(str(line) for line in transcript(played))
        (FOLDER / f"{name}.txt").write_text(lines + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
