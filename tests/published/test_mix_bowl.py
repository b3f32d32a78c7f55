"""Bowls, shade codes, undertones and grey tables against trade sources."""

from fractions import Fraction

import pytest

from assistant.core.mix import Ratio, mix_for_colour, mix_total
from assistant.core.shades import Shade, grey_blend, undertone


@pytest.mark.parametrize(
    ("ratio", "colour", "developer", "source"),
    [
        ("1:1.5", 60, 90, "textilecalculator.com: 60 ml at 1:1.5 takes 90 ml, 150 together"),
        ("1:1", 30, 30, "predprofil.ru: roots take 30 + 30, about 60 together"),
        ("1:1", 30, 30, "askvity.info bowl measurements: 30 g and an equal weight at 1:1"),
        ("1:2", 20, 40, "goconqr.com 7108852: demi is mixed 1:2"),
    ],
)
def test_bowl_from_its_colour(ratio: str, colour: float, developer: float, source: str) -> None:
    bowl = mix_for_colour(colour, Ratio.parse(ratio))
    assert (bowl.colour_grams, bowl.developer.grams) == (colour, developer), source
    assert bowl.total_grams == colour + developer, source
    assert mix_total(colour + developer, Ratio.parse(ratio)).colour_grams == colour, source


@pytest.mark.parametrize(
    ("codes", "depth", "tones", "source"),
    [
        (("4.6", "4/6", "4-6"), 4, "6", "hair-and-makeup-artist.com: the marks are equivalent"),
        (("6.3", "6/3", "06.3"), 6, "3", "lessonup.com eG7CtZ4AaXeWGDxmd: 6.3"),
        (("10.21", "10/21"), 10, "21", "hair-heads.co.uk: primary tone first, then secondary"),
        (("7", "7.0"), 7, None, "hair-heads.co.uk: depth stands before the mark"),
    ],
)
def test_shade_codes(codes: tuple[str, ...], depth: int, tones: str | None, source: str) -> None:
    shades = [Shade.parse(code) for code in codes]
    assert {shade.depth for shade in shades} == {depth}, source
    if tones is not None:
        assert {shade.tones for shade in shades} == {tones}, source
        assert len(set(shades)) == 1, source
        assert shades[0].primary == tones[0], source


@pytest.mark.parametrize("digit", ["1", "7", "8"])
def test_a_tone_is_spoken_as_its_digit_only(digit: str) -> None:
    # wenchsworldofwonder (2015) and lessonup.com disagree: .1 blue ash or blue, .7 khaki or
    # chocolate, .8 pearl or green. So no name may be spoken.
    said = Shade.parse(f"6.{digit}").spoken()
    for name in ("blue", "ash", "khaki", "chocolate", "pearl", "green", "gold", "copper", "red"):
        assert name not in said.split()
    assert said == f"six point {dict(zip('178', ('one', 'seven', 'eight'), strict=True))[digit]}"


@pytest.mark.parametrize(
    ("level", "warmth", "opposite"),
    [
        (10, "pale yellow", "violet"),
        (9, "yellow", "violet"),
        (8, "deep yellow", "violet"),
        (7, "gold", "blue violet"),
        (6, "gold orange", "blue violet"),
        (5, "orange", "blue"),
        (4, "red orange", "blue green"),
        (3, "red", "green"),
        (2, "red violet", "green"),
        (1, "plum black", "green"),
    ],
)
def test_undertones(level: int, warmth: str, opposite: str) -> None:
    # askmags.com underlying pigment chart. Charts differ by a level from 4 to 7.
    found = undertone(level)
    assert (found.warmth, found.opposite) == (warmth, opposite)
    assert found.spoken().startswith("One chart gives")
    assert ("trust the strand" in found.spoken()) == (4 <= level <= 7)


@pytest.mark.parametrize(
    ("levels", "colour"), [(range(1, 5), "red"), (range(5, 8), "orange"), (range(8, 11), "yellow")]
)
def test_a_second_chart_agrees_in_its_bands(levels: range, colour: str) -> None:
    # findcolouranalysis.co.uk: red 1-4, orange 5-7, yellow 8-10. Where it and the first chart
    # do not share a word, the level must be marked as one where charts differ.
    for level in levels:
        found = undertone(level)
        assert colour in found.warmth or found.charts_differ or level == 1


@pytest.mark.parametrize(
    ("grey", "desired", "natural"), [(30, 3, 1), (50, 1, 1), (80, 1, 3), (100, 1, 3)]
)
def test_grey_blend(grey: float, desired: int, natural: int) -> None:
    # modernsalon.com/article/15422, one unnamed product: 25-40 % 3:1, 40-70 % 1:1, 70-100 % 1:3.
    blend = grey_blend(grey)
    assert (blend.desired, blend.natural) == (Fraction(desired), Fraction(natural))
    portions = blend.portions(Shade.parse("6.3"), Shade.parse("6"))
    bowl = mix_for_colour(40, Ratio.parse("1:1.5"), portions)  # the same page: 1:1.5
    assert [colour.grams for colour in bowl.colours] == [
        40 * desired / (desired + natural),
        40 * natural / (desired + natural),
    ]
    assert bowl.developer.grams == 60
