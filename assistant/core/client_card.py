"""What is known of a client before a service begins: the alert test and the last visit.

Only what may be spoken and journaled: numbers, and words from closed lists. What somebody wrote
in their own words (contra-indications, analysis, an allergy) stays in the record store; `more`
says that there is some.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from assistant.core import numbers
from assistant.core.growth import ANYBODY, LEAST_DAYS, GrowthRate, Regrowth, regrowth
from assistant.core.rule import SalonRule

Verdict = Literal["none", "reaction", "outside", "good"]
LINE_UNKNOWN = "product line not written down"


@dataclass(frozen=True, slots=True)
class PastTest:
    """The newest alert test on record; least and most days from its leaflet, 0 = none given."""

    days_ago: int
    line: str
    who: str
    least_days: int = 0
    most_days: int = 0

    def within(self, rule: SalonRule) -> bool:
        """Whether it counts today: the leaflet's days come before the salon's own rule."""
        least, most = self.days(rule)
        return least <= self.days_ago <= most

    def days(self, rule: SalonRule) -> tuple[int, int]:
        """From how many days to how many days after it was made it counts."""
        return (
            self.least_days or rule.alert_test_days_min,
            self.most_days or rule.alert_test_days_max,
        )


@dataclass(frozen=True, slots=True)
class PastBowl:
    """A bowl as it was mixed."""

    stage: str
    name: str
    shade: str
    ratio: str
    developer_percent: float
    grams: float


@dataclass(frozen=True, slots=True)
class PastZone:
    """A zone as it was planned (minutes), and how long it was on (None: not on, or not known)."""

    stage: str
    name: str
    target_minutes: float
    limit_minutes: float
    minutes_on: float | None
    left_out: bool


@dataclass(frozen=True, slots=True)
class PastVisit:
    """The last service of a client."""

    days_ago: int
    recipe: str
    bowls: tuple[PastBowl, ...]
    zones: tuple[PastZone, ...]
    notes: tuple[str, ...]
    outcome: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """Everything the salon is told about one client."""

    visits: int
    reaction: bool  # some alert test or product ever caused one, and nobody lifted it
    more: bool  # something was written that is only to be read
    test: PastTest | None
    last: PastVisit | None
    growth: GrowthRate | None = None  # measured between two visits of this client

    @property
    def regrowth(self) -> Regrowth | None:
        """What to expect since the last visit; None if there was none, or only days ago."""
        if self.last is None or self.last.days_ago < LEAST_DAYS:
            return None
        return regrowth(self.last.days_ago, self.growth or ANYBODY)

    def verdict(self, rule: SalonRule) -> Verdict:
        """What the alert test on record means for today."""
        if self.reaction:
            return "reaction"
        if self.test is None:
            return "none"
        return "good" if self.test.within(rule) else "outside"


@dataclass(frozen=True, slots=True)
class Client:
    """Who sits in a chair: a pseudonym, and the card if the records could be read."""

    name: str
    card: Card | None
    rule: SalonRule

    @property
    def verdict(self) -> Verdict:
        """What the alert test on record means for today."""
        return self.card.verdict(self.rule) if self.card else "none"


def spoken(name: str) -> str | int:
    """How a pseudonym is read back: a number both ways, anything else as it is."""
    if not (name.isascii() and name.isdigit()):
        return name
    return int(name) if len(name) < 4 else numbers.digits(int(name))
