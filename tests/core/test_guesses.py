"""Which of the recogniser's guesses counts?"""

from __future__ import annotations

import pytest

from assistant.core.guesses import TOO_CLOSE, choose
from assistant.core.intents import Chatter, Intent, Unclear, understand
from assistant.core.salon import names_of
from assistant.edges import recipe_files
from assistant.edges.word_files import load_commands
from tests.wake import WAKE

WORDS = load_commands()
NAMES = names_of(WORDS, recipe_files.load_all()[0], 4)


def meaning(text: str) -> Intent | None:
    meant = understand(text, WORDS, NAMES, "check", woken=False)
    return meant if isinstance(meant, Intent) else None


def chosen(*guesses: tuple[str, float]) -> str:
    return choose(guesses, meaning)


def test_nothing_heard_is_nothing() -> None:
    assert chosen() == ""


def test_a_command_counts_only_if_no_talk_is_likelier() -> None:
    talk = (f"{WAKE} crown is [unk]", 9.0)
    assert chosen(talk, (f"{WAKE} crown is on", 9.0)) == f"{WAKE} crown is on"
    assert chosen(talk, (f"{WAKE} crown is on", 8.9)) == talk[0]
    assert chosen(("undo that", 9.0), (f"{WAKE} undo that", 8.9)) == "undo that"


def test_what_may_as_well_be_something_that_begins_otherwise_is_no_command() -> None:
    """As running water was heard, and a strand check in six voices."""
    assert chosen(("not ready", 9.0), ("fifty", 9.0 - TOO_CLOSE)) == "fifty"
    assert chosen(("not ready", 9.0), ("", 8.5)) == ""
    assert chosen(("", 9.0), ("not ready", 9.0)) == ""
    assert chosen(("not ready", 9.0), ("fifty", 8.9 - TOO_CLOSE)) == "not ready"
    assert chosen(("ends is ready", 9.0), ("ends is ready weather", 8.6)) == "ends is ready"


def test_an_alarm_is_heard_whatever_else_it_may_be() -> None:
    assert chosen(("it stings", 9.0), ("fifty", 8.9)) == "it stings"


def test_two_commands_that_close_are_asked_and_never_guessed() -> None:
    best, close = (f"{WAKE} nape is on", 9.0), (f"{WAKE} ends is on", 9.0 - TOO_CLOSE)
    both = chosen(best, close)
    assert both == f"{WAKE} nape is on [or] {WAKE} ends is on"
    assert understand(both, WORDS, NAMES, "open", woken=False) == Unclear("nape is on")
    assert chosen(best, (close[0], close[1] - 0.1)) == best[0]


def test_an_answer_that_is_doubtful_is_asked_too() -> None:
    both = chosen(("give it forty", 9.0), ("give it forty five", 8.9))
    assert understand(both, WORDS, NAMES, "check", woken=False) == Unclear("give it forty")
    assert understand(both, WORDS, NAMES, "open", woken=False) == Chatter()


def test_two_ways_to_say_the_same_are_no_doubt() -> None:
    assert chosen(("give it twenty five", 9.0), ("give it two five", 8.9)) == "give it twenty five"


@pytest.mark.parametrize("pair", [("thirteen", "thirty"), ("ninety", "nineteen")])
def test_give_it_asks_by_itself_which_number_was_meant(pair: tuple[str, str]) -> None:
    one, other = pair
    assert chosen((f"give it {one}", 9.0), (f"give it {other}", 8.9)) == f"give it {one}"
    tests = [(f"{WAKE} clear test {number} days ago", 9.0) for number in pair]
    assert "[or]" in chosen(*tests)


def test_a_trainees_answer_may_be_either_of_two_that_sound_alike() -> None:
    """The core counts both as what was said: no reason to ask again."""

    def answer(text: str) -> Intent | None:
        meant = understand(text, WORDS, NAMES, "lesson", woken=False)
        return meant if isinstance(meant, Intent) else None

    alike = [("thirty volume", 9.0), ("thirteen volume", 8.9)]
    assert choose(alike, answer) == "thirty volume"
    other = [("thirty volume", 9.0), ("twenty volume", 8.9)]
    assert choose(other, answer) == "thirty volume [or] twenty volume"
