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

import yaml

from assistant.edges.recordings import CLEAN, MANIFEST, ROLES, Recording, read_manifest
from assistant.edges.word_files import load_commands
from assistant.errors import ConfigError
from assistant.forge import fixtures_texts as texts
from assistant.forge.fixtures_studio import NOISES, QUIET, Studio, Wanted
from assistant.forge.fixtures_voices import COMMAND_VOICES

FOLDER = Path(__file__).parents[2] / "audio_fixtures"
COMMAND_COUNT = 204
SNRS = (20.0, 12.0, 6.0)
# Four in thirteen lines are clean, the rest share noises and levels evenly.
SCENES: tuple[tuple[str, float | None], ...] = (
    *(((CLEAN, None),) * 4),
    *((noise, snr) for snr in SNRS for noise in NOISES),
)
log = logging.getLogger("forge")


def make(folder: Path = FOLDER, only: str | None = None, fresh: bool = False) -> None:
    """Make what is missing (`only` a set or a file, `fresh` all), forget what nobody wants."""
    folder.mkdir(parents=True, exist_ok=True)
    wanted = {w.file: w for w in every_wanted(folder)}
    known = {r.file: r for r in read_manifest(folder)} if (folder / MANIFEST).exists() else {}
    made = {name: known[name] for name in wanted if name in known and (folder / name).exists()}
    again = {name for name, w in wanted.items() if fresh or only in (w.set, w.file)}
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


def every_wanted(folder: Path) -> Iterator[Wanted]:
    """Commands, lines that are no command, noise alone, then what the rehearsals hear."""
    lines, words = texts.read_lines(), load_commands()
    for place, text in enumerate(texts.command_lines(COMMAND_COUNT, lines, words)):
        noise, snr = SCENES[place % len(SCENES)]
        yield Wanted(text, _voice(place), noise, snr, "commands")
    for place, text in enumerate(lines.not_commands):
        noise, snr = SCENES[place % len(SCENES)]
        yield Wanted(text, _voice(place * 5 + 2), noise, snr, "not commands")
    for noise in (*NOISES, QUIET):
        yield Wanted("", "nobody", noise, None, "noise")
    for script in sorted((folder / "rehearsals").glob("*.y*ml")):
        yield from heard_in(script)


def _voice(place: int) -> str:
    """Voices in turn; 7 has no factor in common with their number, so they meet every scene."""
    shift = place // len(COMMAND_VOICES)
    return COMMAND_VOICES[(place * 7 + shift) % len(COMMAND_VOICES)]


def heard_in(script: Path) -> Iterator[Wanted]:
    """Every line that is heard in a rehearsal script, the wake word before what is said to us."""
    wake = load_commands().wake.capitalize()
    content = yaml.safe_load(script.read_text(encoding="utf-8"))
    for line in content["lines"]:
        said = f"{wake}, {line['say']}" if "say" in line else line.get("answer", line.get("talk"))
        if said is None:
            continue
        role, noise, snr = (
            line.get("voice", "stylist"),
            line.get("noise", CLEAN),
            line.get("snr_db"),
        )
        if noise != CLEAN and snr is None:
            raise ConfigError(f"{script}: {said!r} has noise {noise} but no snr_db: add it")
        level = None if noise == CLEAN else float(snr)
        yield Wanted(str(said), ROLES.get(role, role), noise, level, "rehearsal")
