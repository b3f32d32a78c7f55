"""The same sound at another rate, fast enough without numpy to mix a session in a second.

Each output sample is a weighted sum of its neighbours in the input (a windowed sinc that also
keeps out what the lower rate cannot carry). The weights repeat every `up` output samples, so
all samples with the same weights are computed together: packed into one big integer, 32 bits
each, where a multiplication and an addition serve thousands of samples at C speed.
"""

from __future__ import annotations

import math
from array import array
from functools import cache

from assistant.edges.wav_files import Sound

TAPS = 16  # input samples that make one output sample
ONE = 14  # bits of a weight: 1.0 is 2**14
PASS = 0.92  # of what the lower rate can carry
LOUDEST = 23_000  # of 32767 that may go in


def resample(sound: Sound, rate: int) -> Sound:
    """The sound at `rate` samples a second."""
    if sound.rate == rate or not sound.samples:
        return Sound(rate, sound.samples)
    step = math.gcd(sound.rate, rate)
    up, down = rate // step, sound.rate // step
    wanted = len(sound.samples) * up // down
    turns = -(-wanted // up)  # rounds of `up` output samples, the last one padded
    lanes = _lanes(_with_headroom(sound.samples), turns, down)
    out = array("H", bytes(2 * turns * up))
    for phase, (first, weights) in enumerate(_weights(up, down, PASS * min(1.0, up / down))):
        total = sum(weight * lanes[first + tap] for tap, weight in enumerate(weights))
        whole = (total >> ONE).to_bytes(4 * turns + 4, "little")
        out[phase::up] = array("H", whole[: 4 * turns])[0::2]
    return Sound(rate, array("h", _with_top_bit_flipped(out))[:wanted])


def _with_headroom(samples: array[int]) -> array[int]:
    """A loud sound a little softer: between two samples a wave may rise above both."""
    peak = max(max(samples), -min(samples))
    if peak <= LOUDEST:
        return samples
    return array("h", (value * LOUDEST // peak for value in samples))


def _with_top_bit_flipped(samples: array[int]) -> bytes:
    """Adds or takes away the bias of every 16-bit sample, all at once."""
    size = 2 * len(samples)
    flip = int.from_bytes(b"\0\x80" * len(samples), "little")
    return (int.from_bytes(samples.tobytes(), "little") ^ flip).to_bytes(size, "little")


def _lanes(samples: array[int], turns: int, down: int) -> list[int]:
    """Lane k: samples k, k + down, k + 2 down ... as one integer, made positive by a bias."""
    before, after = TAPS // 2, turns * down + 2 * TAPS - len(samples)
    padded = array("h", bytes(2 * before)) + samples + array("h", bytes(2 * after))
    biased = array("I", array("H", _with_top_bit_flipped(padded)))
    return [
        int.from_bytes(biased[k : k + turns * down : down].tobytes(), "little")
        for k in range(down + TAPS)
    ]


@cache
def _weights(up: int, down: int, cutoff: float) -> tuple[tuple[int, tuple[int, ...]], ...]:
    """For each of `up` output samples: the first lane it takes, and its weights (sum 2**14)."""
    rows = []
    for phase in range(up):
        first, rest = divmod(phase * down, up)
        raw = [_sinc(tap - (TAPS / 2 - 1) - rest / up, cutoff) for tap in range(TAPS)]
        scale = (1 << ONE) / sum(raw)
        whole = [round(value * scale) for value in raw]
        whole[TAPS // 2 - 1] += (1 << ONE) - sum(whole)
        rows.append((first + 1, tuple(whole)))
    return tuple(rows)


def _sinc(x: float, cutoff: float) -> float:
    """Low-pass at `cutoff` of half the input rate, faded out by a Hann window."""
    if abs(x) >= TAPS / 2:
        return 0.0
    arc = math.pi * cutoff * x
    return (math.sin(arc) / arc if arc else 1.0) * (0.5 + 0.5 * math.cos(2 * math.pi * x / TAPS))
