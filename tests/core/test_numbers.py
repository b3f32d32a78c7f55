"""Spoken numbers, both ways."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from assistant.core import numbers


def parsed(words: str) -> int | None:
    return numbers.parse(words.split())


def test_both_ways_of_saying_a_number_are_understood() -> None:
    for number in range(1, numbers.LARGEST + 1):
        assert parsed(numbers.spoken(number)) == number
        if number >= 10:
            assert parsed(numbers.digits(number)) == number


@pytest.mark.parametrize(
    "words",
    ["", "zero", "zero five", "one ten", "five", "one hundred and twenty one", "one two one"],
)
def test_a_number_is_whole_and_from_one_to_a_hundred_and_twenty(words: str) -> None:
    """In figures from ten on: a lone "five" is the word."""
    assert parsed(words) == (5 if words == "five" else None)
    assert (parsed("one hundred and twenty"), parsed("one two zero")) == (120, 120)
    assert parsed("one hundred five") == 105


def test_whatever_the_grammar_may_hear_as_a_number_is_one() -> None:
    """Each in words, those of two figures also figure by figure."""
    heard = [parsed(words) for words in numbers.vocabulary()]
    assert sorted(n or 0 for n in heard) == sorted([*range(1, 121), *range(10, 100)])


@given(st.lists(st.sampled_from("one two three ten twenty thirty teen zero hundred and".split())))
def test_anything_else_is_no_number_or_a_right_one(tokens: list[str]) -> None:
    value = numbers.parse(tokens)
    if value is not None:
        ways = {
            numbers.spoken(value),
            numbers.spoken(value).replace(" and ", " "),
            numbers.digits(value),
        }
        assert " ".join(tokens) in ways


@pytest.mark.parametrize(
    ("number", "both"),
    [
        (9, "nine"),
        (10, "ten, one zero"),
        (13, "thirteen, one three"),
        (35, "thirty five, three five"),
    ],
)
def test_a_read_back_says_both(number: int, both: str) -> None:
    assert numbers.read_back(number) == both


def test_teens_and_tens_are_known_to_sound_alike() -> None:
    pairs = {(n, numbers.sound_alikes(n)[0]) for n in range(13, 20)}
    assert pairs == {(13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90)}
    assert all(numbers.sound_alikes(ten) == (teen,) for teen, ten in pairs)
    assert {numbers.sound_alikes(n) for n in (12, 20, 25, 35, 100)} == {()}


@given(st.floats(0, 100_000))
@example(59.9)
def test_minutes_left_are_never_said_too_long(seconds: float) -> None:
    assert numbers.minutes(seconds) * 60 <= seconds + 1e-5


def test_past_the_end_no_minutes_are_left() -> None:
    assert numbers.minutes(-200.0) == 0


@given(st.integers(0, 500), st.floats(0, 90_000))
def test_a_whole_minute_is_not_lost_to_rounding(minute: int, start: float) -> None:
    assert numbers.minutes((start + minute * 60.0) - start) == minute


@pytest.mark.parametrize(
    ("length", "words"),
    [
        (0.5, "half a centimetre"),
        (1, "one centimetre"),
        (1.5, "one and a half centimetres"),
        (2.5, "two and a half centimetres"),
        (3, "three centimetres"),
    ],
)
def test_lengths(length: float, words: str) -> None:
    assert numbers.centimetres(length) == words


@pytest.mark.parametrize(
    ("number", "words"),
    [(6.0, "six"), (2.5, "two point five"), (0.05, "zero point zero five")],
)
def test_decimals(number: float, words: str) -> None:
    assert numbers.decimal(number) == words


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (0, "zero"),
        (19, "nineteen"),
        (20, "twenty"),
        (100, "one hundred"),
        (999, "nine hundred and ninety nine"),
        (1000, "one thousand"),
        (1011, "one thousand and eleven"),
        (1099, "one thousand and ninety nine"),
        (1100, "one thousand one hundred"),
        (2570, "two thousand five hundred and seventy"),
        (999_999, "nine hundred and ninety nine thousand nine hundred and ninety nine"),
    ],
)
def test_numbers_in_words(number: int, words: str) -> None:
    """British English says "and" before the last two figures (common practice)."""
    assert numbers.spoken(number) == words


@pytest.mark.parametrize("number", [-1, 1_000_000])
def test_what_no_sentence_needs_is_refused(number: int) -> None:
    with pytest.raises(ValueError, match="not spoken"):
        numbers.spoken(number)


@pytest.mark.parametrize(
    ("said", "more"),
    [
        ("", True),
        ("four one seven", True),
        ("for to", True),
        ("four one seven two", False),
        ("four fog", False),
    ],
)
def test_a_clients_number_may_go_on_up_to_four_figures(said: str, more: bool) -> None:
    assert numbers.client_goes_on(said.split()) is more
