"""`words/choosing.yaml` -> the checked table of rules behind `choose`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.core.choose import Candidate, Condition, Rule, RuleBook, Stop, condition_problem
from assistant.core.consultation import FACTS, Words
from assistant.edges import yaml_reader
from assistant.edges.yaml_reader import KeyPath, nearest

SHIPPED = Path(__file__).resolve().parent.parent / "words" / "choosing.yaml"
VERSION = 1
_MOST_POINTS = 9
_NUMBER = r"(?:0|[1-9]\d*)(?:\.\d+)?"
_RANGE = re.compile(
    rf"at least (?P<only_least>{_NUMBER})|(?:(?P<least>{_NUMBER}) to )?below (?P<below>{_NUMBER})"
)
_MEND_RANGE = "write 'at least 50', 'below 5' or '3 to below 7'"
Told = tuple[KeyPath, str, str]


@dataclass(frozen=True, slots=True)
class StopEntry:
    """A contra-indication as it is written in the file."""

    when: dict[str, str]
    say: str
    source: str


@dataclass(frozen=True, slots=True)
class RuleEntry:
    """A reason as it is written in the file."""

    recipes: tuple[str, ...]
    when: dict[str, str]
    points: int
    say: str
    source: str


@dataclass(frozen=True, slots=True)
class ChoosingFile:
    """The schema of choosing.yaml."""

    version: int
    candidates: tuple[Candidate, ...]
    stops: tuple[StopEntry, ...]
    rules: tuple[RuleEntry, ...]


def load_rules(path: Path = SHIPPED, recipes: Sequence[str] | None = None) -> RuleBook:
    """The table; `ConfigError` lists every problem with its line and its mend.

    With the spoken names of the recipes given, every candidate must be one of them.
    """

    def rules(file: ChoosingFile) -> list[Told]:
        return [*problems(file), *strangers(file, recipes)]

    return _book(yaml_reader.load(ChoosingFile, path, rules))


def strangers(file: ChoosingFile, recipes: Sequence[str] | None) -> list[Told]:
    """Candidates that are no recipe."""
    found: list[Told] = []
    for index, candidate in enumerate(file.candidates):
        if recipes is not None and candidate.name not in recipes:
            near = nearest(candidate.name, recipes)
            mend = f"did you mean {near!r}?" if near else f"recipes are {', '.join(recipes)}"
            what = f"there is no recipe {candidate.name!r}"
            found.append((("candidates", index, "name"), what, mend))
    return found


def _book(file: ChoosingFile) -> RuleBook:
    return RuleBook(
        file.candidates,
        tuple(Stop(_conditions(stop.when), stop.say, stop.source) for stop in file.stops),
        tuple(
            Rule(rule.recipes, _conditions(rule.when), rule.points, rule.say, rule.source)
            for rule in file.rules
        ),
    )


def _conditions(when: Mapping[str, str]) -> tuple[Condition, ...]:
    return tuple(condition(fact, text) for fact, text in when.items())


def condition(fact: str, text: str) -> Condition:
    """ "stripy or bled", "at least 50", "below 5", "3 to below 7"; unreadable ones are empty."""
    if isinstance(FACTS.get(fact), Words):
        return Condition(fact, tuple(word.strip() for word in text.split(" or ")))
    found = _RANGE.fullmatch(text.strip())
    if found is None:
        return Condition(fact)
    least = found["only_least"] or found["least"]
    below = found["below"]
    return Condition(
        fact,
        at_least=float(least) if least is not None else None,
        below=float(below) if below is not None else None,
    )


def problems(file: ChoosingFile) -> list[Told]:
    """Rules that need more than one value to see."""
    found = [*_head_problems(file)]
    for index, stop in enumerate(file.stops):
        found.extend(_when_problems(("stops", index, "when"), stop.when))
    names = [candidate.name for candidate in file.candidates]
    for index, rule in enumerate(file.rules):
        found.extend(_when_problems(("rules", index, "when"), rule.when))
        found.extend(_rule_problems(("rules", index), rule, names))
    return found or [*_guard_problems(file)]


def _head_problems(file: ChoosingFile) -> Iterator[Told]:
    if file.version != VERSION:
        yield ("version",), f"version {file.version} is not known", f"write version: {VERSION}"
    if not file.candidates:
        yield ("candidates",), "there is no candidate", "name at least one recipe"
    names = [candidate.name for candidate in file.candidates]
    for index, name in enumerate(names):
        if name in names[:index]:
            yield ("candidates", index, "name"), f"{name!r} is named twice", "remove one"


def _when_problems(path: KeyPath, when: Mapping[str, str]) -> Iterator[Told]:
    if not when:
        yield path, "the condition is empty", "name at least one fact"
    for fact, text in when.items():
        at = (*path, fact)
        if fact not in FACTS:
            near = nearest(fact, list(FACTS))
            mend = f"did you mean {near!r}?" if near else f"facts are {', '.join(FACTS)}"
            yield at, f"there is no fact {fact!r}", mend
            continue
        wanted = condition(fact, text)
        if not wanted.words and wanted.at_least is None and wanted.below is None:
            yield at, f"{fact} {text!r} cannot be read", _MEND_RANGE
        elif (told := condition_problem(wanted)) is not None:
            what, _, mend = told.partition(": ")
            yield at, f"{fact} {what}", mend or _MEND_RANGE


def _rule_problems(path: KeyPath, rule: RuleEntry, names: list[str]) -> Iterator[Told]:
    if not rule.recipes:
        yield (*path, "recipes"), "the reason is for no recipe", "name at least one"
    for index, recipe in enumerate(rule.recipes):
        if recipe not in names:
            mend = f"candidates are {', '.join(names)}"
            yield (*path, "recipes", index), f"{recipe!r} is no candidate", mend
    if rule.points == 0 or abs(rule.points) > _MOST_POINTS:
        mend = f"write 1 to {_MOST_POINTS}, or -1 to -{_MOST_POINTS}"
        yield (*path, "points"), f"{rule.points} points cannot be", mend


def _guard_problems(file: ChoosingFile) -> Iterator[Told]:
    for fact, answer in _book(file).missing_stops():
        what = f"no stop holds for {fact}: {answer} on its own"
        yield ("stops",), what, "put that stop back, it protects the client"
