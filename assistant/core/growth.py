"""How much new hair is there since the last visit?"""

import math
from dataclasses import dataclass

from assistant.core.figures import number_words, sentence
from assistant.errors import SumError


@dataclass(frozen=True, slots=True)
class GrowthRate:
    """A published rate: the mean over a group and how far people in it lie from that mean."""

    microns_per_day: float
    spread_microns_per_day: float
    source: str


# The study sorts hair by its form's most frequent origin; a salon that knows its client uses
# the client's own measured rate instead.
LOUSSOUARN_2005 = {
    "african": GrowthRate(280, 50, "Loussouarn 2005, Int J Dermatol 44 s1:6-9"),
    "caucasian": GrowthRate(367, 56, "Loussouarn 2005, Int J Dermatol 44 s1:6-9"),
    "asian": GrowthRate(411, 53, "Loussouarn 2005, Int J Dermatol 44 s1:6-9"),
}
# Nobody is asked for a group: the middle of the three bands, wide enough for all of them.
_BANDS = [
    rate.microns_per_day + side * rate.spread_microns_per_day
    for rate in LOUSSOUARN_2005.values()
    for side in (-1, 1)
]
ANYBODY = GrowthRate(
    (max(_BANDS) + min(_BANDS)) / 2,
    (max(_BANDS) - min(_BANDS)) / 2,
    "the three groups of Loussouarn 2005 with their spreads",
)
LEAST_DAYS = 7  # between two visits; a millimetre of the ruler is too much of what grew before


@dataclass(frozen=True, slots=True)
class Regrowth:
    """The new hair to expect: the middle, and the band that about two in three fall in."""

    mm: float
    spread_mm: float

    @property
    def whole_spread_mm(self) -> int:
        """Rounded up: a band is never made narrower by rounding."""
        return max(1, math.ceil(self.spread_mm))

    def spoken(self) -> str:
        """An expectation to be checked with a comb, never a measurement."""
        return sentence(
            f"expect about {number_words(round(self.mm))} millimetres of regrowth, give or take "
            f"{number_words(self.whole_spread_mm)}. Measure it"
        )


def regrowth(days: float, rate: GrowthRate) -> Regrowth:
    """Growth at one steady rate; people and seasons differ, so the spread is kept with it."""
    if not math.isfinite(days) or days < 0:
        raise SumError(f"{days} days since the last visit cannot be: give a number from zero up")
    return Regrowth(days * rate.microns_per_day / 1000, days * rate.spread_microns_per_day / 1000)


def own_rate(days: float, measured_mm: float) -> GrowthRate:
    """A client's own rate from one measured visit; a ruler reads to about a millimetre."""
    if not math.isfinite(days) or days < LEAST_DAYS:
        raise SumError("a growth rate needs at least seven days between visits")
    if not math.isfinite(measured_mm) or measured_mm < 0:
        raise SumError(f"{measured_mm} mm of regrowth cannot be: give a number from zero up")
    return GrowthRate(measured_mm * 1000 / days, 1000 / days, "this client's own record")
