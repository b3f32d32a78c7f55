"""Which lines are recorded: every command with its slots filled, and lines that are no command?"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import yaml

from assistant.core.intents import Words

TEXTS_FILE = Path(__file__).with_name("fixtures_texts.yaml")
REPEAT_WAKE = 3  # of three lines that may do without the wake word, one does


@dataclass(frozen=True, slots=True)
class Lines:
    """What is said where: fillers of the slots, lines that are no command, chatter."""

    slots: Mapping[str, tuple[str, ...]]
    not_commands: tuple[str, ...]
    chatter: tuple[str, ...]


def read_lines(path: Path = TEXTS_FILE) -> Lines:
    """The workshop's own list of lines."""
    content = yaml.safe_load(path.read_text(encoding="utf-8"))
    slots = {name: tuple(fillers) for name, fillers in content["slots"].items()}
    return Lines(slots, tuple(content["not_commands"]), tuple(content["chatter"]))


def command_lines(count: int, lines: Lines, words: Words) -> list[str]:
    """So many different lines, going round all phrases, each time with the next fillers."""
    turns = {slot: itertools.cycle(fillers) for slot, fillers in lines.slots.items()}
    made: dict[str, None] = {}
    for round_number in range(count):
        for place, (phrase, may_answer) in enumerate(_phrases(words)):
            turn = round_number + place
            answer = may_answer and turn % REPEAT_WAKE == 0
            start = "" if answer else _address(words.wake, turn, "{chair}" not in phrase)
            made[_fill(start + phrase, turns)] = None
            if len(made) == count:
                return list(made)
    return list(made)


def _phrases(words: Words) -> Iterator[tuple[str, bool]]:
    for command in words.commands:
        for phrase in command.phrases:
            yield phrase, bool(command.modes)


def _address(wake: str, turn: int, may_name_chair: bool) -> str:
    """The wake word, mostly with a breath after it; every fifth line names a chair."""
    if turn % 5 == 4 and may_name_chair:
        return f"{wake.capitalize()}, {{chair}}, "
    return f"{wake.capitalize()} " if turn % 3 == 2 else f"{wake.capitalize()}, "


def _fill(phrase: str, turns: Mapping[str, Iterator[str]]) -> str:
    return re.sub(r"\{(\w+)\}", lambda slot: next(turns[slot.group(1)]), phrase)
