"""Regrowth against published growth rates."""

import pytest

from assistant.core.growth import LOUSSOUARN_2005, own_rate, regrowth

LOUSSOUARN = "Loussouarn 2005, Int J Dermatol 44 s1:6-9 (library.triprinceton.org/1t0nsnb/204)"


@pytest.mark.parametrize(
    ("group", "mm", "spread_mm"),
    [("african", 11.8, 2.1), ("caucasian", 15.4, 2.4), ("asian", 17.3, 2.2)],
)
def test_six_weeks_of_growth(group: str, mm: float, spread_mm: float) -> None:
    found = regrowth(42, LOUSSOUARN_2005[group])
    assert found.mm == pytest.approx(mm, abs=0.05), LOUSSOUARN
    assert found.spread_mm == pytest.approx(spread_mm, abs=0.05), LOUSSOUARN


@pytest.mark.parametrize(
    ("group", "rate", "spread"), [("african", 280, 50), ("caucasian", 367, 56), ("asian", 411, 53)]
)
def test_the_rates_are_the_studys(group: str, rate: float, spread: float) -> None:
    found = LOUSSOUARN_2005[group]
    assert (found.microns_per_day, found.spread_microns_per_day) == (rate, spread), LOUSSOUARN
    assert found.source.startswith("Loussouarn 2005")


@pytest.mark.parametrize("group", ["caucasian", "asian", "african"])
def test_a_month_falls_in_the_larger_studys_range(group: str) -> None:
    # Eur J Dermatol 2016;26(2):144-54, 2,249 people: 0.8 to 1.3 cm a month.
    assert 8 <= regrowth(30.44, LOUSSOUARN_2005[group]).mm <= 13


@pytest.mark.parametrize(
    ("days", "mm", "source"),
    [
        (28, 10, "BioNumbers 109909 (Textbook of Clinical Pediatrics 2012 p. 1489): 1 cm/28 days"),
        (30.44, 12.5, "hairfinder.com how fast does hair grow: 1.25 cm a month"),
        (30.44, 10, "postmymeds.co.uk how does hair grow: about 1 cm a month"),
    ],
)
def test_rules_of_thumb_lie_within_the_spread(days: float, mm: float, source: str) -> None:
    nearest = min(
        abs(found.mm - mm) / found.spread_mm
        for found in (regrowth(days, rate) for rate in LOUSSOUARN_2005.values())
    )
    assert nearest <= 1, source


def test_a_clients_own_rate_gives_her_own_regrowth_back() -> None:
    # Arithmetic: a ruler's 14 mm after 42 days is a third of a millimetre a day.
    found = regrowth(21, own_rate(42, 14))
    assert found.mm == pytest.approx(7)
    assert found.spoken() == (
        "Expect about seven millimetres of regrowth, give or take one. Measure it."
    )
