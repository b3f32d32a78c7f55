"""How many grams of colour and of developer go into one bowl?"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from assistant.errors import SumError

# Past ten to one a ratio is a slip of the pen: 1:15 is nearly always meant as 1:1.5.
_WIDEST = 10
_PART = r"(\d{1,3}(?:\.\d{1,2})?)"
_RATIO = re.compile(rf"\s*{_PART}\s*:\s*{_PART}\s*")
_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
).split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()


@dataclass(frozen=True, slots=True)
class Ratio:
    """Parts of colour to parts of developer by weight, exactly as the leaflet prints them."""

    colour: Fraction
    developer: Fraction

    def __post_init__(self) -> None:
        if self.colour <= 0 or self.developer <= 0:
            raise SumError(f"ratio {self}: both parts must be above zero, for example 1:1.5")
        if not Fraction(1, _WIDEST) <= self.developer / self.colour <= _WIDEST:
            raise SumError(f"ratio {self} is wider than one to {_WIDEST}: is a point missing?")

    @classmethod
    def parse(cls, text: str) -> "Ratio":
        """Read "1:1.5"; anything else is refused with an example of what is right."""
        found = _RATIO.fullmatch(text)
        if found is None:
            raise SumError(f"ratio {text!r} cannot be read: write colour to developer as 1:1.5")
        return cls(Fraction(found[1]), Fraction(found[2]))

    def __str__(self) -> str:
        return f"{decimal_text(self.colour)}:{decimal_text(self.developer)}"

    def spoken(self) -> str:
        """The ratio in words, "one to one point five"."""
        return f"{number_words(self.colour)} to {number_words(self.developer)}"

    @property
    def developer_share(self) -> Fraction:
        """The part of the finished mix that is developer, between 0 and 1."""
        return self.developer / (self.colour + self.developer)

    def developer_for(self, colour_grams: float) -> float:
        """The developer that belongs to this much colour."""
        return checked_grams(colour_grams, "colour") * float(self.developer / self.colour)

    def split(self, total_grams: float) -> tuple[float, float]:
        """Colour and developer that together weigh the total."""
        total = checked_grams(total_grams, "the mix")
        developer = total * float(self.developer_share)
        return total - developer, developer


def checked_grams(grams: float, what: str) -> float:
    """Refuse a weight that no scale can show."""
    if not math.isfinite(grams) or grams < 0:
        raise SumError(f"{what} cannot weigh {grams} grams: give a number from zero up")
    return float(grams)


def decimal_text(number: Fraction | float) -> str:
    """A number with at most two decimals and no idle zeros: "1.5", "2"."""
    return f"{float(number):.2f}".rstrip("0").rstrip(".")


def number_words(number: Fraction | float) -> str:
    """A number from 0 to 999.99 in words, its decimals digit by digit."""
    whole, _, decimals = decimal_text(number).partition(".")
    words = _whole_words(int(whole))
    if decimals:
        words += " point " + " ".join(_SMALL[int(digit)] for digit in decimals)
    return words


def _whole_words(number: int) -> str:
    if number < 20:
        return _SMALL[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return _TENS[tens - 2] + (f" {_SMALL[ones]}" if ones else "")
    hundreds, rest = divmod(number, 100)
    return f"{_whole_words(hundreds)} hundred" + (f" {_whole_words(rest)}" if rest else "")
