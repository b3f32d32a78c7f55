"""Does Vosk compute what PyTorch computes?

Vosk tells the score of its best guesses. What a guess costs in the grammar depends on its number of
words, so only guesses of as many words are compared: the difference of their scores in Vosk
against the difference of the best paths through the same words over PyTorch's outputs.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import torch

from assistant.errors import ConfigError
from assistant.forge import align, lexicon, weights
from assistant.forge.commands import COMMAND_WORDS
from assistant.forge.corpus import RATE, Samples
from assistant.forge.network import Features, Network

TOLERANCE = 0.5  # nats; Vosk dithers and prunes: 0.05 is usual, 0.24 the most seen
GUESSES = 8
WORDS = tuple(sorted(set(COMMAND_WORDS.read_text(encoding="utf-8").split())))  # alike enough


def largest_gap(folder: Path, clips: Sequence[Samples]) -> float:
    """The largest difference in nats; an error when no two guesses can be compared."""
    from vosk import Model, SetLogLevel

    SetLogLevel(-1)
    model = Model(str(folder))
    network = weights.read_network((folder / "am" / "final.mdl").read_bytes()).eval()
    ways = known_ways()
    gaps = [gap for clip in clips for gap in differences(model, network, clip, ways)]
    if not gaps:
        raise ConfigError("no two guesses to compare: give other recordings")
    return max(gaps)


def known_ways() -> dict[str, lexicon.Pronunciations]:
    known = lexicon.Lexicon()
    return {word: known.ways(word) for word in WORDS}


def differences(model: Any, network: Network, clip: Samples, ways: align.Ways) -> list[float]:
    """Vosk against PyTorch, for every two guesses of as many words."""
    scores = outputs(network, clip)
    found = []
    for guess in guesses(model, clip):
        words = guess["text"].split()
        here = path_score(scores, words, ways) if words else None
        if here is not None:
            found.append((len(words), float(guess["confidence"]), here))
    return [
        abs((a[1] - b[1]) - (a[2] - b[2]))
        for a, b in itertools.combinations(found, 2)
        if a[0] == b[0]
    ]


def guesses(model: Any, clip: Samples) -> list[dict[str, Any]]:
    from vosk import KaldiRecognizer

    recogniser = KaldiRecognizer(model, RATE, json.dumps(WORDS))
    recogniser.SetMaxAlternatives(GUESSES)
    recogniser.AcceptWaveform(clip.astype("<i2").tobytes())
    found: list[dict[str, Any]] = json.loads(recogniser.FinalResult())["alternatives"]
    return found


@torch.no_grad()
def outputs(network: Network, clip: Samples) -> align.Scores:
    sound = torch.from_numpy(clip.astype(np.float32))[None]
    return np.asarray(network(Features()(sound))[0].numpy(), np.float32)


def path_score(scores: align.Scores, words: Sequence[str], ways: align.Ways) -> float | None:
    """The best path's own score: what each frame gives for entering or staying."""
    graph = align.word_graph(words, ways)
    path = align.best_path(scores, graph)
    if path is None:
        return None
    stay, enter = align.state_scores(scores, graph)
    steps = ((t, state, t > 0 and path[t - 1] == state) for t, state in enumerate(path))
    return float(sum(stay[t, s] if stays else enter[t, s] for t, s, stays in steps))
