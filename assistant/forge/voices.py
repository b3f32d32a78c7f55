"""How do we get speech whose every sound has a known place? (Kokoro, on a processor or a GPU)

One call speaks one line of sounds, or a few lines one after another, in one voice or a blend of
two; the synthesiser's own durations (one number per symbol, in 25 ms steps) become the alignment.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from assistant.forge.phones import PHONE_ID
from assistant.forge.spoken import Line

Samples = npt.NDArray[np.int16]
Floats = npt.NDArray[np.float32]
CERTIFICATION = frozenset({"af_bella", "am_puck", "bf_emma", "bm_lewis"})  # never used here
HELD_FOR_TEST = frozenset({"af_sarah", "am_michael", "bf_isabella", "bm_george"})
STEP = 0.025  # seconds a duration unit lasts
RATE = 16000
LEAD, TAIL = 3200, 4800  # samples kept around the speech
LONGEST = 440  # symbols in one go
LATE = 0.06  # seconds by which its durations lag behind its sound, as measured
BETWEEN_WORDS, BETWEEN_LINES = -1, -2  # owners of marks that are no phone


@dataclass(frozen=True, slots=True)
class Spoken:
    """A clip and its phones: (number, start, end) in seconds of the clip."""

    samples: Samples
    phones: list[tuple[int, float, float]]


class Engine(Protocol):
    """Symbol numbers, a style and a speed in; sound at 24 kHz and durations out."""

    def run(self, tokens: Sequence[int], style: Floats, speed: float) -> tuple[Floats, Floats]: ...


class Processor:
    """The 8-bit graph as it is, run by onnxruntime."""

    def __init__(self, model: Path, threads: int = 1) -> None:
        import onnxruntime

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = threads
        options.inter_op_num_threads = 1
        options.log_severity_level = 3
        blob, durations = with_durations(model)
        providers = ["CPUExecutionProvider"]
        self.session: Any = onnxruntime.InferenceSession(blob, options, providers=providers)
        self.wanted = [self.session.get_outputs()[0].name, durations]

    def run(self, tokens: Sequence[int], style: Floats, speed: float) -> tuple[Floats, Floats]:
        feeds = {
            "tokens": np.array([tokens], np.int64),
            "style": np.asarray(style, np.float32).reshape(1, 256),
            "speed": np.array([speed], np.float32),
        }
        wave, durations = self.session.run(self.wanted, feeds)
        return np.ravel(wave), np.ravel(durations)


class Device:
    """The same graph in plain numbers, run by PyTorch on a GPU (ten times faster there)."""

    def __init__(self, model: Path, device: str) -> None:
        from assistant.forge import interpreter

        self.graph = interpreter.Graph(model, device, [duration_output(model)])

    def run(self, tokens: Sequence[int], style: Floats, speed: float) -> tuple[Floats, Floats]:
        import torch

        wave, durations = self.graph.run(
            tokens=torch.tensor([list(tokens)]),
            style=torch.from_numpy(np.asarray(style, np.float32).reshape(1, 256)),
            speed=torch.tensor([speed]),
        )
        return wave.cpu().numpy().ravel(), durations.cpu().numpy().ravel()


def engine(model: Path, device: str) -> Engine:
    return Processor(model) if device == "cpu" else Device(model, device)


class Synthesiser:
    """Kokoro with its voices; blends are made by mixing style tables."""

    def __init__(self, engine: Engine, symbols: bytes, voices: Mapping[str, bytes | Floats]):
        self.engine = engine
        self.numbers: dict[str, int] = json.loads(symbols)["vocab"]
        self.styles = {
            name: np.frombuffer(table, np.float32).reshape(-1, 1, 256)
            for name, table in voices.items()
            if name not in CERTIFICATION
        }

    def speak(
        self, lines: Sequence[Line], blend: Mapping[str, float], speed: float
    ) -> list[Spoken]:
        """The lines in one breath, cut apart again; 16 kHz, a little silence on both sides."""
        symbols, owners = spell(lines)
        known = [place for place, s in enumerate(symbols) if s in self.numbers]
        tokens = [0, *(self.numbers[symbols[place]] for place in known), 0]
        row = min(len(known), 509)
        style = sum(share * self.styles[name][row] for name, share in blend.items())
        wave, durations = self.engine.run(tokens, np.asarray(style, np.float32), speed)
        ends = np.cumsum(durations) * STEP
        places = phone_places([owners[place] for place in known], ends)
        return cut_lines(halve_rate(wave), places, lines)


def duration_output(model: Path) -> str:
    """The only Clip node's output: how long every symbol lasts."""
    import onnx

    graph = onnx.load(str(model)).graph
    return str(next(n.output[0] for n in graph.node if n.op_type == "Clip"))


