"""Does a bowl keep its ratio, lose no gram, and refuse what cannot be?"""

import math
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from assistant.core.figures import decimal_text, exact, number_words, share_steps, steps_for
from assistant.core.mix import BowlMix, Portion, Ratio, mix_for_colour, mix_total
from assistant.core.peroxide import (
    checked_percent,
    exact_percent_from_volume,
    exact_volume_from_percent,
    on_head,
    percent_from_volume,
    volume_from_percent,
)
from assistant.errors import AssistantError, SumError

calm = settings(deadline=None)  # the machine may be busy with other things

hundredths = st.integers(1, 400).map(lambda n: Fraction(n, 100))
ratios = st.tuples(hundredths, hundredths).filter(
    lambda pair: Fraction(1, 10) <= pair[1] / pair[0] <= 10
)
grams = st.integers(1, 4000).map(lambda n: n / 10)
steps = st.sampled_from([0.01, 0.05, 0.1, 0.5, 1.0, 2.0, 5.0])
percents = st.integers(1, 120).map(lambda n: n / 10)


def ratio_of(pair: tuple[Fraction, Fraction]) -> Ratio:
    return Ratio(*pair)


# ------------------------------------------------------------------- ratio


@calm
@given(ratios)
def test_a_ratio_reads_back_what_it_writes(pair: tuple[Fraction, Fraction]) -> None:
    ratio = ratio_of(pair)
    assert Ratio.parse(str(ratio)) == ratio


@calm
@given(ratios, grams)
def test_a_split_loses_nothing_and_keeps_the_ratio(
    pair: tuple[Fraction, Fraction], total: float
) -> None:
    ratio = ratio_of(pair)
    colour, developer = ratio.split(total)
    assert colour + developer == pytest.approx(total)
    assert colour >= 0
    assert developer == pytest.approx(colour * float(ratio.developer / ratio.colour))


@calm
@given(ratios, grams, grams)
def test_more_colour_never_takes_less_developer(
    pair: tuple[Fraction, Fraction], one: float, other: float
) -> None:
    small, large = (
        mix_for_colour(g, ratio_of(pair), step_grams=0.01) for g in sorted((one, other))
    )
    assert small.developer.grams <= large.developer.grams


@pytest.mark.parametrize(
    ("text", "spoken"),
    [
        ("1:1", "one to one"),
        ("1:1.5", "one to one point five"),
        (" 1 : 2 ", "one to two"),
        ("1:1.25", "one to one point two five"),
        ("2:3", "two to three"),
    ],
)
def test_a_ratio_is_spoken_digit_by_digit(text: str, spoken: str) -> None:
    assert Ratio.parse(text).spoken() == spoken


@pytest.mark.parametrize(
    "text",
    [
        *("", "1", "1:", ":1", "1:0", "0:1", "0:0", "-1:2", "1:-2", "1:1,5", "1/2", "one to two"),
        *("1:15", "1:11", "11:1", "1:1.555", "1:2:3", "1e3:1", "nan:1", "inf:1", "٣:١", "1:1.5\n1"),
    ],
)
def test_a_ratio_that_cannot_be_is_refused(text: str) -> None:
    with pytest.raises(SumError):
        Ratio.parse(text)


def test_every_refusal_is_one_of_ours_and_one_line() -> None:
    with pytest.raises(AssistantError) as refused:
        Ratio.parse("1:15")
    assert str(refused.value) == "ratio 1:15 is wider than one to 10: is a point missing?"


# -------------------------------------------------------------------- bowl


def recipe_error(bowl: BowlMix) -> float:
    return abs(
        bowl.developer.grams
        - float(exact(bowl.colour_grams)) * float(bowl.ratio.developer / bowl.ratio.colour)
    )


@calm
@given(ratios, grams, steps)
def test_a_weighed_bowl_is_within_half_a_step_everywhere(
    pair: tuple[Fraction, Fraction], total: float, step: float
) -> None:
    ratio = ratio_of(pair)
    try:
        bowl = mix_total(total, ratio, step_grams=step)
    except SumError:
        assume(False)
        return
    share = float(ratio.developer / ratio.colour)
    assert recipe_error(bowl) <= step / 2 + 1e-9
    assert abs(bowl.developer.error_grams) <= step / 2 + 1e-9
    assert abs(bowl.colours[0].error_grams) <= step / 2 + 1e-9
    assert abs(bowl.total_error_grams) <= step / 2 * (1 + share) + step / 2 + 1e-9
    assert bowl.total_grams == pytest.approx(total + bowl.total_error_grams)
    for thing in (*bowl.colours, bowl.developer):
        assert thing.grams / step == pytest.approx(round(thing.grams / step))


