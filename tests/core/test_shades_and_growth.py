"""Do shade codes and regrowth hold for every number?"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.growth import LOUSSOUARN_2005, own_rate, regrowth
from assistant.core.shades import Shade, grey_blend, undertone
from assistant.errors import SumError

calm = settings(deadline=None)


@calm
@given(st.integers(1, 12), st.text("0123456789", max_size=3), st.sampled_from("./-"))
def test_shades_read_back_what_they_write(depth: int, tones: str, mark: str) -> None:
    shade = Shade(depth, tones, mark)
    again = Shade.parse(str(shade))
    assert again == shade
    assert str(again) == str(shade)
    assert len(shade.spoken().split()) == 1 + (1 + len(tones) if tones else 0)


@pytest.mark.parametrize(
    "text", ["", "x", "6N", "6.N", "0.1", "13.1", "6..1", "6.1234", "-6.1", "6,1", ".1", "600"]
)
def test_shades_that_cannot_be_are_refused(text: str) -> None:
    with pytest.raises(SumError):
        Shade.parse(text)


@pytest.mark.parametrize("level", [0, 11, -1])
def test_levels_that_cannot_be_are_refused(level: int) -> None:
    with pytest.raises(SumError):
        undertone(level)


@calm
@given(st.floats(0, 100), st.floats(0, 100))
def test_more_grey_never_takes_less_natural_shade(one: float, other: float) -> None:
    small, large = (grey_blend(grey) for grey in sorted((one, other)))
    share = [blend.natural / (blend.natural + blend.desired) for blend in (small, large)]
    assert share[0] <= share[1]


@pytest.mark.parametrize("grey", [-1, 101, math.nan, math.inf])
def test_grey_that_cannot_be_is_refused(grey: float) -> None:
    with pytest.raises(SumError):
        grey_blend(grey)


@pytest.mark.parametrize(
    ("grey", "parts"),
    [(24.9, "1:0"), (25, "3:1"), (39.9, "3:1"), (40, "1:1"), (69.9, "1:1"), (70, "1:3")],
)
def test_shared_ends_of_the_grey_bands_take_more_natural(grey: float, parts: str) -> None:
    blend = grey_blend(grey)
    assert f"{blend.desired}:{blend.natural}" == parts


def test_the_digits_keep_their_places() -> None:
    shade = Shade.parse("6.345")
    assert (shade.depth, shade.primary, shade.secondary) == (6, "3", "4")
    assert (Shade.parse("6").primary, Shade.parse("6").secondary) == ("", "")


def test_under_a_quarter_grey_there_is_one_shade() -> None:
    blend = grey_blend(10)
    assert len(blend.portions(Shade(6, "3"), Shade(6))) == 1
    assert "Read the leaflet" in blend.spoken()
    assert grey_blend(30).spoken() == (
        "One table gives three of the wished shade to one of the natural. Read the leaflet."
    )


@calm
@given(st.floats(0, 1000), st.floats(0, 1000))
def test_hair_never_grows_back(one: float, other: float) -> None:
    rate = LOUSSOUARN_2005["caucasian"]
    small, large = sorted((one, other))
    assert regrowth(small, rate).mm <= regrowth(large, rate).mm


@calm
@given(st.floats(7, 365), st.floats(0, 150))
def test_a_measured_rate_round_trips(days: float, mm: float) -> None:
    assert regrowth(days, own_rate(days, mm)).mm == pytest.approx(mm)


@pytest.mark.parametrize(
    ("days", "mm"), [(3, 10), (0, 10), (42, -1), (math.nan, 1), (42, math.inf)]
)
def test_rates_that_cannot_be_are_refused(days: float, mm: float) -> None:
    with pytest.raises(SumError):
        own_rate(days, mm)


def test_negative_days_are_refused() -> None:
    with pytest.raises(SumError):
        regrowth(-1, LOUSSOUARN_2005["asian"])
