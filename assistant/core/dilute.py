"""How is a strength that is not on the shelf made from those that are?

One stock and water: C1 V1 = C2 V2. Two or three stocks: alligation, the pharmacist's cross,
where each stock stronger than the target is paired with each weaker one.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from assistant.core.figures import (
    Weighing,
    checked_above_zero,
    checked_grams,
    counted,
    decimal_text,
    exact,
    listed,
    number_words,
    sentence,
    share_steps,
    steps_for,
)
from assistant.errors import SumError


@dataclass(frozen=True, slots=True)
class Stock:
    """A bottle on the shelf; any unit of strength will do as long as all use the same."""

    name: str
    strength: float

    def __post_init__(self) -> None:
        if not math.isfinite(self.strength) or not 0 <= self.strength <= 100:
            raise SumError(f"{self.name}: a strength of {self.strength} cannot be, give 0 to 100")


WATER = Stock("water", 0.0)


@dataclass(frozen=True, slots=True)
class Blend:
    """What to pour together, and how near the target it lands after rounding."""

    target_strength: float
    pours: tuple[Weighing, ...]
    strength: float

    @property
    def total_grams(self) -> float:
        """The whole blend, as weighed."""
        return sum(pour.grams for pour in self.pours)

    @property
    def error_strength(self) -> float:
        """Above zero when rounding makes the blend stronger than the target."""
        return self.strength - self.target_strength

    def spoken(self, unit: str = "percent") -> str:
        """The blend in one sentence; a stock that gets nothing is left out."""
        things = [
            f"{counted(pour.grams, 'gram')} of {pour.what}" for pour in self.pours if pour.grams
        ]
        said = f"{number_words(self.target_strength)} {unit}: {listed(things)}"
        if abs(self.error_strength) >= 0.005:
            said += f", which comes out at {number_words(self.strength)} {unit}"
        return sentence(said)


def dilute(
    stock: Stock, target: float, total_grams: float, *, with_: Stock = WATER, step_grams: float = 1
) -> Blend:
    """Weaken one stock with water or a neutral: C1 V1 = C2 V2."""
    return alligate([stock, with_], target, total_grams, step_grams=step_grams)


def alligate(
    stocks: Sequence[Stock], target: float, total_grams: float, *, step_grams: float = 1
) -> Blend:
    """Blend two or three stocks to a target strength and weight."""
    parts = alligation_parts(stocks, target)
    total = exact(checked_grams(total_grams, "the blend"))
    step = exact(checked_above_zero(step_grams, "the step of the scale"))
    steps = steps_for(total, step)
    if steps == 0:
        raise SumError("a blend of nothing cannot be weighed: ask for more grams")
    whole = sum(parts, Fraction(0))
    pours = tuple(
        Weighing(stock.name, float(share * step), float(total * part / whole))
        for stock, share, part in zip(stocks, share_steps(steps, parts), parts, strict=True)
    )
    landed = blend_strength(stocks, [pour.grams for pour in pours])
    return Blend(target, pours, landed)


def alligation_parts(stocks: Sequence[Stock], target: float) -> tuple[Fraction, ...]:
    """The cross: each stronger stock gets (target - weaker), each weaker (stronger - target)."""
    _check_reachable(stocks, target)
    goal = exact(target)
    strengths = [exact(stock.strength) for stock in stocks]
    parts = [Fraction(0)] * len(stocks)
    weaker = [i for i, strength in enumerate(strengths) if strength < goal]
    for i, strength in enumerate(strengths):
        if strength >= goal:
            for j in weaker:
                parts[i] += goal - strengths[j]
                parts[j] += strength - goal
    if not weaker:  # the target *is* the weakest stock: nothing needs weakening
        parts = [Fraction(strength == goal) for strength in strengths]
    return tuple(parts)


def _check_reachable(stocks: Sequence[Stock], target: float) -> None:
    if not 2 <= len(stocks) <= 3:
        raise SumError(f"{len(stocks)} stocks cannot be blended: name two or three")
    if not math.isfinite(target) or target < 0:
        raise SumError(f"a target of {target} cannot be: give a number from zero up")
    strongest = max(stocks, key=lambda stock: stock.strength)
    weakest = min(stocks, key=lambda stock: stock.strength)
    if target > strongest.strength:
        raise SumError(
            f"{decimal_text(target)} cannot be made: {strongest.name} is the strongest at "
            f"{decimal_text(strongest.strength)}, and mixing only weakens it"
        )
    if target < weakest.strength:
        raise SumError(
            f"{decimal_text(target)} cannot be made: {weakest.name} is the weakest at "
            f"{decimal_text(weakest.strength)}; add water or a weaker stock"
        )


def blend_strength(stocks: Sequence[Stock], grams: Sequence[float]) -> float:
    """The strength that given weights give: the mean, weighted by grams."""
    if len(stocks) != len(grams):
        raise SumError("every stock needs its weight: give one for each")
    poured = [checked_grams(g, stock.name) for stock, g in zip(stocks, grams, strict=True)]
    if sum(poured) <= 0:
        raise SumError("nothing was poured: give at least one weight above zero")
    return math.fsum(
        stock.strength * g for stock, g in zip(stocks, poured, strict=True)
    ) / math.fsum(poured)