@calm
@given(
    ratios,
    st.integers(200, 4000).map(lambda n: n / 10),
    st.lists(st.integers(1, 6).map(Fraction), min_size=1, max_size=4),
)
def test_several_shades_share_the_colour_without_losing_a_step(
    pair: tuple[Fraction, Fraction], colour: float, parts: list[Fraction]
) -> None:
    portions = [Portion(f"shade {n}", part) for n, part in enumerate(parts)]
    bowl = mix_for_colour(colour, ratio_of(pair), portions, step_grams=0.1)
    assert sum(c.grams for c in bowl.colours) == pytest.approx(colour)
    assert sum(c.wanted_grams for c in bowl.colours) == pytest.approx(colour)
    for weighed in bowl.colours:
        assert abs(weighed.error_grams) < 0.1 + 1e-9


@calm
@given(ratios, grams, steps)
def test_never_short_is_never_short(
    pair: tuple[Fraction, Fraction], total: float, step: float
) -> None:
    bowl = mix_total(total, ratio_of(pair), step_grams=step, never_short=True)
    assert bowl.total_grams >= total - 1e-9
    assert bowl.colour_grams >= bowl.asked_total_grams - bowl.developer.wanted_grams - step


@calm
@given(ratios, grams, grams)
def test_a_larger_bowl_never_holds_less(
    pair: tuple[Fraction, Fraction], one: float, other: float
) -> None:
    ratio = ratio_of(pair)
    small, large = sorted((one, other))
    assert (
        mix_total(small, ratio, step_grams=0.1, never_short=True).total_grams
        <= mix_total(large, ratio, step_grams=0.1, never_short=True).total_grams
    )


@calm
@given(st.integers(0, 500), st.lists(st.integers(1, 9).map(Fraction), min_size=1, max_size=6))
def test_steps_are_dealt_out_whole(total: int, parts: list[Fraction]) -> None:
    dealt = share_steps(total, parts)
    assert sum(dealt) == total
    for share, part in zip(dealt, parts, strict=True):
        assert abs(share - total * part / sum(parts)) < 1


def test_the_rounding_error_is_said() -> None:
    bowl = mix_total(40, Ratio.parse("1:2"))
    assert bowl.spoken() == (
        "One to two: thirteen grams of colour and twenty six grams of developer, thirty nine "
        "together, one gram less than asked."
    )
    odd = mix_for_colour(31, Ratio.parse("1:1.5"))
    assert "weighed one to one point five two" in odd.spoken()
    assert odd.developer.error_grams == pytest.approx(0.5)


def test_a_bowl_heavier_than_asked_says_so() -> None:
    bowl = mix_total(40, Ratio.parse("1:2"), never_short=True)
    assert bowl.spoken() == (
        "One to two: fourteen grams of colour and twenty eight grams of developer, forty two "
        "together, two grams more than asked."
    )
    half = mix_for_colour(20.5, Ratio.parse("1:1"))
    assert half.total_error_grams == pytest.approx(1)
    assert "one gram more than asked" in half.spoken()


def test_the_widest_ratios_are_still_read() -> None:
    assert Ratio.parse("1:10").split(110) == (10, 100)
    assert Ratio.parse("10:1").split(110) == (100, 10)


def test_a_finer_scale_says_no_error() -> None:
    assert mix_total(100, Ratio.parse("1:1.5")).spoken() == (
        "One to one point five: forty grams of colour and sixty grams of developer, "
        "one hundred together."
    )


@pytest.mark.parametrize("bad", [-1, -0.1, math.nan, math.inf, -math.inf, 2001])
def test_weights_that_cannot_be_are_refused(bad: float) -> None:
    ratio = Ratio.parse("1:1")
    for sum_of in (mix_total, mix_for_colour):
        with pytest.raises(SumError):
            sum_of(bad, ratio)
    with pytest.raises(SumError):
        ratio.split(bad)


