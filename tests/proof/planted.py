"""Planted names and voices: nothing of them is in any file, where no record was asked for.

A session at the chair hears the shipped commands and, in between, invented names spoken by the
synthetic voice of the renderer: through the real recogniser, the real hub, the real journal and
records. Then every file under its folder, its home and its temporary folder is searched.
"""

from __future__ import annotations

import os
import tempfile
from array import array
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from assistant import app
from assistant.edges import recordings, wav_files
from assistant.edges.clock import VirtualClock
from assistant.edges.played_room import PlayedRoom, _Ear
from assistant.edges.recogniser import Model, bundled_model
from assistant.edges.renderer import Renderer
from assistant.edges.settings_file import Settings
from assistant.edges.sound_card import Take
from tests.proof.outcome import Outcome
from tests.wake import WAKE

NAMES = ("Quillfeather", "Marrowby", "Zinnia")  # invented; none is a word that is listened for
SPOKEN = (
    "Misses Quillfeather has a rash on her neck",  # talk in the room
    f"{WAKE} marrowby is my name",  # to the assistant
    "zinnia",  # into an open question
)
COMMANDS = (f"{WAKE} start root tap", "clear test three days ago")
MOST_BYTES = 500  # a second of what was heard: far below what the poorest speech codec needs
FILLING = b"\xa5"  # of the journal's reserve, kept for a full disk
PIECE = 24  # samples that are looked for: less than two thousandths of a second


class Room(PlayedRoom):
    """Remembers what its microphone gave away."""

    def __init__(self) -> None:
        super().__init__()
        self.given: list[bytes] = []

    def open_input(self, name: str, take: Take) -> _Ear:
        """The room's microphone, overheard."""

        def kept(block: bytes) -> None:
            self.given.append(block)
            take(block)

        return super().open_input(name, kept)


def prove(short: bool = False) -> list[Outcome]:
    """Short: one round of names. Long: five."""
    rounds = 1 if short else 5
    with tempfile.TemporaryDirectory(prefix="planted-") as place:
        folder, room = Path(place), Room()
        with _only_in(folder):
            heard = _session(folder, room, rounds)
        found = list(search(folder, room.given, heard))
        seconds = room.seconds
    names = Outcome("no planted name in any file")
    sound = Outcome("no sound in any file")
    for path, problem in found:
        outcome = names if problem.startswith("name") else sound
        outcome.check(problem.endswith(": none"), f"{path}: {problem}")
    names.notes = f"{len(NAMES)} names, {seconds:.0f} s of talk, {heard} utterances journaled"
    return [names, sound]


@contextmanager
def _only_in(folder: Path) -> Iterator[None]:
    """Home and temporary files lie in the folder that is searched."""
    before = dict(os.environ)
    for name in ("HOME", "TMPDIR"):
        (folder / name).mkdir()
        os.environ[name] = str(folder / name)
    try:
        yield
    finally:
        os.environ.clear()
        os.environ.update(before)


def _session(folder: Path, room: Room, rounds: int) -> int:
    """The commands and the names, said in turn; how many utterances the journal took."""
    clock, renderer = VirtualClock(), Renderer()
    chair = app.Chair(Model(bundled_model()), room, renderer.rendered, Settings(), clock)
    live = app.live_session(chair, app.read_book(), folder / "sessions" / "2026-11-25", None)
    heard: list[object] = []
    live.parts.hub.watch(
        lambda event, effects: heard.append(event) if type(event).__name__ == "Heard" else None
    )
    at = 6.0
    for text in COMMANDS:
        path = recordings.recording_for(text, "stylist", "clean", None)
        at = room.play(wav_files.read(path), at) + 9.0
    for text in SPOKEN * rounds:
        at = room.play(renderer.render(text), at) + 9.0
    live.begin()
    live.run_in(room, clock, at)
    live.close()
    return len(heard)


def search(folder: Path, given: list[bytes], heard: int) -> Iterator[tuple[str, str]]:
    """(file, what was looked for and found) for every file."""
    pieces = {piece for block in given for piece in _pieces(block)}
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        content, name = path.read_bytes(), path.name
        lower = content.lower()
        names = [each for each in NAMES if each.lower().encode() in lower]
        yield name, f"names: {', '.join(names) or 'none'}"
        marks = [mark for mark in (b"RIFF", b"OggS", b"fLaC") if mark in content]
        yield name, f"sound files: {marks or 'none'}"
        raw = any(content[at : at + 2 * PIECE] in pieces for at in range(len(content)))
        yield name, f"samples of the microphone: {'some' if raw else 'none'}"
        lines = content.strip(FILLING).split(
            b"\n"
        )  # the first record holds the recipes: long, and no speech
        # the first record holds the recipes: long, and no speech
        rest = sum(len(line) for line in lines if b'"SessionStarted"' not in line)
        most = MOST_BYTES * len(given) / 10 if name.endswith(".journal") else 1 << 17
        yield name, f"more bytes than text needs: {rest if rest > most else 'none'}"


def _pieces(block: bytes) -> Iterator[bytes]:
    """Every run of `PIECE` samples that is louder than the room's own hiss."""
    samples = array("h", block)
    for at in range(0, len(samples) - PIECE, PIECE):
        if max(samples[at : at + PIECE]) > 200:
            yield block[2 * at : 2 * (at + PIECE)]