def with_durations(model: Path) -> tuple[bytes, str]:
    """The model with its duration output made visible."""
    import onnx

    graph = onnx.load(str(model))
    name = duration_output(model)
    graph.graph.output.append(onnx.helper.make_empty_tensor_value_info(name))
    return graph.SerializeToString(), name


def spell(lines: Sequence[Line]) -> tuple[list[str], list[int]]:
    """All symbols, and for each the running number of its phone, or what it stands between."""
    symbols: list[str] = []
    owners: list[int] = []
    phone = 0
    for number, line in enumerate(lines):
        for place, word in enumerate(line.words):
            for sound in word:
                symbols += sound.symbols
                owners += [phone] * len(sound.symbols)
                phone += 1
            last = place == len(line.words) - 1
            gap = line.end if last else ", " if place in line.pauses else " "
            between = last and number < len(lines) - 1
            gap += ".. " if between else ""  # more marks, a longer pause
            symbols += gap
            owners += [BETWEEN_LINES if between else BETWEEN_WORDS] * len(gap)
    return symbols, owners


def phone_places(owners: Sequence[int], ends: npt.NDArray[Any]) -> list[tuple[float, float]]:
    """Start and end of every phone; short gaps within a line belong to the phone after them."""
    places: list[list[float]] = []
    closed: set[int] = set()  # phones that end a line
    for token, owner in enumerate(owners, start=1):
        if owner == BETWEEN_LINES:
            closed.add(len(places) - 1)
        if owner < 0:
            continue
        start, end = float(ends[token - 1]), float(ends[token])
        if owner == len(places):
            places.append([start, end])
        else:
            places[owner][1] = end
    for number, (here, after) in enumerate(itertools.pairwise(places)):
        if number not in closed and after[0] - here[1] < 0.13:
            after[0] = here[1]
    return [(start, end) for start, end in places]


def halve_rate(wave: Floats) -> Floats:
    """24 kHz to 16 kHz: a windowed low pass at 7.6 kHz, sampled at every 1.5th place."""
    taps = np.arange(-48, 49) / 3.0
    kernel = np.sinc(taps * 0.95) * np.hanning(97) * 0.95 * 2.0 / 3.0
    doubled = np.zeros(2 * len(wave), np.float32)
    doubled[::2] = wave
    smooth = np.convolve(doubled, kernel.astype(np.float32), mode="same")
    return np.asarray(smooth[::3], np.float32)


def cut_lines(
    wave: Floats, places: Sequence[tuple[float, float]], lines: Sequence[Line]
) -> list[Spoken]:
    """Every line on its own, cut where the pause after it is quietest."""
    numbers = [[PHONE_ID[sound.phone] for word in line.words for sound in word] for line in lines]
    ends = np.cumsum([0, *(len(n) for n in numbers)])
    if ends[-1] != len(places):
        raise ValueError("the synthesiser gave another number of phones than asked")
    cuts = [quietest(wave, places[k - 1][1], places[k][0]) for k in ends[1:-1]]
    found = []
    for start, end, first, last, names in zip(
        [0.0, *cuts], [*cuts, len(wave) / RATE], ends, ends[1:], numbers, strict=False
    ):
        piece = wave[int(start * RATE) : int(end * RATE)]
        moved = [(a - start, b - start) for a, b in places[first:last]]
        found.append(trim(piece, moved, names))
    return found


def quietest(wave: Floats, start: float, end: float) -> float:
    """The middle of the quietest 30 ms between two moments."""
    first, last = int((start - LATE - 0.03) * RATE), int((end - LATE + 0.03) * RATE)
    power = np.convolve(wave[first:last] ** 2, np.ones(480), mode="valid")
    return (first + int(power.argmin()) + 240) / RATE if len(power) else (start + end) / 2


def trim(wave: Floats, places: Sequence[tuple[float, float]], names: Sequence[int]) -> Spoken:
    """Cut to the speech plus LEAD and TAIL, peak at 0.7; phone places move with the cut.

    Places stay late: every model so far learned them so, and real speech is aligned by a model.
    """
    peak = float(np.abs(wave).max()) + 1e-9
    loud = np.flatnonzero(np.abs(wave) > 0.01 * peak)
    first, last = (int(loud[0]), int(loud[-1])) if len(loud) else (0, len(wave) - 1)
    start = max(0, first - LEAD)
    cut = wave[start : last + TAIL] / peak * 0.7 * 32767
    silent = last / RATE + LATE  # the last phone is often given the silence after it
    shifted = [(a - start / RATE, min(b, silent) - start / RATE) for a, b in places]
    phones = [(n, a, b) for n, (a, b) in zip(names, shifted, strict=True)]
    return Spoken(cut.astype(np.int16), phones)
