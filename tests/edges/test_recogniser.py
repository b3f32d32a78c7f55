"""When does a listener take what it hears for over? On a recogniser that says what it is told."""

from __future__ import annotations

import json
from array import array
from typing import Any
from unittest import mock

import pytest

from assistant.core.endings import Attention
from assistant.core.events import Mode
from assistant.core.intents import Names
from assistant.core.language import Language
from assistant.edges.recogniser import LEAD, STILL, STILL_LOUD, STILL_OPEN, Listener
from assistant.edges.word_files import load_commands
from tests.wake import WAKE

COMMAND = "client is comfortable"
LANGUAGE = Language((), (), 0)
NAMES = Names(4, (), (), (), ())
SPEECH, SILENCE = array("h", (3000, -3000)).tobytes(), b"\0\0\0\0"


class Told:
    """Shows the command when the quiet is over; a last look finds it only once it is said."""

    def __init__(self, said_after: int, quiet: int = 0, text: str = COMMAND) -> None:
        self.said_after, self.quiet, self.taken, self.text = said_after, quiet, 0, text

    def AcceptWaveform(self, block: bytes) -> bool:
        self.taken += 1
        return False

    def PartialResult(self) -> str:
        shown = "" if self.taken <= self.quiet else self.text
        return json.dumps({"partial": shown})

    def FinalResult(self) -> str:
        text = self.text if self.taken >= self.said_after else "client is can"
        return json.dumps({"alternatives": [{"text": text, "confidence": 1.0}]})


class ToldModel:
    """Keeps every recogniser it makes."""

    def __init__(self, said_after: int, text: str = COMMAND) -> None:
        self.said_after, self.text, self.made = said_after, text, list[Told]()

    def recogniser(self, language: Language, rate: int) -> Told:
        self.made.append(Told(self.said_after, text=self.text))
        return self.made[-1]


def blocks_until_known(model: Any, mode: Mode = "comfort", speaking: int = 1) -> int:
    """After so many blocks of speech, and silence from then on."""
    listener = Listener(model, LANGUAGE, Attention(load_commands(), NAMES, mode))
    for count in range(1, 70):
        if text := listener.feed(SPEECH if count <= speaking else SILENCE):
            assert text == model.text
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
        assert blocks_until_known(model, speaking=51) == 50 + 1 + 2 * STILL
    assert again.taken == LEAD + 1 + 2 * STILL


def test_nothing_is_over_while_somebody_speaks_on() -> None:
    """What they say may take it back, and shows later; but noise that stays must not hold it up."""
    assert blocks_until_known(ToldModel(said_after=1), speaking=4) == 4 + STILL
    assert blocks_until_known(ToldModel(said_after=1), speaking=70) == STILL_LOUD + 1


def test_what_may_be_said_at_more_length_is_over_only_in_silence() -> None:
    how_long = ToldModel(said_after=1, text=f"{WAKE} how long")
    assert blocks_until_known(how_long, "open") == STILL_OPEN + 1
    assert blocks_until_known(how_long, "open", speaking=70) == 0


def test_nothing_ends_that_is_no_whole_command() -> None:
    assert blocks_until_known(ToldModel(said_after=1), "open") == 0
