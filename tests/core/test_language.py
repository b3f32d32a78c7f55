"""Does the strict grammar let through what may be said, and at what price the rest?"""

from __future__ import annotations

import heapq
from collections import defaultdict
from functools import cache

import pytest

from assistant.core.intents import UNKNOWN, every_phrase
from assistant.core.language import Arc, Costs, Language, language, language_of_lines
from assistant.core.salon import names_of
from assistant.edges import recipe_files
from assistant.edges.word_files import load_commands
from tests.wake import WAKE

WORDS = load_commands()
NAMES = names_of(WORDS, recipe_files.load_all()[0], 4)
LANGUAGE = language(WORDS, NAMES)
COSTS = Costs()


@cache
def from_each(spoken: Language) -> dict[int, list[Arc]]:
    """The arcs by the state that they leave."""
    leaving: dict[int, list[Arc]] = defaultdict(list)
    for arc in spoken.arcs:
        leaving[arc.source].append(arc)
    return leaving


def cost(said: str, spoken: Language = LANGUAGE) -> float:
    """Of the cheapest way through the whole text."""
    words, ends = said.split(), dict(spoken.ends)
    leaving = from_each(spoken)
    open_ways, done = [(0.0, 0, 0)], set()
    while open_ways:
        paid, at, state = heapq.heappop(open_ways)
        if at > len(words):
            return paid
        if (at, state) in done:
            continue
        done.add((at, state))
        if at == len(words) and state in ends:
            heapq.heappush(open_ways, (paid + ends[state], at + 1, state))
        for arc in leaving[state]:
            if not arc.word or words[at : at + 1] == [arc.word]:
                step = at + bool(arc.word)
                heapq.heappush(open_ways, (paid + arc.cost, step, arc.target))
    return float("inf")


def test_every_command_may_be_said_without_talking() -> None:
    dear = [
        said
        for said in every_phrase(WORDS, NAMES, "open")[::37]
        if cost(said) >= COSTS.into_talk + 3
    ]
    assert dear == []
    assert cost(f"{WAKE} crown is on") == 0.0


@pytest.mark.parametrize("said", ["crown is on", "give it five", "it burns"])
def test_an_answer_needs_no_wake_word_but_is_dearer(said: str) -> None:
    assert cost(said) == COSTS.without_wake
    assert cost(f"{WAKE} {said}") == 0.0


def test_a_chair_comes_before_any_command() -> None:
    assert cost(f"{WAKE} chair two crown is on") == 0.0
    assert cost(f"{WAKE} chair two is client one two three four") == 0.0
    assert cost(f"{WAKE} chair two") == COSTS.address
    assert cost(WAKE) == COSTS.address


@pytest.mark.parametrize("number", ["one", "one two", "one two three", "nine zero zero seven"])
def test_a_client_number_has_up_to_four_digits(number: str) -> None:
    assert cost(f"{WAKE} client number {number}") == 0.0


def test_round_numbers_are_cheaper() -> None:
    even, uneven = cost(f"{WAKE} give it twenty"), cost(f"{WAKE} give it twenty seven")
    assert uneven == pytest.approx(even + COSTS.uneven_number)
    assert cost(f"{WAKE} give it two seven") == pytest.approx(uneven + COSTS.digits)


@pytest.mark.parametrize("said", [f"{WAKE} on is crown", f"{WAKE} crown is {UNKNOWN}", UNKNOWN])
def test_anything_else_is_talk(said: str) -> None:
    known = sum(word != UNKNOWN for word in said.split())
    assert (
        COSTS.unknown_of_talk
        <= cost(said)
        <= (COSTS.into_talk + known * COSTS.word_of_talk + COSTS.unknown_of_talk)
    )


LINES = ("four", "four five", "enter one two", "enter six")


@pytest.mark.parametrize("line", LINES)
def test_lines_that_are_given_cost_nothing(line: str) -> None:
    assert cost(line, language_of_lines(LINES)) == 0.0


@pytest.mark.parametrize("said", ["enter", "enter two", "enter one six", "five", "four four five"])
def test_parts_of_given_lines_and_crossings_are_talk(said: str) -> None:
    spoken = language_of_lines(LINES)
    in_talk = COSTS.talk + COSTS.word_of_talk * len(said.split())
    assert COSTS.into_talk <= cost(said, spoken) <= in_talk


def test_the_ways_out_of_given_lines_cost_what_they_do_in_a_session() -> None:
    spoken = language_of_lines(LINES)
    assert cost(UNKNOWN, spoken) == COSTS.talk + COSTS.unknown_of_talk
    assert cost(f"enter {UNKNOWN}", spoken) == COSTS.into_talk + COSTS.unknown_of_talk
    assert cost("seven", spoken) == float("inf")


@pytest.mark.parametrize("spoken", [LANGUAGE, language_of_lines(LINES)], ids=["session", "lines"])
def test_no_way_leads_nowhere(spoken: Language) -> None:
    sources, targets = from_each(spoken).keys(), {arc.target for arc in spoken.arcs}
    assert sources | targets <= set(range(spoken.states))
    assert all(arc.cost >= 0 for arc in spoken.arcs)
    assert targets - dict(spoken.ends).keys() - sources == set()
