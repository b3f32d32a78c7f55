"""Is a mixed bowl still good, and will it last the pass that it is meant for?

The minutes come from the product's own leaflet through the recipe; none are built in.
"""

import math
from dataclasses import dataclass
from enum import Enum

from assistant.core.figures import counted, sentence
from assistant.errors import SumError


class Freshness(Enum):
    """Where a mixed bowl stands in its own window."""

    FRESH = "fresh"
    AGEING = "ageing"
    STALE = "stale"


@dataclass(frozen=True, slots=True)
class BowlAge:
    """A mixed bowl so many minutes after mixing."""

    age_minutes: float
    use_within_minutes: float
    warn_before_minutes: float

    @property
    def minutes_left(self) -> float:
        """Never below zero."""
        return max(0.0, self.use_within_minutes - self.age_minutes)

    @property
    def freshness(self) -> Freshness:
        """The end itself is already stale: better one minute early than one late."""
        if self.age_minutes >= self.use_within_minutes:
            return Freshness.STALE
        if self.minutes_left <= self.warn_before_minutes:
            return Freshness.AGEING
        return Freshness.FRESH

    def lasts(self, pass_minutes: float) -> bool:
        """Whether a pass begun now would end inside the bowl's window."""
        return _checked(pass_minutes, "a pass") < self.minutes_left

    def spoken(self) -> str:
        """One sentence, with what to do once the bowl is past its window."""
        if self.freshness is Freshness.STALE:
            return "This bowl is past its time. Mix fresh."
        return sentence(f"this bowl has {counted(math.floor(self.minutes_left), 'minute')} left")


def bowl_age(
    age_minutes: float, use_within_minutes: float, warn_before_minutes: float = 5
) -> BowlAge:
    """How a bowl mixed this long ago stands."""
    if _checked(use_within_minutes, "a bowl's window") == 0:
        raise SumError("a bowl's window of no minutes cannot be: read the leaflet")
    return BowlAge(
        _checked(age_minutes, "a bowl's age"),
        use_within_minutes,
        _checked(warn_before_minutes, "the warning"),
    )


def mixing_window(
    needed_at_minutes: float, pass_minutes: float, use_within_minutes: float
) -> tuple[float, float]:
    """Earliest and latest minute to mix so that the bowl serves the whole pass."""
    start = _checked(needed_at_minutes, "the start of the pass")
    length = _checked(pass_minutes, "a pass")
    if length >= _checked(use_within_minutes, "a bowl's window"):
        raise SumError(
            f"a pass of {length:g} minutes outlasts a bowl of {use_within_minutes:g}: "
            "mix two smaller bowls"
        )
    return max(0.0, start + length - use_within_minutes), start


def _checked(minutes: float, what: str) -> float:
    if not math.isfinite(minutes) or minutes < 0:
        raise SumError(f"{what} of {minutes} minutes cannot be: give a number from zero up")
    return float(minutes)
