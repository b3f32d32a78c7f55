"""How do single words become short phrases? By putting words of one speaker behind one another.

People were recorded mostly in single words, commands come in strings of them. The words are cut
close to their sounds, so that little more than a breath lies between them.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from assistant.forge.corpus import RATE, Clip, Placed, Samples, Writer, read_index, read_samples

LATE = 0.06  # alignments lag behind the sound by two frames
LONGEST = 4.5  # seconds


def join_words(index: Path, target: Path, rounds: int = 2, seed: int = 1) -> float:
    """Every word of a speaker in `rounds` new strings of two to four; returns the seconds made."""
    rng = random.Random(seed)
    samples = read_samples(index)
    by_speaker: dict[tuple[str, str], list[Clip]] = defaultdict(list)
    for clip in read_index(index):
        if clip.phones and len(clip.words) <= 2:
            by_speaker[clip.speaker, clip.split].append(clip)
    writer = Writer(target)
    for (speaker, split), clips in sorted(by_speaker.items()):
        for _ in range(rounds):
            rng.shuffle(clips)
            place = 0
            while place + 1 < len(clips):
                count = rng.randint(2, 4)
                write_joined(writer, clips[place : place + count], samples, speaker, split, rng)
                place += count
    writer.close()
    return writer.seconds


def write_joined(
    writer: Writer, clips: Sequence[Clip], samples: Samples, speaker: str, split: str,
    rng: random.Random,
) -> None:  # fmt: skip
    pieces: list[Samples] = []
    placed: list[Placed] = []
    lengths: list[int] = []
    at = 0.0
    for number, clip in enumerate(clips):
        before = 0.2 if number == 0 else rng.uniform(0.0, 0.08)
        after = 0.2 if number == len(clips) - 1 else rng.uniform(0.0, 0.08)
        start = max(0.0, clip.phones[0][1] - LATE - before)
        end = min(clip.seconds, clip.phones[-1][2] - LATE + after)
        piece = samples[clip.offset + int(start * RATE) : clip.offset + int(end * RATE)]
        if at + len(piece) / RATE > LONGEST:
            break
        pieces.append(piece)
        placed += [(n, a - start + at, b - start + at) for n, a, b in clip.phones]
        lengths += clip.word_lengths
        at += len(piece) / RATE
    words = " ".join(clip.text for clip in clips[: len(pieces)])
    writer.add(np.concatenate(pieces), words, speaker, split, placed, lengths)
