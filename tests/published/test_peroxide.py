"""Peroxide strengths against chemistry questions, pharmacopoeias and the cosmetics law."""

from fractions import Fraction

import pytest

from assistant.core.mix import Ratio
from assistant.core.peroxide import (
    ON_HEAD_LIMIT_PERCENT,
    GasState,
    both_ways,
    exact_percent_from_volume,
    exact_volume_from_percent,
    on_head,
    percent_from_volume,
    volume_from_percent,
)

# A source rounds the molar mass to 34 and the molar volume to 22.4; ours are 34.0147 and
# 22.414. That is a difference of 0.02 % of the value, so these are compared to 0.2 %.
ROUNDED_CONSTANTS = 0.002


@pytest.mark.parametrize(
    ("volume", "percent", "source"),
    [
        (10, 3, "AMA, A Handbook of Useful Drugs (chestofbooks.com copy): 3 % is about 10 volumes"),
        (20, 6, "SmPC Hydrogen Peroxide Solution 6 % (20 Vol) BP, section 2 (imedi.co.uk)"),
        (30, 9, "matching pair of the rule 10 volume = 3 % (chemistrytip.blogspot.com: 9.11 %)"),
        (40, 12, "Reg. (EC) 1223/2009 Annex III entry 12: 12 % H2O2 (40 volumes)"),
    ],
)
def test_trade_rule_both_ways(volume: float, percent: float, source: str) -> None:
    assert percent_from_volume(volume) == pytest.approx(percent), source
    assert volume_from_percent(percent) == pytest.approx(volume), source


@pytest.mark.parametrize(
    ("volume", "grams_in_100_ml", "source"),
    [
        (10, 3.035, "tardigrade.in question 6t6uktx3: 68 g H2O2 give 22,400 mL oxygen"),
        (20, 6.070, "the same question's sum with 20 volume"),
        (30, 9.105, "the same question's sum with 30 volume"),
        (40, 12.141, "the same question's sum with 40 volume"),
        (30, 9.11, "chemistrytip.blogspot.com 2010/09, What is volume of hydrogen peroxide"),
        (10, 3.03, "chemzipper.com 2018/10, Volume strength of H2O2(aq)"),
        (5.6, 1.7, "quantumstudy.com stoichiometry 10: x volume is 17 x / 5.6 grams in a litre"),
        (28, 8.5, "quantumstudy.com stoichiometry 10: x volume is 17 x / 5.6 grams in a litre"),
    ],
)
def test_exact_percent_by_stoichiometry(volume: float, grams_in_100_ml: float, source: str) -> None:
    found = exact_percent_from_volume(volume)
    assert found == pytest.approx(grams_in_100_ml, rel=ROUNDED_CONSTANTS), source
    assert exact_volume_from_percent(found) == pytest.approx(volume), source


@pytest.mark.parametrize(
    ("molarity", "volume", "source"),
    [
        (2.5, 28, "waycalculator.com volume strength: 11.2 x molarity"),
        (2.678, 30, "chemistrytip.blogspot.com 2010/09: 30 volume is 2.678 mol a litre"),
        (0.893, 10, "chemzipper.com 2018/10: 10 volume is 0.89 M (0.893 before its rounding)"),
        (1.5 / 2, 8.4, "emmcq.com 211020005: 1.5 N is 8.4 volume; molarity is half of it"),
        (17.86 / 2, 100, "waycalculator.com table: 100 volume is 17.86 N"),
        (5.36 / 2, 30, "waycalculator.com table: 30 volume is 5.36 N"),
    ],
)
def test_volume_from_molarity(molarity: float, volume: float, source: str) -> None:
    grams_in_100_ml = molarity * 34.0147 / 10  # CIAAW weights of H and O, as in peroxide.py
    found = exact_volume_from_percent(grams_in_100_ml)
    assert found == pytest.approx(volume, rel=ROUNDED_CONSTANTS), source


def test_one_bar_makes_the_trade_rule_nearly_exact() -> None:
    # transdiffusion.org copy of a chemistry chapter: a mole of oxygen takes 22.7 litres at STP.
    assert exact_percent_from_volume(10, GasState.BAR) == pytest.approx(2.995, abs=0.001)


def test_ten_volume_lies_inside_the_pharmacopoeias_tolerance() -> None:
    # USP 31, Hydrogen Peroxide Topical Solution: 2.5 to 3.5 g in 100 mL counts as "3 %".
    for percent in (percent_from_volume(10), exact_percent_from_volume(10)):
        assert 2.5 <= percent <= 3.5


@pytest.mark.parametrize(
    ("developer", "ratio", "percent", "band", "source"),
    [
        (6, "1:1", 3.0, (3, 8), "permanent 3-8 %"),
        (6, "1:1.5", 3.6, (3, 8), "permanent 3-8 %"),
        (12, "1:2", 8.0, (3, 8), "bleach 3-8 %"),
        (3, "1:2", 2.0, (1, 2), "demi 1-2 %"),
        (3, "1:1", 1.5, (1, 2), "demi 1-2 %"),
        (9, "1:1", 4.5, (3, 8), "permanent 3-8 %"),
    ],
)
def test_on_head_strength_falls_in_the_handbooks_bands(
    developer: float, ratio: str, percent: float, band: tuple[float, float], source: str
) -> None:
    # Hair-science handbook, chapter 4 table 5 p. 147 (library.triprinceton.org/1t0nsnb/154).
    head = on_head(developer, Ratio.parse(ratio))
    assert head.percent == pytest.approx(percent), source
    assert band[0] <= round(head.percent, 9) <= band[1], source


@pytest.mark.parametrize(
    ("percent", "over"),
    [(11.9, False), (12.0, False), (12.1, True), (13.0, True)],
)
def test_the_limit_on_the_head_is_twelve_percent(percent: float, over: bool) -> None:
    # Reg. (EC) 1223/2009 Annex III entry 12, as replaced by Reg. (EU) 2019/831: 12 % present or
    # released in the ready-for-use preparation. Twelve itself is allowed.
    ratio = Ratio(Fraction(1), Fraction(2))
    head = on_head(percent * 1.5, ratio)
    assert head.percent == pytest.approx(percent)
    assert head.over_limit is over
    assert ("over twelve" in head.spoken()) is over
    assert ON_HEAD_LIMIT_PERCENT == 12


def test_both_ways_are_told_side_by_side() -> None:
    # 6 % (20 Vol) BP: SmPC Hydrogen Peroxide Solution, section 2; the exact sum is that of the
    # question above: 6.07 g in 100 mL give 20 volume, so 6 g give 19.8.
    assert both_ways(6) == (
        "Six percent is twenty volume by the trade's rule, nineteen point eight by the exact sum."
    )
