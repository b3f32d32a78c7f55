"""Does a blend keep its peroxide and its weight, and is the impossible refused?"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.dilute import WATER, Stock, alligate, alligation_parts, blend_strength, dilute
from assistant.errors import SumError

calm = settings(deadline=None)
strengths = st.integers(0, 400).map(lambda n: n / 10)
stock_lists = st.lists(strengths, min_size=2, max_size=3).map(
    lambda values: [Stock(f"stock {n}", value) for n, value in enumerate(values, 1)]
)
weights = st.integers(10, 5000).map(lambda n: n / 10)


def reachable(stocks: list[Stock], share: float) -> float:
    low = min(stock.strength for stock in stocks)
    high = max(stock.strength for stock in stocks)
    return round(low + share * (high - low), 6)


@calm
@given(stock_lists, st.floats(0, 1), weights)
def test_mass_and_strength_are_kept(stocks: list[Stock], share: float, total: float) -> None:
    target = reachable(stocks, share)
    blend = alligate(stocks, target, total, step_grams=0.1)
    assert blend.total_grams == pytest.approx(total, abs=1e-6)
    assert all(pour.grams >= 0 for pour in blend.pours)
    wanted = [pour.wanted_grams for pour in blend.pours]
    assert sum(wanted) == pytest.approx(total)
    assert blend_strength(stocks, wanted) == pytest.approx(target, abs=1e-6)
    # Rounding moves each pour by less than a step, so the blend by less than this:
    assert abs(blend.error_strength) <= 0.1 * sum(s.strength for s in stocks) / total + 1e-9


@calm
@given(stock_lists, st.floats(0, 1))
def test_a_blend_lies_between_its_stocks(stocks: list[Stock], share: float) -> None:
    blend = alligate(stocks, reachable(stocks, share), 60)
    assert min(s.strength for s in stocks) - 1e-9 <= blend.strength
    assert blend.strength <= max(s.strength for s in stocks) + 1e-9


@calm
@given(stock_lists, st.floats(0, 1))
def test_the_order_of_the_bottles_does_not_matter(stocks: list[Stock], share: float) -> None:
    target = reachable(stocks, share)
    forward = alligation_parts(stocks, target)
    assert tuple(reversed(alligation_parts(stocks[::-1], target))) == forward


@calm
@given(st.integers(1, 120).map(lambda n: n / 10), st.floats(0.01, 1), st.floats(0.01, 1))
def test_a_stronger_target_takes_more_stock(strength: float, one: float, other: float) -> None:
    weak, strong = sorted((one * strength, other * strength))
    stock = Stock("developer", strength)
    assert (
        dilute(stock, weak, 100, step_grams=0.1).pours[0].wanted_grams
        <= dilute(stock, strong, 100, step_grams=0.1).pours[0].wanted_grams + 1e-9
    )


@calm
@given(strengths, weights, weights)
def test_diluting_gives_back_what_medial_alligation_says(
    strength: float, stock_grams: float, water_grams: float
) -> None:
    stock = Stock("developer", strength)
    mean = blend_strength([stock, WATER], [stock_grams, water_grams])
    blend = dilute(stock, mean, stock_grams + water_grams, step_grams=0.1)
    if strength > 0:
        assert blend.pours[0].grams == pytest.approx(stock_grams, abs=0.11)


@pytest.mark.parametrize(
    ("strengths", "target", "reason"),
    [
        ((12, 0), 51, "51 cannot be made: stock 1 is the strongest at 12"),
        ((6, 3), 9, "stock 1 is the strongest at 6, and mixing only weakens it"),
        ((12, 6), 3, "stock 2 is the weakest at 6; add water"),
        ((12, 9, 6), 3, "stock 3 is the weakest at 6"),
        ((12, 6), -1, "a target of -1 cannot be"),
        ((12, 6), math.nan, "a target of nan cannot be"),
        ((12,), 6, "1 stocks cannot be blended: name two or three"),
        ((12, 9, 6, 3), 6, "4 stocks cannot be blended"),
    ],
)
def test_impossible_targets_are_refused_with_the_reason(
    strengths: tuple[float, ...], target: float, reason: str
) -> None:
    stocks = [Stock(f"stock {n}", strength) for n, strength in enumerate(strengths, 1)]
    with pytest.raises(SumError, match=reason):
        alligate(stocks, target, 100)


@pytest.mark.parametrize("strength", [-1, 101, math.nan, math.inf])
def test_a_stock_that_cannot_be_is_refused(strength: float) -> None:
    with pytest.raises(SumError):
        Stock("developer", strength)


def test_weights_that_cannot_be_are_refused() -> None:
    stock = Stock("developer", 12)
    for total in (-5, 0, math.inf, 0.2):
        with pytest.raises(SumError):
            dilute(stock, 6, total)
    with pytest.raises(SumError, match="ask for more grams"):
        dilute(stock, 6, 0.2)
    with pytest.raises(SumError):
        dilute(stock, 6, 100, step_grams=0)
    with pytest.raises(SumError):
        blend_strength([stock, WATER], [0, 0])
    with pytest.raises(SumError):
        blend_strength([stock, WATER], [1])
    with pytest.raises(SumError):
        blend_strength([stock, WATER], [10, -1])


def test_whole_grams_unless_the_scale_is_finer() -> None:
    stock = Stock("developer", 12)
    assert [pour.grams for pour in dilute(stock, 5, 61).pours] == [25, 36]
    assert [pour.grams for pour in dilute(stock, 5, 1).pours] == [0, 1]
    assert [pour.grams for pour in alligate([stock, WATER], 5, 61).pours] == [25, 36]
    assert Stock("pure", 100).strength == 100


def test_the_edges_need_only_one_bottle() -> None:
    stocks = [Stock("strong", 12), Stock("middle", 9), Stock("weak", 3)]
    assert [pour.grams for pour in alligate(stocks, 12, 60).pours] == [60, 0, 0]
    assert [pour.grams for pour in alligate(stocks, 3, 60).pours] == [0, 0, 60]
    assert alligate(stocks, 12, 60).spoken() == "Twelve percent: sixty grams of strong."


def test_what_rounding_does_to_the_strength_is_said() -> None:
    blend = alligate([Stock("strong", 12), Stock("weak", 3)], 10, 10)
    assert [pour.grams for pour in blend.pours] == [8, 2]
    assert blend.spoken() == (
        "Ten percent: eight grams of strong and two grams of weak, which comes out at ten point "
        "two percent."
    )
