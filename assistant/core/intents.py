"""Command phrases per listening mode: text -> Intent.

A command counts only if the *whole* utterance parses as one phrase: this is the gate, never the
recogniser's confidence. What the recogniser is told to expect is in language.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Literal

from assistant.core import numbers
from assistant.core.asked_mix import as_written, ratio_phrases
from assistant.core.events import Mode

UNKNOWN = "[unk]"
EITHER = "[or]"  # between two commands that sound too much alike here: ask, never guess
# Questions that wait for an answer: what is said then and is none gets "once more?". After a
# call, talk in the room is just talk.
INSISTING: frozenset[Mode] = frozenset({"gate", "confirm", "which", "number", "lesson"})
SLOT = "{"  # what a phrase begins with if its first word may be one of many
Risk = Literal["ask", "start", "stop", "alarm"]


@dataclass(frozen=True, slots=True)
class Command:
    """One thing that can be said, in any of its phrases."""

    name: str
    phrases: tuple[str, ...]
    risk: Risk
    help: str
    modes: tuple[Mode, ...] = ()


Phrasing = tuple[tuple[Command, tuple[str, ...]], ...]  # commands, each with one of its phrases


@dataclass(frozen=True, slots=True)
class Words:
    """The checked content of `words/commands.yaml`."""

    version: int
    wake: str
    commands: tuple[Command, ...]
    notes: tuple[str, ...]
    decoys: tuple[str, ...]
    outcomes: tuple[str, ...] = ()
    feels: tuple[str, ...] = ()
    _by_first: Mapping[str, Phrasing] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        found: dict[str, list[tuple[Command, tuple[str, ...]]]] = {}
        for command in self.commands:
            for phrase in command.phrases:
                template = tuple(phrase.split())
                first = SLOT if template[0].startswith("{") else template[0]
                found.setdefault(first, []).append((command, template))
        object.__setattr__(self, "_by_first", {word: tuple(all_) for word, all_ in found.items()})

    def beginning(self, word: str) -> Phrasing:
        """The phrases, word by word, that an utterance beginning with this word may be."""
        return self._by_first.get(word, ()) + self._by_first.get(SLOT, ())

    def command(self, name: str) -> Command:
        """The command of that name; `KeyError` if there is none."""
        for command in self.commands:
            if command.name == name:
                return command
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class Names:
    """The closed sets that slots are filled from."""

    chairs: int
    zones: tuple[str, ...]
    bowls: tuple[str, ...]
    recipes: tuple[str, ...]
    notes: tuple[str, ...]
    outcomes: tuple[str, ...] = ()
    feels: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Intent:
    """What was meant: a command, the chair if one was said, and what filled its slots."""

    name: str
    chair: int | None = None
    zone: str = ""
    bowl: str = ""
    recipe: str = ""
    note: str = ""
    number: int | None = None
    zones: tuple[str, ...] = ()  # the zones a question of ours was about, if none was said
    ratio: str = ""  # as it was said: "one to one and a half"
    client: str = ""  # a number in figures
    outcome: str = ""
    feel: str = ""


@dataclass(frozen=True, slots=True)
class Unclear:
    """Meant for us (wake word or open question) but no phrase that we know."""

    heard: str


@dataclass(frozen=True, slots=True)
class Chatter:
    """Not meant for us."""


Understood = Intent | Unclear | Chatter


def understand(text: str, words: Words, names: Names, mode: Mode, woken: bool) -> Understood:
    """What a whole utterance means in this listening mode.

    The wake word (or a pedal: `woken`) admits every command; without it only the answers of
    the mode count, and in mode "open" none.
    """
    tokens = text.split()
    addressed = woken or tokens[:1] == [words.wake]
    if tokens[:1] == [words.wake]:
        tokens = tokens[1:]
    if not tokens or (not addressed and mode == "open"):
        return Chatter() if not addressed else Unclear("")
    if EITHER in tokens:
        return Unclear(" ".join(tokens[: tokens.index(EITHER)]))
    if UNKNOWN in tokens:
        return Unclear(" ".join(t for t in tokens if t != UNKNOWN)) if addressed else Chatter()
    found = {
        intent
        for command, intent in _parses(tokens, words, names)
        if addressed or mode in command.modes
    }
    if len(found) == 1:
        return found.pop()
    if not addressed and not found and mode not in INSISTING:
        return Chatter()
    return Unclear(" ".join(tokens))


def every_phrase(words: Words, names: Names, mode: Mode) -> list[str]:
    """Every command after the wake word, and the answers of this mode without it."""
    said = {f"{words.wake} {phrase}" for phrase in _spoken(words.commands, names)}
    if mode != "open":
        said |= set(_spoken([c for c in words.commands if mode in c.modes], names))
    return sorted(said)


def examples(command: Command, names: Names) -> str:
    """The first phrase of a command with its slots filled by the first of each set."""
    return filled(command.phrases[0], names)[0]


def every_word(words: Words, names: Names) -> set[str]:
    """Every word that any mode listens for: all must be in the model's vocabulary."""
    decoys = (said for decoy in words.decoys for said in filled(decoy, names))
    phrases = [*_spoken(words.commands, names), *decoys, words.wake]
    return {word for phrase in phrases for word in phrase.split()}


