"""When is an utterance only an address, when is it a whole command, what fills a slot?"""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.endings import Attention
from assistant.core.intents import (
    Chatter,
    Intent,
    Names,
    Unclear,
    understand,
)
from assistant.edges.word_files import load_commands
from tests.wake import WAKE

WORDS = load_commands()
NAMES = Names(
    chairs=4,
    zones=("nape", "crown"),
    bowls=("root bowl", "root bowl two"),
    recipes=("root tap",),
    notes=("warmer",),
)


def attention(mode: str) -> Attention:
    return Attention(WORDS, NAMES, mode)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "mode", "only"),
    [
        (WAKE, "open", True),
        (f"{WAKE} chair two", "open", True),
        (f"{WAKE} chair nine", "open", False),  # there are four
        (f"{WAKE} chair", "open", False),
        (f"{WAKE} chair two crown is on", "open", False),
        (f"{WAKE} chair two", "which", False),  # that is the whole answer
        (WAKE, "which", True),
        ("chair two", "open", False),
        ("", "open", False),
    ],
)
def test_an_address_only_says_who_is_meant(text: str, mode: str, only: bool) -> None:
    assert attention(mode).is_address(text) is only


@pytest.mark.parametrize(
    ("text", "mode", "whole"),
    [
        (f"{WAKE} crown is on", "open", True),
        ("crown is on", "open", False),  # not meant for us
        (f"{WAKE} chair two crown is on", "open", True),
        (f"{WAKE} how long", "open", False),  # "how long for the crown" begins like it
        (f"{WAKE} how long for the crown", "open", True),
        (f"{WAKE} chair two how long", "open", False),
        (f"{WAKE} give it thirty", "open", False),  # thirty five, or thirty minutes
        (f"{WAKE} give it thirty five minutes", "open", True),
        (f"{WAKE} root bowl is mixed", "open", True),
        (f"{WAKE} chair two", "which", False),  # "chair two, crown is on" begins like it
        ("three zero", "number", False),  # "three zero minutes"
        (f"{WAKE} chair one is client four", "open", False),  # four one
        (f"{WAKE} mix the", "open", False),
    ],
)
def test_a_whole_command_is_one_that_nothing_longer_begins_with(
    text: str, mode: str, whole: bool
) -> None:
    assert attention(mode).is_complete(text) is whole


@pytest.mark.parametrize(
    ("text", "mode", "half"),
    [
        (f"{WAKE} crown is", "open", True),
        (f"{WAKE} chair two crown", "open", True),
        (f"{WAKE} chair two crown is on", "open", False),
        (f"{WAKE} how long", "open", False),  # a command, although a longer one begins like it
        (f"{WAKE} crown is [unk]", "open", False),
        (f"{WAKE} lovely weather", "open", False),
        ("crown is", "check", False),  # not surely meant for us
    ],
)
def test_half_a_command_is_one_that_says_who_is_meant_and_is_none_yet(
    text: str, mode: str, half: bool
) -> None:
    assert attention(mode).is_unfinished(text) is half


@pytest.mark.parametrize(
    ("text", "mode", "waits"),
    [
        (f"{WAKE} nine", "open", True),  # as "when", and then a pause, was heard
        (f"{WAKE} ten minutes", "check", True),
        (f"{WAKE} chair two seventy", "open", True),
        (f"{WAKE} i said seventy", "open", False),
        (f"{WAKE} give it ten minutes", "open", False),
        (f"{WAKE} seventy", "number", False),
        (f"{WAKE} ten minutes", "lesson", False),
    ],
)
def test_a_bare_number_that_nobody_asked_for_waits_for_more(
    text: str, mode: str, waits: bool
) -> None:
    here = attention(mode)
    assert here.meaning(text) is not None
    assert here.is_unfinished(text) is waits
    assert not (waits and here.is_complete(text))
    assert not (waits and here.is_settled(text))


@pytest.mark.parametrize("mode", ["open", "check", "which", "number"])
def test_the_key_stands_for_the_wake_word(mode: str) -> None:
    with_key, by_word = replace(attention(mode), woken=True), attention(mode)
    for text in ("", "crown is", "crown is on", "chair two", "how long", "give it thirty"):
        said = f"{WAKE} {text}".strip()
        assert with_key.meaning(text) == by_word.meaning(said)
        assert with_key.is_address(text) == by_word.is_address(said)
        assert with_key.is_unfinished(text) == by_word.is_unfinished(said)
        assert with_key.is_complete(text) == by_word.is_complete(said)
        assert with_key.is_settled(text) == by_word.is_settled(said)


def test_a_slot_may_go_on_inside_a_name_of_several_words() -> None:
    """After "confirm chair" a number is still to come; a bowl's name may be longer."""
    assert not attention("open").is_complete(f"{WAKE} root bowl")
    assert attention("open").is_complete(f"{WAKE} root bowl two is mixed")


def test_two_chairs_in_one_utterance_are_not_understood() -> None:
    said = f"{WAKE} chair one confirm chair two"
    assert isinstance(understand(said, WORDS, NAMES, "confirm", woken=False), Unclear)
    same = understand(f"{WAKE} chair two confirm chair two", WORDS, NAMES, "confirm", woken=False)
    assert same == Intent("confirm", chair=2)


def test_what_is_not_for_us_stays_so_and_what_is_cut_is_unclear() -> None:
    assert understand("lovely weather", WORDS, NAMES, "open", woken=False) == Chatter()
    assert understand(WAKE, WORDS, NAMES, "open", woken=False) == Unclear("")


def test_a_command_is_found_by_its_name() -> None:
    assert WORDS.command("open").name == "open"
    with pytest.raises(KeyError):
        WORDS.command("fly")
