"""How do we get speech whose every sound has a known place? (Kokoro, run by onnxruntime)

One call speaks one line of sounds in one voice or a blend of two; the synthesiser's own durations
(one number per symbol, in 25 ms steps) become the alignment.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.forge.phones import PHONE_ID
from assistant.forge.spoken import Sound

Samples = npt.NDArray[np.int16]
CERTIFICATION = frozenset({"af_bella", "am_puck", "bf_emma", "bm_lewis"})  # never used here
HELD_FOR_TEST = frozenset({"af_sarah", "am_michael", "bf_isabella", "bm_george"})
STEP = 0.025  # seconds a duration unit lasts
RATE = 16000
LEAD, TAIL = 3200, 4800  # samples kept around the speech


@dataclass(frozen=True, slots=True)
class Spoken:
    """A clip and its phones: (number, start, end) in seconds of the clip."""

    samples: Samples
    phones: list[tuple[int, float, float]]


class Synthesiser:
    """Kokoro with its voices; blends are made by mixing style tables."""

    def __init__(self, model: Path, symbols: bytes, voices: Mapping[str, bytes], threads: int = 1):
        import onnxruntime

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = threads
        blob, self.durations = with_durations(model)
        self.session: Any = onnxruntime.InferenceSession(
            blob, options, providers=["CPUExecutionProvider"]
        )
        self.numbers: dict[str, int] = json.loads(symbols)["vocab"]
        self.styles = {
            name: np.frombuffer(table, np.float32).reshape(-1, 1, 256)
            for name, table in voices.items()
            if name not in CERTIFICATION
        }

    def speak(
        self, words: Sequence[Sequence[Sound]], blend: Mapping[str, float], speed: float, end: str
    ) -> Spoken:
        """One line at 16 kHz, trimmed to a little silence on both sides."""
        symbols, owners = spell(words, end)
        known = [place for place, s in enumerate(symbols) if s in self.numbers]
        tokens = [0, *(self.numbers[symbols[place]] for place in known), 0]
        style = sum(share * self.styles[name][len(known)] for name, share in blend.items())
        feeds = {
            "tokens": np.array([tokens], np.int64),
            "style": np.asarray(style, np.float32).reshape(1, 256),
            "speed": np.array([speed], np.float32),
        }
        wave, durations = self.session.run(
            [self.session.get_outputs()[0].name, self.durations], feeds
        )
        ends = np.cumsum(np.ravel(durations)) * STEP
        places = phone_places([owners[place] for place in known], ends)
        return trim(halve_rate(np.ravel(wave)), places)


def with_durations(model: Path) -> tuple[bytes, str]:
    """The model with its duration output (the only Clip node) made visible."""
    import onnx

    graph = onnx.load(str(model))
    name = next(n.output[0] for n in graph.graph.node if n.op_type == "Clip")
    graph.graph.output.append(onnx.helper.make_empty_tensor_value_info(name))
    return graph.SerializeToString(), name


def spell(words: Sequence[Sequence[Sound]], end: str) -> tuple[list[str], list[int]]:
    """All symbols of a line, and for each the running number of its phone (-1: none)."""
    symbols: list[str] = []
    owners: list[int] = []
    phone = 0
    for place, word in enumerate(words):
        for sound in word:
            symbols += sound.symbols
            owners += [phone] * len(sound.symbols)
            phone += 1
        gap = end if place == len(words) - 1 else " "
        symbols += gap
        owners += [-1] * len(gap)
    return symbols, owners


def phone_places(owners: Sequence[int], ends: npt.NDArray[np.float64]) -> list[tuple[float, float]]:
    """Start and end of every phone; short gaps belong to the phone before them."""
    places: list[list[float]] = []
    for token, owner in enumerate(owners, start=1):
        if owner < 0:
            continue
        start, end = float(ends[token - 1]), float(ends[token])
        if owner == len(places):
            places.append([start, end])
        else:
            places[owner][1] = end
    for here, after in itertools.pairwise(places):
        if after[0] - here[1] < 0.13:
            here[1] = after[0]
    return [(start, end) for start, end in places]


def halve_rate(wave: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """24 kHz to 16 kHz: a windowed low pass at 7.6 kHz, sampled at every 1.5th place."""
    taps = np.arange(-48, 49) / 3.0
    kernel = np.sinc(taps * 0.95) * np.hanning(97) * 0.95 / 3.0
    doubled = np.zeros(2 * len(wave), np.float32)
    doubled[::2] = wave
    smooth = np.convolve(doubled, kernel.astype(np.float32) * 2.0, mode="same")
    return np.asarray(smooth[::3], np.float32)


def trim(wave: npt.NDArray[np.float32], places: Sequence[tuple[float, float]]) -> Spoken:
    """Cut to the speech plus LEAD and TAIL, peak at 0.7; phone places move with the cut."""
    peak = float(np.abs(wave).max()) + 1e-9
    loud = np.flatnonzero(np.abs(wave) > 0.01 * peak)
    first, last = (int(loud[0]), int(loud[-1])) if len(loud) else (0, len(wave) - 1)
    start = max(0, first - LEAD)
    cut = wave[start : last + TAIL] / peak * 0.7 * 32767
    silent = last / RATE  # the last phone is often given the silence after it
    shifted = [(a - start / RATE, min(b, silent) - start / RATE) for a, b in places]
    return Spoken(cut.astype(np.int16), [(0, a, b) for a, b in shifted])


def label(spoken: Spoken, words: Sequence[Sequence[Sound]]) -> Spoken:
    """Put the phone numbers into the places."""
    numbers = [PHONE_ID[sound.phone] for word in words for sound in word]
    if len(numbers) != len(spoken.phones):
        raise ValueError("the synthesiser gave another number of phones than asked")
    placed = [(n, a, b) for n, (_, a, b) in zip(numbers, spoken.phones, strict=True)]
    return Spoken(spoken.samples, placed)
