"""Does Vosk compute what PyTorch computes?

Vosk tells the score of its best guesses. What a guess costs in the grammar depends on its number of
words, so only guesses of as many words are compared: the difference of their scores in Vosk, by
the acoustic scale of its settings, against the difference of the best paths through the same words
over PyTorch's outputs.
"""

from __future__ import annotations

import itertools
import json
import re
import statistics
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

TOLERANCE = 0.1  # nats; Vosk dithers: 0.02 is usual
GUESSES = 8
WORDS = tuple(sorted(set(COMMAND_WORDS.read_text(encoding="utf-8").split())))  # alike enough


def usual_gap(folder: Path, clips: Sequence[Samples]) -> float:
    """The median difference in nats; an error when no two guesses can be compared.

    The largest says nothing: where Vosk's search has dropped the best path through a guess's words
    it is one to four nats off, in one comparison of ten.
    """
    from vosk import Model, SetLogLevel

    SetLogLevel(-1)
    model = Model(str(folder))
    network = weights.read_network((folder / "am" / "final.mdl").read_bytes()).eval()
    ways, scale = known_ways(), acoustic_scale(folder)
    gaps = [gap for clip in clips for gap in differences(model, network, clip, ways, scale)]
    if not gaps:
        raise ConfigError("no two guesses to compare: give other recordings")
    return statistics.median(gaps)


def known_ways() -> dict[str, lexicon.Pronunciations]:
    known = lexicon.Lexicon()
    return {word: known.ways(word) for word in WORDS}


def acoustic_scale(folder: Path) -> float:
    """What Vosk multiplies the network's outputs by."""
    settings = (folder / "conf" / "model.conf").read_text(encoding="utf-8")
    found = re.search(r"^--acoustic-scale=(\S+)$", settings, re.MULTILINE)
    return float(found[1]) if found else 1.0


def differences(
    model: Any, network: Network, clip: Samples, ways: align.Ways, scale: float
) -> list[float]:
    """Vosk against PyTorch, for every two guesses of as many words."""
    scores = outputs(network, clip)
    found = []
    for guess in guesses(model, clip):
        words = guess["text"].split()
        here = path_score(scores, words, ways) if words else None
        if here is not None:
            found.append((len(words), float(guess["confidence"]) / scale, here))
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
