"""How often an hour, after so few events? The exact Poisson bounds."""

from __future__ import annotations

import math
from collections.abc import Callable

SURE = 0.95


def per_hour(events: int, hours: float) -> str:
    """The rate with its two-sided bounds; after no event, the one bound above."""
    if not hours:
        return "-"
    if not events:
        return f"0 (< {highest(0) / hours:.2g})"
    low, high = bounds(events)
    return f"{events / hours:.2g} ({low / hours:.2g} to {high / hours:.2g})"


def bounds(events: int) -> tuple[float, float]:
    """Between which the true number lies, in SURE of cases (exact, two-sided)."""
    tail = (1 - SURE) / 2
    low = _where(lambda mean: 1 - _at_most(events - 1, mean) > tail) if events else 0.0
    return low, _where(lambda mean: _at_most(events, mean) < tail)


def highest(events: int) -> float:
    """Below which the true number lies, in SURE of cases (exact, one-sided)."""
    return _where(lambda mean: _at_most(events, mean) < 1 - SURE)


def _at_most(events: int, mean: float) -> float:
    """The chance of no more than so many."""
    return sum(
        math.exp(count * math.log(mean) - mean - math.lgamma(count + 1))
        for count in range(events + 1)
    )


def _where(true: Callable[[float], bool]) -> float:
    """The least mean for which it is true."""
    low, high = 1e-9, 1e4
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (low, middle) if true(middle) else (middle, high)
    return high
