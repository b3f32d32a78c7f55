"""How well does a Vosk model hear a corpus? Exact, rejected and wrong apart, per loudness of noise.

Every clip of a corpus file is decoded by a strict grammar of the corpus's own lines, with the ways
out into talk that a session has. The best guess counts, and only as a whole line: another line of
the grammar is a wrong one, all else is a rejection. Noise is dryer-like, measured against the
speech's own mean power; a floor of dither is always there.
"""

from __future__ import annotations

import json
import random
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.core.language import Language, language_of_lines
from assistant.edges.recogniser import Model, blocks
from assistant.forge.corpus import RATE, Clip, Samples, read_index, read_samples
from assistant.forge.fixtures_noise import dryer

Floats = npt.NDArray[np.float64]
Ear = Callable[[bytes], str]  # 16-bit sound at 16 kHz -> the words heard


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


def ear_of(model: Model, language: Language) -> Ear:
    """Hears a language with a model; what is heard after a pause is put behind."""

    def heard(sound: bytes) -> str:
        recogniser, said = model.recogniser(language), []
        for block in blocks(sound):
            if recogniser.AcceptWaveform(block):
                said.append(best(recogniser.Result()))
        said.append(best(recogniser.FinalResult()))
        return " ".join(piece for piece in said if piece)

    return heard


def best(result: str) -> str:
    """The words of the likeliest guess."""
    return str(json.loads(result)["alternatives"][0]["text"]).strip()


def score(
    ear: Ear, clips: Sequence[Clip], samples: Samples, decibels: float | None, lines: Sequence[str]
) -> Score:
    """Every clip once, in noise at a ratio (None: no noise added); `lines` are the whole ones."""
    noise = dryer(12.0, np.random.default_rng(2))
    whole, result = frozenset(lines), Score()
    for clip in clips:
        sound = in_noise(samples[clip.offset : clip.offset + clip.length], decibels, noise)
        began = time.process_time()
        heard = ear(sound)
        result.worked += time.process_time() - began
        result.heard += len(sound) / 2 / RATE
        kind = "exact" if heard == clip.text else "wrong" if heard in whole else "rejected"
        result.outcomes[kind] += 1
        if kind != "exact":
            result.taken[clip.text, heard] += 1
    return result


def table(
    folder: Path, index: Path, split: str, ratios: Sequence[float | None], limit: int, lines: int
) -> Iterator[tuple[float | None, Score]]:
    """One score per ratio of speech to noise (None: no noise added)."""
    model = Model(folder)
    clips = sayable(choose(index, split, limit, lines), model)
    known = sorted({clip.text for clip in clips})
    samples = read_samples(index)
    ear = ear_of(model, language_of_lines(known))
    for ratio in ratios:
        yield ratio, score(ear, clips, samples, ratio, known)


def sayable(clips: Sequence[Clip], model: Model) -> list[Clip]:
    """Those that have only words in the model's vocabulary."""
    return [clip for clip in clips if not model.unknown(clip.words)]
