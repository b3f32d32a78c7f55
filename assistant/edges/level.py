"""How loud is a block of sound?"""

from __future__ import annotations

import math
from array import array

QUIETEST = -90.0  # dB of full scale: digital silence


def loudness(samples: bytes) -> float:
    """Of 16-bit sound, in dB of full scale."""
    values = array("h", samples[: len(samples) // 2 * 2])
    power = sum(value * value for value in values) / max(1, len(values))
    return max(QUIETEST, 10 * math.log10(power / 32768**2)) if power else QUIETEST


def hiss(peak: int, count: int) -> array[int]:
    """So many samples of faint noise, the same every time: digital silence misleads Vosk."""
    value, out = 1, array("h")
    for _ in range(count):
        value = (1_103_515_245 * value + 12_345) % 2**31
        out.append((value >> 16) % (2 * peak + 1) - peak)
    return out
