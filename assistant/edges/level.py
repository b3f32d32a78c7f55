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


def softer(samples: bytes, halvings: int) -> bytes:
    """The same at half its size, so many times: a trace stays, for digital silence misleads."""
    values = array("h", samples[: len(samples) // 2 * 2])
    return array("h", (value >> halvings for value in values)).tobytes()
