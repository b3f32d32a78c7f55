"""What bowl was asked for aloud ("mix forty grams at one to two"), and what is answered?

The ratios that can be said are a closed set, so that a grammar can hold them and a misheard
word is refused instead of becoming another ratio.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from assistant.core import numbers
from assistant.core.mix import Ratio, mix_total

# What leaflets print; any other is asked for on the keyboard.
SAYABLE = tuple(
    Ratio.parse(text) for text in ("1:1", "1:1.5", "1:2", "1:2.5", "1:3", "1:4", "1.5:1", "2:1")
)


@dataclass(frozen=True, slots=True)
class AskedMix:
    """Grams of the whole bowl, colour and developer together, and the ratio."""

    total_grams: int
    ratio: Ratio

    def answer(self) -> str:
        """The numbers read back, then the bowl; `SumError` if whole grams cannot hold it."""
        mix = mix_total(self.total_grams, self.ratio)
        return f"For {numbers.read_back(self.total_grams)} grams. {mix.spoken()}"


def ways_to_say(ratio: Ratio) -> tuple[str, ...]:
    """ "one to one point five" and "one to one and a half"."""
    exact = ratio.spoken()
    halved = exact.replace(" point five", " and a half")
    return (exact, halved) if halved != exact else (exact,)


def as_written(words: Sequence[str]) -> str:
    """The ratio as the word list writes it: nobody hears "two" and "to" apart, our model neither.

    What is no ratio comes back as it was.
    """
    said = " ".join(words)
    alike = said.replace("two", "to").replace("too", "to")
    return _by_sound().get(alike, said)


@cache
def _by_sound() -> dict[str, str]:
    return {way.replace("two", "to"): way for way in ratio_phrases()}


def ratio_said(words: Sequence[str]) -> Ratio | None:
    """The ratio that *all* the words say, or None."""
    said = " ".join(words)
    return next((ratio for ratio in SAYABLE if said in ways_to_say(ratio)), None)


def ratio_phrases() -> list[str]:
    """Every ratio as it may be said, for a grammar."""
    return sorted(way for ratio in SAYABLE for way in ways_to_say(ratio))


def asked_mix(words: Sequence[str]) -> AskedMix | None:
    """ "mix NUMBER grams at RATIO", the whole of it, or None."""
    if list(words[:1]) != ["mix"] or "grams" not in words:
        return None
    unit = list(words).index("grams")
    grams, ratio = numbers.parse(words[1:unit]), ratio_said(words[unit + 2 :])
    if grams is None or ratio is None or words[unit + 1] != "at":
        return None
    return AskedMix(grams, ratio)
