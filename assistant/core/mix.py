"""How many grams of colour and of developer go into one bowl?"""

import math
import re
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

# Past ten to one a ratio is a slip of the pen: 1:15 is nearly always meant as 1:1.5.
_WIDEST = 10
_PART = r"(\d{1,3}(?:\.\d{1,2})?)"
_RATIO = re.compile(rf"\s*{_PART}\s*:\s*{_PART}\s*", re.ASCII)


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

    def split(self, total_grams: float) -> tuple[float, float]:
        """Colour and developer that together weigh the total."""
        total = exact(checked_grams(total_grams, "the mix"))
        developer = total * self.developer_share
        return float(total - developer), float(developer)


@dataclass(frozen=True, slots=True)
class Portion:
    """One shade of a bowl and its part among the shades: 3 and 1 for "three to one"."""

    shade: str
    parts: Fraction = Fraction(1)

    def __post_init__(self) -> None:
        if self.parts <= 0:
            raise SumError(f"shade {self.shade}: its part must be above zero, or leave it out")


JUST_COLOUR = (Portion("colour"),)


@dataclass(frozen=True, slots=True)
class BowlMix:
    """What to weigh for one bowl, with every rounding kept beside it."""

    ratio: Ratio
    colours: tuple[Weighing, ...]
    developer: Weighing
    asked_total_grams: float

    @property
    def colour_grams(self) -> float:
        """All shades together, as weighed."""
        return sum(colour.grams for colour in self.colours)

    @property
    def total_grams(self) -> float:
        """The whole bowl, as weighed."""
        return self.colour_grams + self.developer.grams

    @property
    def total_error_grams(self) -> float:
        """Above zero when the bowl comes out heavier than was asked for."""
        return self.total_grams - self.asked_total_grams

    @property
    def weighed_developer_parts(self) -> float:
        """Developer to one part of colour as it really comes out, to set beside the ratio."""
        return self.developer.grams / self.colour_grams

    def spoken(self) -> str:
        """The whole bowl in one sentence, its rounding error with it."""
        things = [
            f"{counted(thing.grams, 'gram')} of {thing.what}"
            for thing in (*self.colours, self.developer)
        ]
        said = f"{self.ratio.spoken()}: {listed(things)}, {number_words(self.total_grams)} together"
        return sentence(said + self._error_words())

    def _error_words(self) -> str:
        words = ""
        if abs(self.total_error_grams) >= 0.05:
            side = "more" if self.total_error_grams > 0 else "less"
            words = f", {counted(abs(self.total_error_grams), 'gram')} {side} than asked"
        if abs(self.developer.error_grams) >= 0.005:
            words += f", weighed one to {number_words(self.weighed_developer_parts)}"
        return words


def mix_total(
    total_grams: float,
    ratio: Ratio,
    portions: Sequence[Portion] = JUST_COLOUR,
    *,
    step_grams: float = 1.0,
    never_short: bool = False,
) -> BowlMix:
    """Fill a bowl to a total: the ratio is kept first and the total as near as the scale lets."""
    total = exact(checked_grams(total_grams, "the mix"))
    colour = total * (1 - ratio.developer_share)
    return _bowl(colour, ratio, portions, step_grams, never_short)


def mix_for_colour(
    colour_grams: float,
    ratio: Ratio,
    portions: Sequence[Portion] = JUST_COLOUR,
    *,
    step_grams: float = 1.0,
) -> BowlMix:
    """Fill a bowl from the colour that is squeezed out."""
    colour = exact(checked_grams(colour_grams, "the colour"))
    return _bowl(colour, ratio, portions, step_grams, never_short=False)


def _bowl(
    colour: Fraction,
    ratio: Ratio,
    portions: Sequence[Portion],
    step_grams: float,
    never_short: bool,
) -> BowlMix:
    """Weigh the colour first, then the developer that fits the colour *as weighed*."""
    step = exact(checked_above_zero(step_grams, "the step of the scale"))
    steps = steps_for(colour, step, never_short=never_short)
    colours = _weigh_shades(colour, steps, step, portions)
    developer = steps * step * ratio.developer / ratio.colour
    poured = steps_for(developer, step, never_short=never_short) * step
    if poured == 0:
        raise SumError("no developer is left after rounding: make more, or use a finer scale")
    return BowlMix(
        ratio,
        colours,
        Weighing("developer", float(poured), float(developer)),
        asked_total_grams=float(colour / (1 - ratio.developer_share)),
    )


def _weigh_shades(
    colour: Fraction, steps: int, step: Fraction, portions: Sequence[Portion]
) -> tuple[Weighing, ...]:
    """Deal the colour out among the shades; a shade that rounds away is refused, not dropped."""
    if not portions:
        raise SumError("a bowl needs at least one shade: say which")
    parts = [portion.parts for portion in portions]
    whole = sum(parts, Fraction(0))
    dealt = share_steps(steps, parts)
    for portion, share in zip(portions, dealt, strict=True):
        if share == 0:
            least = decimal_text(step * math.ceil(whole / min(parts)))
            raise SumError(
                f"{portion.shade} rounds to nothing on a scale of {decimal_text(step)} gram "
                f"steps: mix at least {least} grams of colour, or use a finer scale"
            )
    return tuple(
        Weighing(portion.shade, float(share * step), float(colour * portion.parts / whole))
        for portion, share in zip(portions, dealt, strict=True)
    )
