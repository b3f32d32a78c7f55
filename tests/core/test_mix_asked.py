"""Is a bowl asked for aloud understood whole or not at all, and read back?"""

import pytest

from assistant.core import numbers
from assistant.core.asked_mix import (
    SAYABLE,
    AskedMix,
    asked_mix,
    ratio_phrases,
    ratio_said,
    ways_to_say,
)
from assistant.core.mix import Ratio, mix_total


@pytest.mark.parametrize("ratio", SAYABLE, ids=str)
def test_every_ratio_is_understood_as_it_is_said(ratio: Ratio) -> None:
    assert ratio_said(ratio.spoken().split()) == ratio
    assert all(ratio_said(way.split()) == ratio for way in ways_to_say(ratio))
    assert set(ways_to_say(ratio)) <= set(ratio_phrases())


def test_no_two_ratios_are_said_alike() -> None:
    assert len(set(ratio_phrases())) == sum(len(ways_to_say(ratio)) for ratio in SAYABLE)


@pytest.mark.parametrize("grams", range(5, numbers.LARGEST + 1))
def test_every_weight_is_understood_and_read_back(grams: int) -> None:
    asked = asked_mix(f"mix {numbers.spoken(grams)} grams at one to two".split())
    assert asked == AskedMix(grams, Ratio.parse("1:2"))
    assert asked.answer().startswith(f"For {numbers.read_back(grams)} grams. One to two: ")


def test_the_answer_is_the_bowl() -> None:
    asked = asked_mix("mix forty grams at one to two".split())
    assert asked is not None
    assert asked.answer() == (
        "For forty, four zero grams. One to two: thirteen grams of colour and twenty six grams of "
        "developer, thirty nine together, one gram less than asked."
    )
    assert asked.answer().endswith(mix_total(40, Ratio.parse("1:2")).spoken())


@pytest.mark.parametrize(
    "said",
    [
        "",
        "mix",
        "mix forty grams",
        "mix forty grams at",
        "mix grams at one to two",
        "mix forty at one to two",
        "mix forty grams one to two",
        "mix forty grams at one to",
        "mix forty grams at two",
        "mix forty grams at one to two please",
        "mix forty grams at one two two",
        "mix forty grams at one to five",
        "mix four hundred grams at one to two",
        "forty grams at one to two",
        "please mix forty grams at one to two",
    ],
)
def test_anything_less_or_more_is_not_understood(said: str) -> None:
    assert asked_mix(said.split()) is None
