"""How well does a Vosk model hear a corpus? Exact, rejected and wrong apart, per loudness of noise.

Every clip of a corpus file is decoded with a grammar of the corpus's own lines and `[unk]`. A line
counts only whole: another line of the grammar is a wrong one, all else is a rejection. Noise is
dryer-like, measured against the speech's own mean power; a floor of dither is always there.
"""

from __future__ import annotations

import json
import logging
import random
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.forge.corpus import RATE, Clip, Samples, read_index, read_samples
from assistant.forge.fixtures_noise import dryer

log = logging.getLogger("forge")
BLOCK = 1600
Floats = npt.NDArray[np.float64]


@dataclass(slots=True)
class Score:
    """One line of a table."""

    outcomes: Counter[str] = field(default_factory=Counter)
    worked: float = 0.0  # seconds of processor time
    heard: float = 0.0  # seconds of sound
    taken: Counter[tuple[str, str]] = field(default_factory=Counter)

    def line(self) -> str:
        total = max(1, sum(self.outcomes.values()))
        shares = (
            f"{name} {100 * self.outcomes[name] / total:5.1f} %"
            for name in ("exact", "rejected", "wrong")
        )
        factor = self.worked / max(self.heard, 1e-9)
        return f"{'  '.join(shares)}  of {total}  real-time factor {factor:.3f}"


def choose(index: Path, split: str, limit: int, lines: int, seed: int = 3) -> list[Clip]:
    """Clips of a split; at most `lines` different things said, `limit` clips in all."""
    rng = random.Random(seed)
    clips = [c for c in read_index(index) if c.split == split and 1 <= len(c.words) <= 6]
    texts = sorted({c.text for c in clips})
    rng.shuffle(texts)
    kept = set(texts[:lines])
    clips = [c for c in clips if c.text in kept]
    rng.shuffle(clips)
    return clips[:limit]


def in_noise(speech: Samples, decibels: float | None, noise: Floats) -> bytes:
    """Speech in noise at a ratio to its own mean power, over a floor of dither; 16-bit bytes."""
    wave = np.concatenate([np.zeros(4800), speech.astype(np.float64), np.zeros(6400)])
    wave += np.random.default_rng(1).standard_normal(len(wave)) * 3
    if decibels is not None:
        power = np.sqrt(np.mean(speech.astype(np.float64) ** 2))
        start = len(speech) % max(1, len(noise) - len(wave))
        piece = noise[start : start + len(wave)]
        wave += piece / piece.std() * power * 10 ** (-decibels / 20)
    peak = np.abs(wave).max()
    wave = wave * min(1.0, 32000 / peak)
    return wave.astype("<i2").tobytes()


def decode(model: Any, grammar: str, sound: bytes) -> str:
    from vosk import KaldiRecognizer

    recogniser = KaldiRecognizer(model, RATE, grammar)
    said = []
    for start in range(0, len(sound), 2 * BLOCK):
        if recogniser.AcceptWaveform(sound[start : start + 2 * BLOCK]):
            said.append(json.loads(recogniser.Result())["text"])
    said.append(json.loads(recogniser.FinalResult())["text"])
    return " ".join(s for s in said if s)


def score(
    model: Any, clips: Sequence[Clip], samples: Samples, decibels: float | None, lines: list[str]
) -> Score:
    noise = dryer(12.0, np.random.default_rng(2))
    grammar = json.dumps([*lines, "[unk]"])
    result = Score()
    for clip in clips:
        sound = in_noise(samples[clip.offset : clip.offset + clip.length], decibels, noise)
        began = time.process_time()
        heard = decode(model, grammar, sound)
        result.worked += time.process_time() - began
        result.heard += len(sound) / 2 / RATE
        kind = "exact" if heard == clip.text else "wrong" if heard in lines else "rejected"
        result.outcomes[kind] += 1
        if kind != "exact":
            result.taken[clip.text, heard] += 1
    return result


def table(
    folder: Path, index: Path, split: str, ratios: Sequence[float | None], limit: int, lines: int
) -> Iterator[tuple[float | None, Score]]:
    """One score per ratio of speech to noise (None: no noise added)."""
    from vosk import Model, SetLogLevel

    SetLogLevel(-1)
    model = Model(str(folder))
    clips = choose(index, split, limit, lines)
    known = sorted(
        text
        for text in {c.text for c in clips}
        if all(model.vosk_model_find_word(w) >= 0 for w in text.split())
    )
    clips = [c for c in clips if c.text in set(known)]
    samples = read_samples(index)
    for ratio in ratios:
        yield ratio, score(model, clips, samples, ratio, known)
