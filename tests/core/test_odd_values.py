"""Values at the edge of what the core takes: each is refused with a word on what is right."""

from __future__ import annotations

from fractions import Fraction

import pytest

from assistant.core import client_card, numbers
from assistant.core.board_frame import decode
from assistant.core.events import ClientKnown, ClockDue, encode
from assistant.core.events import decode as event_of
from assistant.core.figures import number_given, share_steps
from assistant.core.head import Head, mermaid
from assistant.core.levels import LEVEL_WORDS, SHORT, Level, StepName, level_words
from assistant.errors import SumError
from tests.core.recipes import TWO_ZONES


@pytest.mark.parametrize("text", ["", "four", "1,5", "nan", "inf"])
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(SumError, match="give a number"):
        number_given(text, "the bowl")
    assert number_given("1.5", "the bowl") == 1.5


@pytest.mark.parametrize("parts", [(0, 0), (3, -1)])
def test_parts_of_a_mix_are_above_zero(parts: tuple[int, int]) -> None:
    with pytest.raises(SumError, match="above zero"):
        share_steps(10, [Fraction(part) for part in parts])


@pytest.mark.parametrize(
    ("said", "number"),
    [
        ("zero one", None),  # a number does not begin with nought
        ("one two three four five", None),
        ("four one seven", "417"),
        ("for one seven to", "4172"),
        ("twelve", "12"),
        ("four fog", None),
        ("", None),
    ],
)
def test_a_clients_number(said: str, number: str | None) -> None:
    assert numbers.parse_client(said.split()) == number


def test_a_pseudonym_is_read_back_as_it_is_and_a_number_both_ways() -> None:
    assert client_card.spoken("robin") == "robin"
    assert client_card.spoken("41") == 41
    assert client_card.spoken("6209") == "six two zero nine"
    assert client_card.spoken("٣") == "٣"  # a digit, but none of ours


def test_a_kept_step_has_four_parts() -> None:
    assert StepName.parse("tap / colour / place / nape").subject == "nape"
    with pytest.raises(ValueError, match="names no step"):
        StepName.parse("tap / colour / place")


def test_a_step_without_a_value_is_told_short_instead_of_asked() -> None:
    place, finish = StepName("tap", "colour", "place", "nape"), StepName("tap", "", "finish", "dry")
    assert level_words(finish, Level.CHALLENGE) == SHORT
    assert level_words(place, Level.CHALLENGE) == LEVEL_WORDS[Level.CHALLENGE]
    assert level_words(finish, Level.READ) == LEVEL_WORDS[Level.READ]


def test_a_head_refuses_what_its_table_does_not_have() -> None:
    head = Head(1, 1, TWO_ZONES, 0.0)
    with pytest.raises(ValueError, match="rinsed is not possible in gate"):
        head.move("rinsed")
    with pytest.raises(ValueError, match="nape is not on"):
        head.clock(head.file.zones[0])


def test_the_diagram_has_every_state_and_ends() -> None:
    drawn = mermaid().splitlines()
    assert drawn[:2] == ["stateDiagram-v2", "    [*] --> gate"]
    assert "    gate --> stopped: refused, burned" in drawn
    assert drawn[-1] == "    closed --> [*]"


def test_a_whole_number_in_a_file_is_a_time_too() -> None:
    assert event_of({"event": "ClockDue", "at": 5}) == ClockDue(5.0)
    with pytest.raises(ValueError, match="expected float"):
        event_of({"event": "ClockDue", "at": True})
    unknown = ClientKnown(1.0, 1, "41", None)
    assert event_of(encode(unknown)) == unknown


@pytest.mark.parametrize("plain", [{}, {"view": {"heads": [], "due": [], "lost": []}}, {"view": 3}])
def test_what_is_no_frame_of_a_board_is_refused(plain: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="not a board's frame"):
        decode(plain)
