"""Which recordings does a build learn from and test on, beside its own synthetic speech?"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from assistant.edges import wav_files
from assistant.edges.recordings import CLEAN, read_manifest, recordings_folder, spoken_words
from assistant.forge import recordings
from assistant.forge.corpus import RATE, Samples, Writer

SMOKE_CLIPS = 24
PEOPLE = {  # folder under --people -> how it is read
    "librispeech": recordings.librispeech,
    "commands": recordings.speech_commands,
    "digits": recordings.digits,
}
MANIFESTS = ("wakewords", "precise_community", "wuw2")  # sources of a manifest.jsonl


def shipped_clips(count: int, folder: Path | None = None) -> list[Samples]:
    """Clean shipped recordings of commands."""
    place = folder or recordings_folder()
    chosen = [r for r in read_manifest(place) if r.noise == CLEAN and r.set == "commands"]
    return [read(place / r.file) for r in chosen[:count]]


def shipped_recordings(target: Path, count: int = SMOKE_CLIPS) -> float:
    """A tiny corpus for a smoke build; every fourth clip tunes, every fifth tests; hours."""
    place = recordings_folder()
    chosen = [r for r in read_manifest(place) if r.noise == CLEAN and r.set == "commands"]
    writer = Writer(target)
    for number, each in enumerate(chosen[:count]):
        split = "test" if number % 5 == 4 else "tune" if number % 4 == 3 else "train"
        writer.add(read(place / each.file), spoken_words(each.text), each.voice, split)
    writer.close()
    return writer.seconds / 3600


def read(path: Path) -> Samples:
    sound = wav_files.read(path)
    samples = np.array(sound.samples, np.int16)
    if sound.rate == RATE:
        return samples
    places = np.arange(int(len(samples) * RATE / sound.rate)) * (sound.rate / RATE)
    return np.interp(places, np.arange(len(samples)), samples).astype(np.int16)


def collect(folder: Path, target: Path) -> dict[str, float]:
    """Every known source under the folder; minutes by source."""
    found: dict[str, float] = {}
    for name, reader in PEOPLE.items():
        if (folder / name).is_dir():
            found[name] = recordings.collect(reader(folder / name), target / name) / 60
    if (folder / "manifest.jsonl").exists():
        for name in MANIFESTS:
            clips = recordings.manifest(folder, name)
            found[name] = recordings.collect(clips, target / name) / 60
        noise = recordings.noises(folder)
        found["noise"] = recordings.collect(noise, target / "noise") / 60
    return {name: round(minutes, 1) for name, minutes in found.items()}
