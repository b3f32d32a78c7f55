"""Does the strict grammar let through what may be said, and at what price the rest?"""

from __future__ import annotations

import heapq
from collections import defaultdict

import pytest

from assistant.core.intents import UNKNOWN, every_phrase
from assistant.core.language import Arc, Costs, language
from assistant.core.salon import names_of
from assistant.edges import recipe_files
from assistant.edges.word_files import load_commands
from tests.wake import WAKE

WORDS = load_commands()
NAMES = names_of(WORDS, recipe_files.load_all()[0], 4)
LANGUAGE = language(WORDS, NAMES)
COSTS = Costs()
LEAVING: dict[int, list[Arc]] = defaultdict(list)
for one in LANGUAGE.arcs:
    LEAVING[one.source].append(one)
ENDS = dict(LANGUAGE.ends)


def cost(said: str) -> float:
    """Of the cheapest way through the whole text."""
    words = said.split()
    open_ways, done = [(0.0, 0, 0)], set()
    while open_ways:
        paid, at, state = heapq.heappop(open_ways)
        if at > len(words):
            return paid
        if (at, state) in done:
            continue
        done.add((at, state))
        if at == len(words) and state in ENDS:
            heapq.heappush(open_ways, (paid + ENDS[state], at + 1, state))
        for arc in LEAVING[state]:
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


def test_no_way_leads_nowhere() -> None:
    assert {arc.source for arc in LANGUAGE.arcs} | {arc.target for arc in LANGUAGE.arcs} <= set(
        range(LANGUAGE.states)
    )
    assert all(arc.cost >= 0 for arc in LANGUAGE.arcs)
    stuck = {arc.target for arc in LANGUAGE.arcs} - set(ENDS) - set(LEAVING)
    assert stuck == set()
