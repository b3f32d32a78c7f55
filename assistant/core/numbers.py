"""Spoken numbers, both ways, and which of them sound alike.

A number may be said as a word ("thirty five") or digit by digit ("three five"), as
radiotelephony does; a read-back always gives both, because the last n of a teen is easily lost.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

LARGEST = 120
CLIENT_DIGITS = 4
SOUNDS_LIKE = {"to": "two", "for": "four"}  # where nothing but a digit can stand
_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
).split()
_TENS = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()
_DIGIT = {word: value for value, word in enumerate(_SMALL[:10])}


def spoken(number: int) -> str:
    """ "thirty five" for 35; `ValueError` below 0 and from a million on.

    More than 999 is rare but happens: a visit of four years ago, a limit passed seventeen hours
    ago. A sentence that cannot be made would be silence.
    """
    if not 0 <= number < 1_000_000:
        raise ValueError(f"{number} is not spoken as one number")
    if number < 20:
        return _SMALL[number]
    if number < 100:
        tens, rest = divmod(number, 10)
        return _TENS[tens] + (f" {_SMALL[rest]}" if rest else "")
    if number >= 1000:
        thousands, rest = divmod(number, 1000)
        joined = "" if not rest else f" {spoken(rest)}" if rest >= 100 else f" and {spoken(rest)}"
        return f"{spoken(thousands)} thousand{joined}"
    hundreds, rest = divmod(number, 100)
    return f"{_SMALL[hundreds]} hundred" + (f" and {spoken(rest)}" if rest else "")


def digits(number: int) -> str:
    """ "three five" for 35."""
    return " ".join(_SMALL[int(digit)] for digit in str(number))


def read_back(number: int) -> str:
    """Both ways from ten on, "thirty five, three five"; one way below."""
    return spoken(number) if number < 10 else f"{spoken(number)}, {digits(number)}"


def decimal(number: float) -> str:
    """ "two point five" for 2.5, "six" for 6.0."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    whole, _, part = text.partition(".")
    return spoken(int(whole)) + (f" point {' '.join(_SMALL[int(d)] for d in part)}" if part else "")


def centimetres(length: float) -> str:
    """ "half a centimetre", "two and a half centimetres", "three centimetres"."""
    whole, part = int(length), length - int(length)
    if part == 0.5:
        return "half a centimetre" if not whole else f"{spoken(whole)} and a half centimetres"
    return f"{decimal(length)} centimetre{'' if length == 1 else 's'}"


def minutes(seconds: float) -> int:
    """Whole minutes of a remaining time, rounded down: what is said is never too long.

    A difference of two times may miss a whole minute by its last binary digit.
    """
    return max(0, int((seconds + 1e-6) // 60))


def parse(tokens: Sequence[str]) -> int | None:
    """The number that *all* the words say, or None. Only 1 to 120 is a number here."""
    value = _as_words(tokens)
    return _as_digits(tokens) if value is None else value


def parse_client(tokens: Sequence[str]) -> str | None:
    """A client's number in figures: any number, or up to four digits one by one."""
    tokens = [SOUNDS_LIKE.get(token, token) for token in tokens]
    number = parse(tokens)
    if number is not None:
        return str(number)
    if len(tokens) > CLIENT_DIGITS or any(token not in _DIGIT for token in tokens):
        return None
    figures = "".join(str(_DIGIT[token]) for token in tokens)
    return figures if tokens and not figures.startswith("0") else None


def client_goes_on(tokens: Sequence[str]) -> bool:
    """Whether these digits may be only the beginning of a client's number."""
    return len(tokens) < CLIENT_DIGITS and all(
        SOUNDS_LIKE.get(token, token) in _DIGIT for token in tokens
    )


def sound_alikes(number: int) -> tuple[int, ...]:
    """Numbers easily taken for this one: thirteen and thirty, up to nineteen and ninety."""
    if 13 <= number <= 19:
        return ((number - 10) * 10,)
    if number in range(30, 100, 10):
        return (number // 10 + 10,)
    return ()


def vocabulary() -> list[str]:
    """Every number as it may be said, for a grammar."""
    said = {spoken(n) for n in range(1, LARGEST + 1)}
    said |= {digits(n) for n in range(10, 100)}
    return sorted(said)


def _as_words(tokens: Sequence[str]) -> int | None:
    return _by_words().get(" ".join(tokens))


@cache
def _by_words() -> dict[str, int]:
    """Every number by its words, "one hundred and five" also without the "and"."""
    said = {spoken(number): number for number in range(1, LARGEST + 1)}
    return said | {words.replace(" and ", " "): number for words, number in said.items()}


def _as_digits(tokens: Sequence[str]) -> int | None:
    if len(tokens) not in (2, 3) or any(token not in _DIGIT for token in tokens):
        return None
    number = int("".join(str(_DIGIT[token]) for token in tokens))
    return number if tokens[0] != "zero" and number <= LARGEST else None