def _parses(tokens: Sequence[str], words: Words, names: Names) -> Iterator[tuple[Command, Intent]]:
    """Every command that the words are, with or without "chair two" before it."""
    said: list[tuple[Sequence[str], int | None]] = [(tokens, None)]
    if len(tokens) > 2 and (chair := chair_said(tokens[:2], names)):
        said.append((tokens[2:], chair))
    for part, chair in said:
        for command, template in words.beginning(part[0]):
            for intent in _matches(part, template, names, Intent(command.name, chair=chair)):
                yield command, intent


def _matches(
    tokens: Sequence[str], template: Sequence[str], names: Names, intent: Intent
) -> Iterator[Intent]:
    if not template:
        if not tokens:
            yield intent
        return
    head, rest = template[0], template[1:]
    if not head.startswith("{"):
        if tokens[:1] == [head]:
            yield from _matches(tokens[1:], rest, names, intent)
        return
    slot = head.strip("{}")
    for length in range(1, len(tokens) - len(rest) + 1):
        filled = _filled(intent, slot, tokens[:length], names)
        if filled is not None:
            yield from _matches(tokens[length:], rest, names, filled)


def _filled(intent: Intent, slot: str, said: Sequence[str], names: Names) -> Intent | None:
    if slot == "chair":
        chair = chair_said(said, names)
        if chair is None or intent.chair not in (None, chair):
            return None
        return replace(intent, chair=chair)
    if slot == "client":
        client = numbers.parse_client(said)
        return None if client is None else replace(intent, client=client)
    if slot == "number":
        number = numbers.parse(said)
        return None if number is None else replace(intent, number=number)
    text = as_written(said) if slot == "ratio" else " ".join(said)
    if text not in closed_sets(names)[slot]:
        return None
    fills: dict[str, Any] = {slot: text}
    return replace(intent, **fills)


def chair_said(said: Sequence[str], names: Names) -> int | None:
    """The chair that "chair two" names, if the salon has it."""
    if len(said) != 2 or said[0] != "chair":
        return None
    number = numbers.parse(said[1:])
    return number if number is not None and number <= names.chairs else None


@lru_cache(maxsize=16)
def closed_sets(names: Names) -> Mapping[str, tuple[str, ...]]:
    """What may fill each slot."""
    return {
        "zone": names.zones,
        "bowl": names.bowls,
        "recipe": names.recipes,
        "note": names.notes,
        "outcome": names.outcomes,
        "feel": names.feels,
        "client": tuple(numbers.vocabulary()),  # longer ones are made of the same words
        "number": tuple(numbers.vocabulary()),
        "ratio": tuple(ratio_phrases()),
        "chair": tuple(f"chair {numbers.spoken(n)}" for n in range(1, names.chairs + 1)),
    }


def _spoken(commands: Sequence[Command], names: Names) -> Iterator[str]:
    for command in commands:
        for phrase in command.phrases:
            yield from filled(phrase, names)


def options(part: str, names: Names) -> tuple[str, ...]:
    """What may be said for one part of a phrase: the word itself, or all that fills the slot."""
    return closed_sets(names)[part.strip("{}")] if part.startswith("{") else (part,)


@lru_cache(maxsize=1024)
def filled(phrase: str, names: Names) -> tuple[str, ...]:
    """A phrase with its slots filled in every way."""
    said = [""]
    for part in phrase.split():
        said = [f"{before} {option}".strip() for before in said for option in options(part, names)]
    return tuple(said)
