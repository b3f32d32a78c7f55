"""What do the digits of a shade say, what warmth lies under a level, and how is grey mixed in?

Depth stands before the mark and tones after it. Makers name the same tone digit differently
(.7 is khaki to one and chocolate to another, .8 pearl or green), so digits are kept and spoken
and a tone's name never is.
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction

from assistant.core.figures import number_words, sentence
from assistant.core.mix import Portion
from assistant.errors import SumError

_SHADE = re.compile(r"\s*0?(\d{1,2})(?:\s*([./-])\s*(\d{1,3}))?\s*", re.ASCII)
_DEEPEST, _LIGHTEST = 1, 12  # high-lift shades are numbered past the ten levels of natural hair


@dataclass(frozen=True, slots=True)
class Shade:
    """A shade code; 4.6, 4/6 and 4-6 are the same shade written by three makers."""

    depth: int
    tones: str = ""
    mark: str = field(default=".", compare=False)

    def __post_init__(self) -> None:
        if not _DEEPEST <= self.depth <= _LIGHTEST:
            raise SumError(f"shade depth {self.depth} cannot be: depths run from 1 to 12")

    @classmethod
    def parse(cls, text: str) -> "Shade":
        """Read 4.6, 4/6 or 4-6; letters belong to one maker's chart and are refused."""
        found = _SHADE.fullmatch(text)
        if found is None:
            raise SumError(
                f"shade {text!r} cannot be read: write depth, mark, tones, for example 6.3; "
                "keep a maker's letters in a note"
            )
        return cls(int(found[1]), found[3] or "", found[2] or ".")

    def __str__(self) -> str:
        return f"{self.depth}{self.mark}{self.tones}" if self.tones else str(self.depth)

    @property
    def primary(self) -> str:
        """The digit of the main tone, empty for a plain natural shade."""
        return self.tones[:1]

    @property
    def secondary(self) -> str:
        """The digit of the second tone; the same digit twice means more of it."""
        return self.tones[1:2]

    def spoken(self) -> str:
        """Digits only: "six point three four"."""
        said = number_words(self.depth)
        if self.tones:
            said += " point " + " ".join(number_words(int(digit)) for digit in self.tones)
        return said


@dataclass(frozen=True, slots=True)
class Undertone:
    """The warmth that one published chart puts under a level, and what it sets against it."""

    level: int
    warmth: str
    opposite: str
    charts_differ: bool

    def spoken(self) -> str:
        """Always as one chart's word, never as a fact about this head."""
        said = (
            f"one chart gives {self.warmth} under level {number_words(self.level)}, "
            f"with {self.opposite} against it"
        )
        if self.charts_differ:
            said += "; charts differ by a level here, so trust the strand"
        return sentence(said)


# An underlying-pigment chart at askmags.com. Bands from findcolouranalysis.co.uk (red 1-4,
# orange 5-7, yellow 8-10) agree with it broadly; charts differ by a level from 4 to 7.
_CHART = {
    10: ("pale yellow", "violet"),
    9: ("yellow", "violet"),
    8: ("deep yellow", "violet"),
    7: ("gold", "blue violet"),
    6: ("gold orange", "blue violet"),
    5: ("orange", "blue"),
    4: ("red orange", "blue green"),
    3: ("red", "green"),
    2: ("red violet", "green"),
    1: ("plum black", "green"),
}
_CHARTS_DIFFER = range(4, 8)


def undertone(level: int) -> Undertone:
    """What to expect when hair is lifted to this level."""
    if level not in _CHART:
        raise SumError(f"level {level} cannot be: natural levels run from 1 to 10")
    warmth, opposite = _CHART[level]
    return Undertone(level, warmth, opposite, level in _CHARTS_DIFFER)


@dataclass(frozen=True, slots=True)
class GreyBlend:
    """Parts of the wished shade to parts of the natural shade at the same depth."""

    desired: Fraction
    natural: Fraction

    def portions(self, desired: Shade, natural: Shade) -> tuple[Portion, ...]:
        """The two shades as portions of one bowl."""
        wished = Portion(desired.spoken(), self.desired)
        return (wished, Portion(natural.spoken(), self.natural)) if self.natural else (wished,)

    def spoken(self) -> str:
        """The blend as one product's own table: the leaflet in hand comes first."""
        if not self.natural:
            return "Under a quarter grey one table adds no natural shade. Read the leaflet."
        return sentence(
            f"one table gives {number_words(self.desired)} of the wished shade to "
            f"{number_words(self.natural)} of the natural. Read the leaflet"
        )


def grey_blend(grey_percent: float) -> GreyBlend:
    """One unnamed product's table (modernsalon.com/article/15422): 25-40, 40-70, 70-100 % grey.

    Its bands share their ends; there the band with more natural shade is taken, since grey
    left showing is the complaint that it answers.
    """
    if not 0 <= grey_percent <= 100:
        raise SumError(f"{grey_percent} % grey cannot be: give a number from 0 to 100")
    if grey_percent < 25:
        return GreyBlend(Fraction(1), Fraction(0))
    if grey_percent < 40:
        return GreyBlend(Fraction(3), Fraction(1))
    if grey_percent < 70:
        return GreyBlend(Fraction(1), Fraction(1))
    return GreyBlend(Fraction(1), Fraction(3))
