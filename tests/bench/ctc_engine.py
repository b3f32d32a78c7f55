"""A small recogniser of sounds by connectionist temporal classification, for comparison.

hama 1.7.0 (permissive; 4.7 MB of weights inside its wheel) gives the likelihood of every sound each
20 ms. The line whose sounds, as the package itself spells them, are likeliest in the whole clip is
the one that was said: a choice among the given lines, with no way of rejecting.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module

import numpy as np
import torch
from torch.nn import functional

from assistant.forge import evaluate

SHORTEST = 800  # samples; it takes no less


def ear(lines: Sequence[str]) -> evaluate.Ear:
    """Hears these lines, a clip at a time."""
    engine, asr = import_module("hama._engine"), import_module("hama.asr")
    symbols = [*import_module("hama.vocab").Vocabulary.load(None).decoder, "<wb>", "<blank>"]
    blank, between_words = symbols.index("<blank>"), symbols.index("<wb>")
    session = engine.AsrSession(asr._read_asr_hama_bytes(None))
    said = spelled(lines, {symbol: place for place, symbol in enumerate(symbols)})
    lengths = torch.tensor([len(sounds) for sounds in said])
    targets = torch.zeros(len(said), int(lengths.max()), dtype=torch.long)
    for row, sounds in enumerate(said):
        targets[row, : len(sounds)] = torch.tensor(sounds)

    def heard(sound: bytes) -> str:
        wave = np.frombuffer(sound, "<i2").astype(np.float32) / 32768
        wave = np.pad(wave, (0, max(0, SHORTEST - len(wave))))
        given = {"waveform": wave, "waveform_lengths": None}
        (found,), (count,) = session.run(["log_probs", "out_lengths"], given)
        outputs = torch.tensor(np.asarray(found)[: int(count)], dtype=torch.float64).log_softmax(-1)
        # it also marks words, now and then inside one: as good as nothing
        outputs[:, blank] = torch.logaddexp(outputs[:, blank], outputs[:, between_words])
        loss = functional.ctc_loss(
            outputs[:, None].expand(-1, len(said), -1), targets,
            torch.full((len(said),), len(outputs)), lengths, blank=blank, reduction="none",
        )  # fmt: skip
        return lines[int(loss.argmin())]

    return heard


def spelled(lines: Sequence[str], places: dict[str, int]) -> list[list[int]]:
    """The sounds of each line by the package's own dictionary and rules, a word at a time."""
    model = import_module("hama").G2PModel()
    words = {word for line in lines for word in line.split()}
    ways = {
        word: [places[a.phoneme] for a in model.predict(word).alignments if a.phoneme in places]
        for word in words
    }
    space = places.get(" ")
    return [
        [sound for word in line.split() for sound in ways[word] if sound != space] for line in lines
    ]
