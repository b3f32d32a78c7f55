"""Which lines are recorded: every command with its slots filled, and lines that are no command?"""

from __future__ import annotations

import random
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import yaml

from assistant.core.intents import Words
from assistant.errors import ConfigError

TEXTS_FILE = Path(__file__).with_name("fixtures_texts.yaml")
SEED = 682  # chosen so that most slots, voices, noises and levels get their share
# The wake word of the first recordings. Draws still go by it, so that with another wake word every
# line keeps its voice, speed, room, noise and level.
SEED_WAKE = "juniper"


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


def seed_text(text: str, wake: str) -> str:
    """What a recording's random numbers are drawn from: its words, whatever the wake word is."""
    return text.replace(wake.capitalize(), SEED_WAKE.capitalize()).replace(wake, SEED_WAKE)


def not_command_lines(lines: Lines, words: Words) -> list[tuple[str, random.Random]]:
    """Every line that is no command, and the draw that chooses the rest."""
    made = []
    for line in lines.not_commands:
        text = line.replace("{Wake}", words.wake.capitalize()).replace("{wake}", words.wake)
        made.append((text, random.Random(seed_text(text, words.wake))))
    return made


def command_lines(
    lines: Lines, words: Words, turns: int = 1, seed: int = SEED
) -> list[tuple[str, random.Random]]:
    """Every phrase `turns` times, with slots twice that, and the draw that chooses the rest.

    All is drawn from the phrase itself: a new command changes none of the other recordings.
    """
    made = []
    for command in words.commands:
        for phrase in command.phrases:
            for turn in range(2 * turns if "{" in phrase else turns):
                draw = random.Random(f"{seed} {phrase} {turn}")
                start = _address(words.wake, phrase, bool(command.modes), draw)
                made.append((_fill(start + phrase, phrase, turn, seed, lines), draw))
    return made


def _address(wake: str, phrase: str, may_answer: bool, draw: random.Random) -> str:
    """The wake word with a breath or without, a chair after it; or nothing before an answer."""
    ways = [f"{wake.capitalize()}, ", f"{wake.capitalize()} "]
    if "{chair}" not in phrase:
        ways.append(f"{wake.capitalize()}, {{chair}}, ")
    if may_answer:
        ways += ["", ""]
    return draw.choice(ways)


def _fill(line: str, phrase: str, turn: int, seed: int, lines: Lines) -> str:
    """Neighbours in the list of fillers, so that no turn repeats one."""

    def filler(slot: re.Match[str]) -> str:
        choices = lines.slots.get(slot.group(1))
        if not choices:
            raise ConfigError(f"{TEXTS_FILE.name}: nothing fills {slot.group()}: add it to slots")
        first = random.Random(f"{seed} {phrase} {slot.group()}").randrange(len(choices))
        return choices[(first + turn) % len(choices)]

    return re.sub(r"\{(\w+)\}", filler, line)
