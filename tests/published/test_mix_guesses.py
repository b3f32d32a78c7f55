"""The first guesses at grams against what trade sources say a head takes."""

import pytest

from assistant.core.amounts import NEW_HOUSE, ZoneSize, need, partings_across

SCALP_CM2 = 650  # a head's hair-bearing skin: from memory
GRAMS_PER_OUNCE = 28.35
QUARTER_INCH_MM = 6.35  # retouch in quarter-inch partings: quizlet.com/7956074, chapter 21 set


def whole_head(kind: str, depth_cm: float) -> ZoneSize:
    """The scalp as one band, 16 cm wide, crossed by quarter-inch partings."""
    return ZoneSize(kind, partings_across(SCALP_CM2 / 16, QUARTER_INCH_MM), 16, depth_cm)


def test_a_regrowth_is_guessed_at_what_a_trade_page_says() -> None:
    # predprofil.ru: roots take about 60 ml of mix, 30 + 30.
    found = need(NEW_HOUSE, [whole_head("root", 1.5)])
    assert found.expected_grams == pytest.approx(60, rel=0.05)
    assert found.grams > 60  # and it must not run out


def test_short_hair_is_guessed_within_a_spread_of_what_a_trade_page_says() -> None:
    # theapricots.com: short hair takes 2 to 3 oz of colour; at 1:1 that is twice as much mix.
    found = need(NEW_HOUSE, [whole_head("lengths", 8)])
    for ounces in (2, 3):
        mix = 2 * ounces * GRAMS_PER_OUNCE
        assert abs(found.expected_grams - mix) <= found.spread_grams
    assert found.grams >= 2 * 3 * GRAMS_PER_OUNCE
