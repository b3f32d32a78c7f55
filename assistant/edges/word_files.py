"""`words/commands.yaml` and `words/phrases.yaml` -> checked tables."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from assistant.core.events import Mode
from assistant.core.intents import Command, Risk, Words
from assistant.core.phrases import Phrases
from assistant.edges import yaml_reader
from assistant.edges.yaml_reader import KeyPath

FOLDER = Path(__file__).resolve().parent.parent / "words"
SLOTS = frozenset("zone bowl recipe number chair note ratio client outcome feel".split())


@dataclass(frozen=True, slots=True)
class CommandEntry:
    """One command as it is written in the file."""

    phrases: tuple[str, ...]
    risk: Risk
    help: str
    modes: tuple[Mode, ...] = ()


@dataclass(frozen=True, slots=True)
class CommandFile:
    """The schema of commands.yaml."""

    version: int
    wake: str
    commands: dict[str, CommandEntry]
    notes: tuple[str, ...]
    outcomes: tuple[str, ...]
    feels: tuple[str, ...]
    decoys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PhraseFile:
    """The schema of phrases.yaml."""

    version: int
    phrases: dict[str, str]


@functools.cache
def load_commands(path: Path = FOLDER / "commands.yaml") -> Words:
    """What is listened for; `ConfigError` lists every problem."""
    file = yaml_reader.load(CommandFile, path, command_problems)
    # the model's words are all in small letters: "I" is "i" to it
    commands = tuple(
        Command(name, _small(entry.phrases), entry.risk, entry.help, entry.modes)
        for name, entry in file.commands.items()
    )
    return Words(
        file.version,
        file.wake,
        commands,
        file.notes,
        _small(file.decoys),
        file.outcomes,
        file.feels,
    )


def _small(phrases: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(phrase.lower() for phrase in phrases)


@functools.cache
def load_phrases(path: Path = FOLDER / "phrases.yaml") -> Phrases:
    """What is said; `ConfigError` lists every problem."""
    file = yaml_reader.load(PhraseFile, path)
    return Phrases(file.version, file.phrases)


def command_problems(file: CommandFile) -> list[tuple[KeyPath, str, str]]:
    """Rules that need more than one value to see."""
    return list(_command_problems(file))


def _command_problems(file: CommandFile) -> Iterator[tuple[KeyPath, str, str]]:
    if len(file.wake.split()) != 1:
        yield ("wake",), "the wake word is one word", "write one word of three syllables or more"
    for name, entry in file.commands.items():
        for index, phrase in enumerate(entry.phrases):
            path = ("commands", name, "phrases", index)
            for word in phrase.split():
                slot = word.strip("{}")
                if word.startswith("{") and slot not in SLOTS:
                    yield path, f"no slot {word}", f"slots are {', '.join(sorted(SLOTS))}"
                if word == file.wake:
                    yield path, "the wake word stands in a command", "use another word"