@pytest.mark.parametrize("step", [0, -1, math.nan, math.inf])
def test_a_scale_without_a_step_is_refused(step: float) -> None:
    with pytest.raises(SumError):
        mix_total(40, Ratio.parse("1:1"), step_grams=step)


def test_a_shade_that_rounds_away_is_refused_and_not_dropped() -> None:
    portions = [Portion("six", Fraction(30)), Portion("zero point one", Fraction(1))]
    with pytest.raises(SumError, match=r"zero point one rounds to nothing.*at least 31 grams"):
        mix_for_colour(10, Ratio.parse("1:1"), portions)
    weighed = mix_for_colour(31, Ratio.parse("1:1"), portions).colours
    assert [colour.grams for colour in weighed] == [30, 1]


@calm
@given(
    st.lists(st.integers(1, 30).map(Fraction), min_size=2, max_size=4), st.integers(1, 60), steps
)
def test_the_advice_of_a_refused_bowl_works(
    parts: list[Fraction], colour: int, step: float
) -> None:
    portions = [Portion(f"shade {n}", part) for n, part in enumerate(parts)]
    ratio = Ratio.parse("1:2")
    try:
        mix_for_colour(colour, ratio, portions, step_grams=step)
    except SumError as refused:
        least = float(str(refused).split("at least ")[1].split()[0])
        assert least > colour
        bowl = mix_for_colour(least, ratio, portions, step_grams=step)
        assert all(weighed.grams > 0 for weighed in bowl.colours)


def test_an_empty_bowl_is_refused() -> None:
    with pytest.raises(SumError):
        mix_total(0, Ratio.parse("1:1"))
    with pytest.raises(SumError):
        mix_for_colour(40, Ratio.parse("1:1"), [])
    with pytest.raises(SumError):
        Portion("six", Fraction(0))
    with pytest.raises(SumError, match="no developer"):
        mix_for_colour(1, Ratio.parse("10:1"))


# ----------------------------------------------------------------- peroxide


@calm
@given(st.floats(0.1, 100))
def test_percent_and_volume_round_trip(volume: float) -> None:
    assert volume_from_percent(percent_from_volume(volume)) == pytest.approx(volume)
    assert exact_volume_from_percent(exact_percent_from_volume(volume)) == pytest.approx(volume)


@calm
@given(st.floats(0.1, 100), st.floats(0.1, 100))
def test_more_volume_is_more_percent(one: float, other: float) -> None:
    small, large = sorted((one, other))
    assert percent_from_volume(small) <= percent_from_volume(large)
    assert exact_percent_from_volume(small) <= exact_percent_from_volume(large)


@calm
@given(percents, ratios)
def test_nothing_on_the_head_is_stronger_than_its_bottle(
    percent: float, pair: tuple[Fraction, Fraction]
) -> None:
    head = on_head(percent, ratio_of(pair))
    assert 0 < head.percent < percent
    assert not head.over_limit  # a bottle of 12 % or less cannot pass the limit when mixed


@calm
@given(percents, st.integers(10, 100).map(lambda n: Fraction(n, 10)))
def test_more_developer_is_stronger_on_the_head(percent: float, parts: Fraction) -> None:
    thin = on_head(percent, Ratio(Fraction(1), parts))
    thick = on_head(percent, Ratio(Fraction(1), parts - Fraction(1, 2)))
    assert thick.percent < thin.percent


@pytest.mark.parametrize("bad", [0, -6, 31, 51, 100, math.nan, math.inf])
def test_a_developer_that_cannot_be_is_refused(bad: float) -> None:
    with pytest.raises(SumError):
        on_head(bad, Ratio.parse("1:1"))
    with pytest.raises(SumError):
        checked_percent(bad)
    with pytest.raises(SumError):
        volume_from_percent(bad)


def test_a_hundred_volume_by_either_sum_is_a_developer() -> None:
    for percent in (percent_from_volume(100), exact_percent_from_volume(100), 30.5):
        assert checked_percent(percent) == percent


