"""How strong is a developer, in percent and in volumes, and how strong is it on the head?

Two ways of turning one into the other are in use and both are named here. The *trade rule*
says 10 volume is 3 %. The *exact* sum counts the oxygen that the peroxide gives off
(2 H2O2 -> 2 H2O + O2) and gives grams in 100 millilitres (w/v). We speak the trade rule.
"""

import math
from dataclasses import dataclass
from enum import Enum

from assistant.core.figures import decimal_text, number_words, sentence
from assistant.core.mix import Ratio
from assistant.errors import SumError

# Reg. (EC) 1223/2009 Annex III entry 12: hair products, 12 % H2O2 (40 volumes), present or
# released, in the preparation as it is used. Exactly 12 is allowed.
ON_HEAD_LIMIT_PERCENT = 12.0
TRADE_PERCENT_PER_VOLUME = 0.3
_PEROXIDE_GRAMS_PER_MOLE = 34.0147
# 100 volume is the strongest peroxide the old formula books dilute from; beyond it a number
# is a slip.
_STRONGEST_PERCENT = 30.5


class GasState(Enum):
    """The conditions at which the litres of oxygen are counted, as litres in a mole."""

    ATMOSPHERE = 22.414
    BAR = 22.711


def checked_percent(percent: float, what: str = "the developer") -> float:
    """Refuse a strength that is no hair developer."""
    if not math.isfinite(percent) or percent <= 0:
        raise SumError(f"{what} cannot be {percent} %: give a number above zero")
    if percent > _STRONGEST_PERCENT:
        raise SumError(
            f"{what} cannot be {decimal_text(percent)} %: nothing over 100 volume belongs "
            "on hair; were volumes meant, or is a point missing?"
        )
    return float(percent)


def percent_from_volume(volume: float) -> float:
    """Trade rule: 20 volume is 6 %."""
    _check_volume(volume)
    return volume * TRADE_PERCENT_PER_VOLUME


def volume_from_percent(percent: float) -> float:
    """Trade rule: 6 % is 20 volume."""
    return checked_percent(percent) / TRADE_PERCENT_PER_VOLUME


def exact_percent_from_volume(volume: float, gas: GasState = GasState.ATMOSPHERE) -> float:
    """By stoichiometry: grams of peroxide in 100 ml that give off `volume` ml oxygen per ml."""
    _check_volume(volume)
    return volume * 2 * _PEROXIDE_GRAMS_PER_MOLE / gas.value / 10


def exact_volume_from_percent(percent: float, gas: GasState = GasState.ATMOSPHERE) -> float:
    """By stoichiometry: millilitres of oxygen from one millilitre of a w/v strength."""
    return checked_percent(percent) * 10 * gas.value / (2 * _PEROXIDE_GRAMS_PER_MOLE)


def both_ways(percent: float) -> str:
    """A developer's strength by the trade's rule and by the exact sum, in one sentence."""
    rule, true = volume_from_percent(percent), exact_volume_from_percent(percent)
    return sentence(
        f"{number_words(percent)} percent is {number_words(round(rule, 1))} volume by the trade's "
        f"rule, {number_words(round(true, 1))} by the exact sum"
    )


def _check_volume(volume: float) -> None:
    if not math.isfinite(volume) or volume <= 0:
        raise SumError(f"{volume} volume cannot be: give a number above zero")
    if volume > 100:
        raise SumError(
            f"{decimal_text(volume)} volume is no hair developer: was {decimal_text(volume / 10)} "
            "meant?"
        )


@dataclass(frozen=True, slots=True)
class OnHead:
    """The strength of the finished mix, which is what the limit is about."""

    percent: float
    developer_percent: float

    @property
    def over_limit(self) -> bool:
        """True above 12 %; a hair's breadth of arithmetic does not count."""
        return self.percent > ON_HEAD_LIMIT_PERCENT + 1e-9

    @property
    def at_the_edge(self) -> bool:
        """The bottle itself is as strong as the limit: right ratio or the head is over it."""
        return not self.over_limit and self.developer_percent >= ON_HEAD_LIMIT_PERCENT - 1e-9

    def spoken(self) -> str:
        """The strength in one sentence, with a warning where one belongs."""
        said = f"{number_words(self.percent)} percent peroxide on the head"
        if self.over_limit:
            said += ", over twelve: too strong for hair, use a weaker developer"
        elif self.at_the_edge:
            said += ", from a developer that is itself at the limit: read its leaflet"
        return sentence(said)


def on_head(developer_percent: float, ratio: Ratio) -> OnHead:
    """Strength after mixing, taking colour to hold no peroxide of its own.

    Weights are mixed as if the printed percent were by weight. It is by volume on many
    bottles, which makes the true figure up to 4 % of itself lower: the sum errs to the safe
    side.
    """
    strength = checked_percent(developer_percent)
    return OnHead(strength * float(ratio.developer_share), strength)
