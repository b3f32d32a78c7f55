"""How is a number checked, rounded to what a scale can show, written and spoken?"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from assistant.core.numbers import spoken
from assistant.errors import SumError

# No bowl, developer or client needs more; a number past it is a misheard or mistyped one.
MOST_GRAMS = 2000.0


@dataclass(frozen=True, slots=True)
class Weighing:
    """What the scale should show for one thing, and what the sum really asked for."""

    what: str
    grams: float
    wanted_grams: float

    @property
    def error_grams(self) -> float:
        """Above zero when the scale's step makes it more than the sum asked for."""
        return self.grams - self.wanted_grams


def checked_grams(grams: float, what: str) -> float:
    """Refuse a weight that cannot be, or that no bowl ever held."""
    if not math.isfinite(grams) or grams < 0:
        raise SumError(f"{what} cannot weigh {grams} grams: give a number from zero up")
    if grams > MOST_GRAMS:
        raise SumError(f"{what} at {grams} grams is past {MOST_GRAMS:.0f}: is a point missing?")
    return float(grams)


def checked_above_zero(number: float, what: str) -> float:
    """Refuse zero, negative and endless numbers."""
    if not math.isfinite(number) or number <= 0:
        raise SumError(f"{what} cannot be {number}: give a number above zero")
    return float(number)


def number_given(text: str, what: str) -> float:
    """A number as somebody typed it."""
    try:
        number = float(text)
    except ValueError:
        raise SumError(f"{what} cannot be {text!r}: give a number") from None
    if not math.isfinite(number):
        raise SumError(f"{what} cannot be {text!r}: give a number")
    return number


def exact(number: float | Fraction) -> Fraction:
    """The number as it was written: 0.1 becomes one tenth, not its nearest binary neighbour."""
    return number if isinstance(number, Fraction) else Fraction(str(number))


def steps_for(grams: Fraction, step: Fraction, *, never_short: bool = False) -> int:
    """Whole scale steps nearest to the weight (halves up), or never below it."""
    steps = grams / step
    return math.ceil(steps) if never_short else math.floor(steps + Fraction(1, 2))


def share_steps(steps: int, parts: Sequence[Fraction]) -> tuple[int, ...]:
    """Deal whole steps out by parts so that none is lost: the largest remainders round up."""
    whole = sum(parts, Fraction(0))
    if whole <= 0 or min(parts) < 0:
        raise SumError("the parts of a mix must be above zero: give each shade its part")
    wanted = [steps * part / whole for part in parts]
    dealt = [math.floor(share) for share in wanted]
    by_remainder = sorted(range(len(parts)), key=lambda i: dealt[i] - wanted[i])
    for i in by_remainder[: steps - sum(dealt)]:
        dealt[i] += 1
    return tuple(dealt)


def decimal_text(number: float | Fraction) -> str:
    """A number with at most two decimals and no idle zeros: "1.5", "2"."""
    text = f"{float(number):.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def number_words(number: float | Fraction) -> str:
    """A number in words, its decimals digit by digit: "one hundred and five point two five"."""
    whole, _, decimals = decimal_text(number).partition(".")
    thousands, rest = divmod(abs(int(whole)), 1000)
    words = [f"{spoken(thousands)} thousand"] if thousands else []
    if rest or not thousands:
        words += ["and"] if thousands and rest < 100 else []
        words.append(spoken(rest))
    if decimals:
        words += ["point", *(spoken(int(digit)) for digit in decimals)]
    return " ".join((["minus"] if whole.startswith("-") else []) + words)


def counted(number: float | Fraction, unit: str) -> str:
    """A number in words with its unit, one "gram" but two "grams"."""
    said = decimal_text(number)
    return f"{number_words(number)} {unit if said == '1' else unit + 's'}"


def listed(phrases: Sequence[str]) -> str:
    """Phrases as one would say them: "a, b and c"."""
    if len(phrases) < 2:
        return "".join(phrases)
    return ", ".join(phrases[:-1]) + " and " + phrases[-1]


def sentence(text: str) -> str:
    """A phrase with its capital and full stop."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")