@pytest.mark.parametrize("bad", [0, -20, 101, 400, math.nan, math.inf])
def test_a_volume_that_cannot_be_is_refused(bad: float) -> None:
    with pytest.raises(SumError):
        percent_from_volume(bad)
    with pytest.raises(SumError):
        exact_percent_from_volume(bad)


def test_a_volume_with_a_lost_point_is_asked_back() -> None:
    with pytest.raises(SumError, match="400 volume is no hair developer: was 40 meant"):
        percent_from_volume(400)
    assert percent_from_volume(100) == pytest.approx(30)


def test_a_bottle_at_the_limit_is_remarked_on_but_not_refused() -> None:
    head = on_head(12, Ratio.parse("1:1"))
    assert not head.over_limit
    assert head.spoken() == (
        "Six percent peroxide on the head, from a developer that is itself at the limit: "
        "read its leaflet."
    )


@pytest.mark.parametrize(
    ("percent", "ratio", "said"),
    [
        (9, "1:1", "Four point five percent peroxide on the head."),
        (11.9, "1:1", "Five point nine five percent peroxide on the head."),
        (
            19.5,
            "1:2",
            "Thirteen percent peroxide on the head, over twelve: too strong for hair, use a weaker "
            "developer.",
        ),
    ],
)
def test_a_remark_is_made_only_where_it_belongs(percent: float, ratio: str, said: str) -> None:
    assert on_head(percent, Ratio.parse(ratio)).spoken() == said


# ------------------------------------------------------------------ figures


@calm
@given(st.integers(0, 9999))
def test_number_words_tell_numbers_apart(number: int) -> None:
    assert number_words(number) != number_words(number + 1)
    assert all(word.isalpha() for word in number_words(number).split())


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (0, "zero"),
        (13, "thirteen"),
        (30, "thirty"),
        (45, "forty five"),
        (100, "one hundred"),
        (105, "one hundred and five"),
        (999.95, "nine hundred and ninety nine point nine five"),
        (1020, "one thousand and twenty"),
        (1000, "one thousand"),
        (1500, "one thousand five hundred"),
        (0.5, "zero point five"),
        (-2, "minus two"),
        (1.005, "one"),
    ],
)
def test_number_words(number: float, words: str) -> None:
    assert number_words(number) == words


@calm
@given(st.integers(0, 10**6).map(lambda n: n / 100))
def test_two_decimals_survive_writing(number: float) -> None:
    assert float(decimal_text(number)) == number


@calm
@given(st.integers(0, 10**5).map(lambda n: Fraction(n, 100)), steps)
def test_rounding_to_a_step_is_never_off_by_more_than_half(weight: Fraction, step: float) -> None:
    fine = exact(step)
    assert abs(steps_for(weight, fine) * fine - weight) * 2 <= fine
    assert 0 <= steps_for(weight, fine, never_short=True) * fine - weight < fine


def test_a_bowl_without_a_shade_and_a_ratio_without_developer_are_refused_as_such() -> None:
    with pytest.raises(SumError, match="at least one shade"):
        mix_total(60, Ratio.parse("1:2"), ())
    for parts in ((1, 0), (0, 1)):
        with pytest.raises(SumError, match="both parts must be above zero"):
            Ratio(*map(Fraction, parts))


def test_a_shade_without_its_part_counts_once() -> None:
    shades = (Portion("7.1"), Portion("8.1", Fraction(1)))
    mixed = mix_total(60, Ratio.parse("1:2"), shades)
    assert [colour.grams for colour in mixed.colours] == [10, 10]


@pytest.mark.parametrize(
    ("total", "told"), [(60.4, "less than asked"), (61.6, "more than asked"), (60, "together.")]
)
def test_less_than_a_gram_is_told_on_its_own_side(total: float, told: str) -> None:
    """Half of 60.4 is weighed as 30, half of 61.6 as 31 and half of 60 as it is."""
    assert told in mix_total(total, Ratio.parse("1:1")).spoken()


def test_the_least_colour_is_told_where_a_part_is_a_half() -> None:
    """Half a part among ten and a half: a gram of it needs twenty one."""
    shades = (Portion("7.1", Fraction(10)), Portion("8.1", Fraction(1, 2)))
    with pytest.raises(SumError, match=r"8\.1 rounds to nothing .* at least 21 grams of colour"):
        mix_for_colour(10, Ratio.parse("1:2"), shades)
