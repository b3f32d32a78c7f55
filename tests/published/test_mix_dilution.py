"""Dilution and alligation against pharmacy and hairdressing exam items."""

from fractions import Fraction

import numpy as np
import pytest
from scipy.optimize import nnls

from assistant.core.dilute import WATER, Stock, alligate, alligation_parts, blend_strength, dilute

CREAM = Stock("neutral cream", 0)


def stocks(*strengths: float) -> list[Stock]:
    return [Stock(f"stock {n}", strength) for n, strength in enumerate(strengths, 1)]


@pytest.mark.parametrize(
    ("strengths", "grams", "expected", "source"),
    [
        ((40, 0), (1, 1), 20, "hairfinder.com mix-peroxide-formula: 40 vol + equal neutral"),
        ((20, 0), (1, 1), 10, "hairfinder.com mix-peroxide-formula: 20 vol + equal neutral"),
        ((50, 20), (1, 2), 30, "hairfinder.com mix-peroxide-formula: 50 + 20 + 20"),
        ((50, 20), (2, 1), 40, "hairfinder.com mix-peroxide-formula: 50 + 50 + 20"),
        ((6, 0), (1, 1), 3, "SmPC 6 % (20 Vol) BP section 4.2: dilute with an equal quantity"),
        ((30, 0), (5, 95), 1.5, "phartoonz.com dilution example 6: 5 mL of 30 % + 95 mL water"),
        ((25, 0), (250, 1750), 3.125, "phartoonz.com dilution example 4: 250 mL of 25 % to 2 L"),
        ((20, 0), (10, 30), 5, "phartoonz.com dilution example 1: 10 mL of 20 % to 40 mL is 5 %"),
        ((20, 0), (100, 900), 2, "certsforce.com PTCE topic 1 question 9: 100 mL to 1000 mL"),
    ],
)
def test_strength_of_a_blend(
    strengths: tuple[float, ...], grams: tuple[float, ...], expected: float, source: str
) -> None:
    assert blend_strength(stocks(*strengths), grams) == pytest.approx(expected), source


@pytest.mark.parametrize(
    ("strengths", "target", "parts", "source"),
    [
        ((70, 20), 30, (1, 4), "pharmacy-tech-test.com alligation example 1"),
        ((50, 20, 5), 10, (1, 1, 10), "uhphar-4330 three strengths, zinc oxide ointment"),
        ((95, 0), 22, (22, 73), "rxcal.org alligation normal 1: 22 % from 95 %"),
        ((95, 0), 81, (81, 14), "rxcal.org alligation normal 1: 81 % from 95 %"),
        ((75, 0), 12, (12, 63), "rxcal.org alligation normal 1: 12 % from 75 %"),
        ((60, 0), 14, (14, 46), "rxcal.org alligation normal 1: 14 % from 60 %"),
        ((50, 0), 43, (43, 7), "rxcal.org alligation normal 1: 43 % from 50 %"),
        ((15, 0), 3, (2, 8), "phartoonz.com dilution example 3: 2 L of 15 % and 8 L of water"),
        ((50, 20), 30, (1, 2), "hairfinder.com mix-peroxide-formula, read backwards"),
        ((50, 20), 40, (2, 1), "hairfinder.com mix-peroxide-formula, read backwards"),
        ((40, 10), 30, (2, 1), "hairfinder.com question: 10 and 40 volume to 30; sum by the cross"),
    ],
)
def test_parts_by_alligation(
    strengths: tuple[float, ...], target: float, parts: tuple[int, ...], source: str
) -> None:
    found = alligation_parts(stocks(*strengths), target)
    whole = sum(found)
    wanted = [Fraction(part, sum(parts)) for part in parts]
    assert [part / whole for part in found] == wanted, source


@pytest.mark.parametrize(
    ("stock", "target", "total", "stock_grams", "source"),
    [
        (5, 2, 400, 160, "labce.com stock solution dilutions: 160 mL of 5 % to 400 mL of 2 %"),
        (10, 0.2, 500, 10, "phartoonz.com dilution example 2: 10 mL of 10 %"),
        (50, 0.1, 500, 1, "phartoonz.com dilution example 5: 1 mL of 50 %"),
        (95, 22, 120 + 398.18, 120, "rxcal.org alligation normal 1: base 398.18 g to 120 g"),
        (95, 81, 960 + 165.93, 960, "rxcal.org alligation normal 1: base 165.93 g to 960 g"),
        (60, 14, 420 + 1380, 420, "rxcal.org alligation normal 1: base 1380 g to 420 g"),
        (50, 43, 1100 + 179.07, 1100, "rxcal.org alligation normal 1: base 179.07 g to 1100 g"),
    ],
)
def test_c1v1_is_c2v2(
    stock: float, target: float, total: float, stock_grams: float, source: str
) -> None:
    blend = dilute(Stock("stock", stock), target, total, with_=WATER, step_grams=0.01)
    assert blend.pours[0].grams == pytest.approx(stock_grams, abs=0.02), source
    assert blend.total_grams == pytest.approx(total), source


def test_forty_and_ten_to_twenty_volume() -> None:
    # Arithmetic by the cross of pharmacy-tech-test.com: 10 parts of 40 to 20 parts of 10.
    blend = alligate([Stock("forty volume", 40), Stock("ten volume", 10)], 20, 90)
    assert [pour.grams for pour in blend.pours] == [30, 60]
    assert blend.spoken("volume") == (
        "Twenty volume: thirty grams of forty volume and sixty grams of ten volume."
    )


@pytest.mark.parametrize("target", [3.1, 7.0, 9.0, 10.2, 11.9])
@pytest.mark.parametrize("strengths", [(12, 3), (3, 12), (12, 9, 3), (12, 6, 0), (12.5, 7, 2.5)])
def test_blends_agree_with_numpy_and_scipy(strengths: tuple[float, ...], target: float) -> None:
    blend = alligate(stocks(*strengths), target, 100, step_grams=0.001)
    grams = np.array([pour.grams for pour in blend.pours])
    assert np.average(strengths, weights=grams) == pytest.approx(target, abs=0.001)
    assert blend.strength == pytest.approx(np.average(strengths, weights=grams))
    # The two demands, mass and peroxide, as a non-negative least squares problem: with two
    # stocks its answer is the only one; with three it proves that an answer exists.
    system = np.array([np.ones(len(strengths)), strengths])
    answer, residual = nnls(system, np.array([100, 100 * target]))
    assert residual == pytest.approx(0, abs=1e-6)
    assert system @ grams == pytest.approx(system @ answer, abs=0.02)
    if len(strengths) == 2:
        assert grams == pytest.approx(answer, abs=0.001)
