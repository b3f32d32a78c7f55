"""Spoken numbers, both ways."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core import numbers

NUMBERS = st.integers(1, numbers.LARGEST)


@given(NUMBERS)
def test_both_ways_of_saying_a_number_are_understood(number: int) -> None:
    assert numbers.parse(numbers.spoken(number).split()) == number
    if number >= 10:
        assert numbers.parse(numbers.digits(number).split()) == number


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
    ("number", "both"), [(5, "five"), (13, "thirteen, one three"), (35, "thirty five, three five")]
)
def test_a_read_back_says_both(number: int, both: str) -> None:
    assert numbers.read_back(number) == both


def test_teens_and_tens_are_known_to_sound_alike() -> None:
    pairs = {(n, numbers.sound_alikes(n)[0]) for n in range(13, 20)}
    assert pairs == {(13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90)}
    assert all(numbers.sound_alikes(ten) == (teen,) for teen, ten in pairs)
    assert numbers.sound_alikes(20) == numbers.sound_alikes(12) == ()


@given(st.floats(0, 100_000))
def test_minutes_left_are_never_said_too_long(seconds: float) -> None:
    assert numbers.minutes(seconds) * 60 <= seconds + 1e-5


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
    [
        (999, "nine hundred and ninety nine"),
        (1000, "one thousand"),
        (1011, "one thousand and eleven"),
        (2570, "two thousand five hundred and seventy"),
        (999_999, "nine hundred and ninety nine thousand nine hundred and ninety nine"),
    ],
)
def test_large_numbers_are_spoken_too(number: int, words: str) -> None:
    """British English says "and" before the last two figures (common practice)."""
    assert numbers.spoken(number) == words
