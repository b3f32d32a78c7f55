"""How do recordings of real people get into the corpus, and who of them is kept for testing?

Four layouts are read: LibriSpeech (CC BY 4.0), Speech Commands (CC BY 4.0), a free digit set
(CC BY-SA 4.0: tune and chatter only) and folders with a manifest.jsonl. Speakers are split by name,
so that nobody who is tested was heard in training. Nothing of this is redistributed.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.forge.corpus import RATE, Samples, Writer

SHARE_ALIKE = frozenset({"wuw2", "digits"})  # steer and test, never teach a model that ships
LONGEST = 20.0  # seconds


@dataclass(frozen=True, slots=True)
class Recording:
    """One file with what is said in it."""

    path: Path
    text: str
    speaker: str
    split: str


def split_of(speaker: str) -> str:
    """Train, tune or test by the speaker's name alone: 70, 10 and 20 in a hundred."""
    place = int(hashlib.sha1(speaker.encode()).hexdigest(), 16) % 100
    return "test" if place < 20 else "tune" if place < 30 else "train"


def librispeech(folder: Path) -> Iterator[Recording]:
    for listing in sorted(folder.rglob("*.trans.txt")):
        for line in listing.read_text(encoding="utf-8").splitlines():
            name, _, text = line.partition(" ")
            speaker = f"librispeech-{name.split('-')[0]}"
            path = listing.with_name(f"{name}.flac")
            yield Recording(path, text.lower(), speaker, split_of(speaker))


def speech_commands(folder: Path) -> Iterator[Recording]:
    """Word folders; the speaker is the first part of the file's name."""
    seen: set[str] = set()
    for path in sorted(folder.rglob("*_nohash_*.wav")):
        found = re.match(r"(?:([a-z]+)_)?([0-9a-f]{8})_nohash_\d+", path.name)
        if found is None or path.parent.name == "_silence_":
            continue
        word = found[1] or path.parent.name
        key = f"{word}/{found[0]}"
        if key not in seen:
            seen.add(key)
            speaker = f"commands-{found[2]}"
            yield Recording(path, word, speaker, split_of(speaker))


def digits(folder: Path) -> Iterator[Recording]:
    names = "zero one two three four five six seven eight nine".split()
    for path in sorted(folder.rglob("[0-9]_*_*.wav")):
        digit, speaker, _ = path.stem.split("_")
        yield Recording(path, names[int(digit)], f"digits-{speaker}", "tune")


def manifest(folder: Path, source: str) -> Iterator[Recording]:
    """A folder with a manifest; its own splits hold (`dev` is our `tune`)."""
    for line in (folder / "manifest.jsonl").read_text(encoding="utf-8").splitlines():
        entry = json.loads(line)
        if entry["source"] != source or entry["kind"] != "speech" or not entry.get("text"):
            continue
        split = {"dev": "tune"}.get(entry["split"], entry["split"])
        if source in SHARE_ALIKE and split == "train":
            split = "tune"
        text = re.sub(r"\{[^}]*\}|<[^>]*>|\[[^]]*\]", " ", entry["text"].lower())
        text = " ".join(re.findall(r"[a-z]+(?:'[a-z]+)?", text))
        if text:
            yield Recording(folder / entry["path"], text, entry["speaker"], split)


def noises(folder: Path) -> Iterator[Recording]:
    """Sounds without speech, to be mixed in; every fifth is kept for testing."""
    for place, line in enumerate((folder / "manifest.jsonl").read_text().splitlines()):
        entry = json.loads(line)
        if entry["source"] in ("esc10", "noise_speech_commands"):
            split = "test" if place % 5 == 0 else "train"
            yield Recording(folder / entry["path"], "", entry["source"], split)


def read_wave(path: Path) -> Samples:
    """One channel at 16 kHz."""
    import soundfile

    wave, rate = soundfile.read(str(path), dtype="float32", always_2d=True)
    mono = wave.mean(axis=1)
    if rate != RATE:
        places = np.arange(int(len(mono) * RATE / rate)) * (rate / RATE)
        mono = np.interp(places, np.arange(len(mono)), mono)
    return np.asarray(np.clip(mono * 32767, -32768, 32767), np.int16)


def collect(recordings: Iterator[Recording], target: Path) -> float:
    """Write one source; returns its seconds."""
    writer = Writer(target)
    for recording in recordings:
        samples = read_wave(recording.path)
        if len(samples) <= LONGEST * RATE or not recording.text:
            writer.add(samples, recording.text, recording.speaker, recording.split)
    writer.close()
    return writer.seconds
