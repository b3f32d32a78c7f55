"""When is an utterance only an address, when is it a whole command, what fills a slot?"""

from __future__ import annotations

import pytest

from assistant.core.endings import is_address, is_complete
from assistant.core.intents import (
    Chatter,
    Intent,
    Names,
    Unclear,
    understand,
)
from assistant.edges.word_files import load_commands

WORDS = load_commands()
NAMES = Names(
    chairs=4,
    zones=("nape", "crown"),
    bowls=("root bowl", "root bowl two"),
    recipes=("root tap",),
    notes=("warmer",),
)


@pytest.mark.parametrize(
    ("text", "mode", "only"),
    [
        ("juniper", "open", True),
        ("juniper chair two", "open", True),
        ("juniper chair nine", "open", False),  # there are four
        ("juniper chair", "open", False),
        ("juniper chair two crown is on", "open", False),
        ("juniper chair two", "which", False),  # that is the whole answer
        ("juniper", "which", True),
        ("chair two", "open", False),
        ("", "open", False),
    ],
)
def test_an_address_only_says_who_is_meant(text: str, mode: str, only: bool) -> None:
    assert is_address(text, WORDS, NAMES, mode) is only  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "mode", "whole"),
    [
        ("juniper crown is on", "open", True),
        ("crown is on", "open", False),  # not meant for us
        ("juniper chair two crown is on", "open", True),
        ("juniper how long", "open", False),  # "how long for the crown" begins like it
        ("juniper how long for the crown", "open", True),
        ("juniper give it thirty", "open", False),  # thirty five, or thirty minutes
        ("juniper give it thirty five minutes", "open", True),
        ("juniper root bowl is mixed", "open", True),
        ("juniper chair two", "which", False),  # "chair two, crown is on" begins like it
        ("three zero", "number", False),  # "three zero minutes"
        ("juniper chair one is client four", "open", False),  # four one
        ("juniper mix the", "open", False),
    ],
)
def test_a_whole_command_is_one_that_nothing_longer_begins_with(
    text: str, mode: str, whole: bool
) -> None:
    assert is_complete(text, WORDS, NAMES, mode) is whole  # type: ignore[arg-type]


def test_a_slot_may_go_on_inside_a_name_of_several_words() -> None:
    """After "confirm chair" a number is still to come; a bowl's name may be longer."""
    assert not is_complete("juniper root bowl", WORDS, NAMES, "open")
    assert is_complete("juniper root bowl two is mixed", WORDS, NAMES, "open")


def test_two_chairs_in_one_utterance_are_not_understood() -> None:
    said = "juniper chair one confirm chair two"
    assert isinstance(understand(said, WORDS, NAMES, "confirm", woken=False), Unclear)
    same = understand("juniper chair two confirm chair two", WORDS, NAMES, "confirm", woken=False)
    assert same == Intent("confirm", chair=2)


def test_what_is_not_for_us_stays_so_and_what_is_cut_is_unclear() -> None:
    assert understand("lovely weather", WORDS, NAMES, "open", woken=False) == Chatter()
    assert understand("juniper", WORDS, NAMES, "open", woken=False) == Unclear("")


def test_a_command_is_found_by_its_name() -> None:
    assert WORDS.command("open").name == "open"
    with pytest.raises(KeyError):
        WORDS.command("fly")
