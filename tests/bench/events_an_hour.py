"""How often an hour, after so few events? The exact bounds of Poisson counts."""

from __future__ import annotations

from scipy.stats import chi2

SURE = 0.95


def per_hour(events: int, hours: float) -> str:
    """The rate with its two-sided bounds; after no event, the one bound above."""
    if not hours:
        return "-"
    if not events:
        return f"0 (< {highest(0) / hours:.2g})"
    tail = (1 - SURE) / 2
    low, high = chi2.ppf(tail, 2 * events) / 2, chi2.ppf(1 - tail, 2 * events + 2) / 2
    return f"{events / hours:.2g} ({low / hours:.2g} to {high / hours:.2g})"


def highest(events: int) -> float:
    """Below which the true number lies, in SURE of cases (exact, one-sided)."""
    return float(chi2.ppf(SURE, 2 * events + 2) / 2)
