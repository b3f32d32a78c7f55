"""Which shipped recording is this line, in this voice and this noise?

The manifest beside the recordings answers. The recordings themselves are made by the workshop
(`python -m assistant.forge fixtures`), which is not needed to use them.
"""

from __future__ import annotations

import functools
import hashlib
import json
import re
from dataclasses import dataclass, fields
from pathlib import Path

from assistant.errors import ConfigError

# Fixed voices for the people of a rehearsal. The speech model never learned from these four.
ROLES = {
    "stylist": "af_sarah",
    "assistant": "am_michael",
    "trainee": "bf_isabella",
    "second stylist": "bm_george",
}
CLEAN = "clean"
MANIFEST = "manifest.jsonl"
REMAKE = "python -m assistant.forge fixtures"


@dataclass(frozen=True, slots=True)
class Recording:
    """One line of the manifest; times in seconds from the start of the file."""

    file: str
    text: str
    voice: str
    noise: str
    snr_db: float | None
    room: str
    seconds: float
    speech_start: float | None
    speech_end: float | None
    licence: str
    set: str
    sha256: str

    @property
    def key(self) -> str:
        """What tells this recording from every other."""
        return recording_key(self.text, self.voice, self.noise, self.snr_db)


def recording_key(text: str, voice: str, noise: str, snr_db: float | None) -> str:
    """The words, the voice, the noise and its level; punctuation and capitals do not count."""
    level = "" if noise == CLEAN or snr_db is None else f"{snr_db:g}"
    return "|".join((spoken_words(text), ROLES.get(voice, voice), noise, level))


def spoken_words(text: str) -> str:
    """The words alone, in small letters."""
    return " ".join(re.findall(r"[a-z]+(?:'[a-z]+)*", text.lower()))


def recording_name(text: str, voice: str, noise: str, snr_db: float | None) -> str:
    """The file name: readable first, then a hash that no other recording has."""
    key = recording_key(text, voice, noise, snr_db)
    words, speaker, behind, level = key.split("|")
    mark = hashlib.sha256(key.encode()).hexdigest()[:6]
    slug = words.replace("'", "").replace(" ", "-")[:44].strip("-") or "no-words"
    return f"{slug}--{speaker}--{behind}{level}-{mark}.wav"


def recordings_folder() -> Path:
    """The recordings that ship with the program: the installed package's, or the checkout's."""
    package = Path(__file__).resolve().parent.parent
    for place in (package, package.parent, Path.cwd()):
        if (place / "audio_fixtures" / MANIFEST).is_file():
            return place / "audio_fixtures"
    raise ConfigError(
        f"no audio_fixtures/{MANIFEST} here: reinstall, run this from the checkout, "
        f"or make it: `{REMAKE}`"
    )


def read_manifest(folder: Path) -> tuple[Recording, ...]:
    """Every recording of a folder, in the manifest's order."""
    path = folder / MANIFEST
    if not path.is_file():
        raise ConfigError(f"no {path}: make the recordings with `{REMAKE}`")
    return tuple(
        _read_line(line, f"{path}:{number}")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
    )


def _read_line(line: str, place: str) -> Recording:
    names = {field.name for field in fields(Recording)}
    try:
        values = json.loads(line)
    except json.JSONDecodeError as error:
        raise ConfigError(f"{place}: {error.msg}: make it again with `{REMAKE}`") from error
    if not isinstance(values, dict) or set(values) != names:
        raise ConfigError(f"{place}: not a recording: make it again with `{REMAKE}`")
    return Recording(**values)


@functools.lru_cache(maxsize=8)
def _by_key(folder: Path, made: int) -> dict[str, str]:
    """Files by key; read again when the manifest was `made` anew."""
    return {recording.key: recording.file for recording in read_manifest(folder)}


def recording_for(
    text: str,
    voice: str = "stylist",
    noise: str = CLEAN,
    snr_db: float | None = None,
    folder: Path | None = None,
) -> Path:
    """The file of a line; `voice` is a role or a voice's name."""
    place = folder or recordings_folder()
    manifest = place / MANIFEST
    made = manifest.stat().st_mtime_ns if manifest.is_file() else 0
    file = _by_key(place, made).get(recording_key(text, voice, noise, snr_db))
    if file is not None:
        return place / file
    level = "" if snr_db is None else f" at {snr_db:g} dB"
    raise ConfigError(
        f'no recording of "{text}" by {voice}, {noise}{level}: make it with `{REMAKE}`'
    )
