"""When does a listener take what it hears for over? On a recogniser that says what it is told."""

from __future__ import annotations

import json
from typing import Any
from unittest import mock

import pytest

from assistant.core.endings import Attention
from assistant.core.events import Mode
from assistant.core.intents import Names
from assistant.core.language import Language
from assistant.edges.recogniser import LEAD, STILL, Listener
from assistant.edges.word_files import load_commands

LANGUAGE = Language((), (), 0)
NAMES = Names(4, (), (), (), ())
BLOCK = b"\0\0"


class Told:
    """Shows the command when the quiet is over; a last look finds it only once it is said."""

    def __init__(self, said_after: int, quiet: int = 0) -> None:
        self.said_after, self.quiet, self.taken = said_after, quiet, 0

    def AcceptWaveform(self, block: bytes) -> bool:
        self.taken += 1
        return False

    def PartialResult(self) -> str:
        shown = "" if self.taken <= self.quiet else "client is comfortable"
        return json.dumps({"partial": shown})

    def FinalResult(self) -> str:
        text = "client is comfortable" if self.taken >= self.said_after else "client is can"
        return json.dumps({"alternatives": [{"text": text, "confidence": 1.0}]})


class ToldModel:
    """Keeps every recogniser it makes."""

    def __init__(self, said_after: int) -> None:
        self.said_after, self.made = said_after, list[Told]()

    def recogniser(self, language: Language, rate: int) -> Told:
        self.made.append(Told(self.said_after))
        return self.made[-1]


def blocks_until_known(model: Any, mode: Mode = "comfort") -> int:
    listener = Listener(model, LANGUAGE, Attention(load_commands(), NAMES, mode))
    for count in range(1, 70):
        if text := listener.feed(BLOCK):
            assert text == "client is comfortable"
            return count
    return 0


def test_a_command_that_stands_still_is_over() -> None:
    model = ToldModel(said_after=1)
    assert blocks_until_known(model) == STILL + 1
    assert len(model.made) == 1


@pytest.mark.parametrize("said_after", [5, 9])
def test_a_long_word_that_shows_too_early_is_waited_for(said_after: int) -> None:
    model = ToldModel(said_after)
    assert said_after <= blocks_until_known(model) <= said_after + STILL
    # whoever goes on has heard the same as if nobody had looked
    assert [one.taken for one in model.made[1:]][-1] >= said_after


def test_the_quiet_before_the_first_word_is_not_heard_again() -> None:
    model = ToldModel(said_after=1)
    first, again = Told(said_after=1000, quiet=50), Told(said_after=1)
    with mock.patch.object(model, "recogniser", side_effect=[first, again]):
        assert blocks_until_known(model) == 50 + 1 + 2 * STILL
    assert again.taken == LEAD + 1 + 2 * STILL


def test_nothing_ends_that_is_no_whole_command() -> None:
    assert blocks_until_known(ToldModel(said_after=1), "open") == 0
