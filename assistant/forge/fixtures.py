"""Which recordings ship, and which of them are still to be made?

Every command of the word file in many voices and noises, lines that are no command, noise alone,
and whatever the rehearsal scripts hear. A recording that is there is left alone, so running
this again costs only what is new.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from assistant.edges import script_files
from assistant.edges.recordings import CLEAN, MANIFEST, ROLES, Recording, read_manifest
from assistant.edges.word_files import load_commands
from assistant.forge import fixtures_texts as texts
from assistant.forge.fixtures_studio import NOISES, QUIET, REHEARSAL, Studio, Wanted
from assistant.forge.fixtures_voices import COMMAND_VOICES

FOLDER = Path(__file__).parents[2] / "audio_fixtures"
SNRS = (20.0, 12.0, 6.0)
# Four in thirteen lines are clean, the rest share noises and levels evenly.
SCENES: tuple[tuple[str, float | None], ...] = (
    *(((CLEAN, None),) * 4),
    *((noise, snr) for snr in SNRS for noise in NOISES),
)
log = logging.getLogger("forge")


def make(
    folder: Path = FOLDER, only: str | None = None, fresh: bool = False, turns: int = 1
) -> None:
    """Make what is missing (`only` a set or a file, `fresh` all), forget what nobody wants."""
    folder.mkdir(parents=True, exist_ok=True)
    wanted: dict[str, Wanted] = {}
    for one in every_wanted(folder, turns):  # a rehearsal may hear what is there already
        wanted.setdefault(one.file, one)
    known = {r.file: r for r in read_manifest(folder)} if (folder / MANIFEST).exists() else {}
    made = {name: known[name] for name in wanted if name in known and (folder / name).exists()}
    again = {name for name, w in wanted.items() if fresh or only in (w.set, w.file)}
    again |= {name for name, there in made.items() if there.set != wanted[name].set}
    missing = [name for name in wanted if name not in made or name in again]
    studio = Studio()
    try:
        for count, name in enumerate(missing, start=1):
            made[name] = studio.record(wanted[name], folder)
            log.info("%d of %d: %s", count, len(missing), name)
    finally:
        write_manifest(folder, [made[name] for name in wanted if name in made])
    forget_strays(folder, set(wanted))
    size = sum(path.stat().st_size for path in folder.glob("*.wav"))
    log.info("%d recordings, %.1f MB in %s", len(made), size / 1e6, folder)


def forget_strays(folder: Path, wanted: set[str]) -> None:
    """Remove recordings that no set and no script wants any more."""
    for stray in sorted({path.name for path in folder.glob("*.wav")} - wanted):
        (folder / stray).unlink()
        log.info("no longer wanted: %s", stray)


def write_manifest(folder: Path, made: list[Recording]) -> None:
    """One line a recording."""
    lines = (json.dumps(asdict(recording), ensure_ascii=False) for recording in made)
    (folder / MANIFEST).write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")


def every_wanted(folder: Path, turns: int = 1) -> Iterator[Wanted]:
    """Commands, lines that are no command, noise alone, then what the rehearsals hear."""
    lines, words = texts.read_lines(), load_commands()
    for text, draw in texts.command_lines(lines, words, turns):
        noise, snr = draw.choice(SCENES)
        yield Wanted(text, draw.choice(COMMAND_VOICES), noise, snr, "commands")
    for text, draw in texts.not_command_lines(lines, words):
        noise, snr = draw.choice(SCENES)
        yield Wanted(text, draw.choice(COMMAND_VOICES), noise, snr, "not commands")
    for noise in (*NOISES, QUIET):
        yield Wanted("", "nobody", noise, None, "noise")
    for script in sorted((folder / "rehearsals").glob("*.y*ml")):
        yield from heard_in(script)


def heard_in(script: Path) -> Iterator[Wanted]:
    """Every line that is heard in a rehearsal script, with a breath after the wake word."""
    wake = load_commands().wake
    for line in script_files.load(str(script)).lines:
        if line.happens is None:
            said = f"{wake.capitalize()}, {line.say}" if line.say else line.words(wake)
            snr = None if line.snr_db is None else float(line.snr_db)
            yield Wanted(said, ROLES[line.voice], line.noise, snr, REHEARSAL)
