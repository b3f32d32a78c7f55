"""Streams of sound with what is said when, and those of people, for chatter_corpus.py."""

from __future__ import annotations

import json
import random
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from assistant.forge import fixtures_noise as noises
from assistant.forge.corpus import Clip, Samples, read_index
from assistant.forge.fixtures_room import HZ, Wave
from assistant.forge.recordings import read_wave

STREAM = 600.0  # seconds
TAUGHT_FROM = ("wakewords", "precise_community")  # sources whose split `train` taught the model
STRING = 3  # single words of a speaker are put behind one another
CLIP_PAUSE = (0.3, 1.5)  # seconds


@dataclass(slots=True)
class Stream:
    """Sound put end to end, and what was said when."""

    pieces: list[Wave] = field(default_factory=list)
    said: list[dict[str, object]] = field(default_factory=list)
    seconds: float = 0.0

    def add(self, sound: Wave, who: str = "", text: str = "") -> None:
        """A piece of talk, or of quiet."""
        if text:
            until = self.seconds + len(sound) / HZ
            self.said.append(
                {"at": round(self.seconds, 2), "until": round(until, 2), "who": who, "text": text}
            )
        self.pieces.append(sound)
        self.seconds += len(sound) / HZ

    def write(self, place: Path, behind: Wave | None = None) -> None:
        """Beside it what is said; the noise comes round again as often as needed."""
        import soundfile  # of the extra `forge`

        sound = np.concatenate(self.pieces)
        if behind is not None:
            sound = sound + np.resize(behind, len(sound))
        sound = sound + noises.dither(len(sound), np.random.default_rng(len(sound)))
        place.parent.mkdir(parents=True, exist_ok=True)
        lines = "".join(json.dumps(one) + "\n" for one in self.said)
        place.with_suffix(".jsonl").write_text(lines, encoding="utf-8")
        unfinished = place.with_suffix(".part")
        soundfile.write(unfinished, np.clip(sound, -1, 1), HZ, format="FLAC", subtype="PCM_16")
        unfinished.replace(place)


def quiet(draw: random.Random, span: tuple[float, float]) -> Wave:
    """A pause."""
    return np.zeros(round(draw.uniform(*span) * HZ))


def people(folder: Path, target: Path) -> None:
    """Every clip of every source once, in an order drawn by seed."""
    clips: dict[str, list[dict[str, str]]] = {}
    for line in (folder / "manifest.jsonl").read_text(encoding="utf-8").splitlines():
        one = json.loads(line)
        if one["kind"] == "speech":
            taught = one["source"] in TAUGHT_FROM and one["split"] == "train"
            name = f"human_{one['source']}" + ("_partly_taught" if taught else "")
            clips.setdefault(name, []).append(one)
    for name, found in clips.items():
        draw = random.Random(name)
        draw.shuffle(found)
        sounds = ((read_wave(folder / c["path"]), c["speaker"], c["text"] or "?") for c in found)
        one_after_another(target / name, draw, sounds)


def held_out(index: Path, target: Path) -> None:
    """Of a corpus file of the forge what is not of the split `train`, mixed as people are."""
    samples = np.memmap(index.with_suffix(".raw"), np.int16, "r")
    speakers: dict[str, list[Clip]] = {}
    for clip in read_index(index):
        if clip.split != "train":
            speakers.setdefault(clip.speaker, []).append(clip)
    draw, said = random.Random(index.stem), []
    for clips in speakers.values():
        draw.shuffle(clips)
        while clips:
            string = [clips.pop()]
            while clips and len(string[0].words) == 1 and len(string) < STRING:
                string.append(clips.pop())
            said.append(string)
    draw.shuffle(said)
    sounds = (
        (
            np.concatenate([samples[c.offset : c.offset + c.length] for c in string]),
            string[0].speaker,
            " ".join(c.text for c in string),
        )
        for string in said
    )
    one_after_another(target / f"readers_{index.stem}", draw, sounds)


def one_after_another(
    target: Path, draw: random.Random, sounds: Iterable[tuple[Samples, str, str]]
) -> None:
    """Streams of clips (with who and what) with pauses between."""
    stream, number = Stream(), 0
    for sound, who, text in sounds:
        stream.add(sound / 32768, who, text)
        stream.add(quiet(draw, CLIP_PAUSE))
        if stream.seconds > STREAM:
            stream.write(target / f"{number:03d}.flac")
            stream, number = Stream(), number + 1
    if stream.said:
        stream.write(target / f"{number:03d}.flac")
