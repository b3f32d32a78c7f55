"""Reads the table of rules behind `choose`, with every problem's line and mend.

`yaml.compose` keeps line numbers and every scalar as the text that was typed, so "no" stays a
word and nothing is guessed.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from assistant.core.choose import (
    Candidate,
    Condition,
    Rule,
    RuleBook,
    Stop,
    condition_problem,
)
from assistant.core.consultation import FACTS, Words
from assistant.errors import ConfigError

SHIPPED = Path(__file__).parent.parent / "words" / "choosing.yaml"
_NUMBER = r"(\d+(?:\.\d+)?)"
_AT_LEAST = re.compile(rf"at least {_NUMBER}")
_BELOW = re.compile(rf"below {_NUMBER}")
_BETWEEN = re.compile(rf"{_NUMBER} to below {_NUMBER}")
_HOW_TO_WRITE_NUMBERS = "write 'at least 50', 'below 5' or '3 to below 7'"
_CANDIDATE_KEYS = ("name", "about")
_STOP_KEYS = ("when", "say", "source")
_RULE_KEYS = ("recipes", "when", "points", "say", "source")


@dataclass(slots=True)
class _Reading:
    """One reading of one file: what has been found wrong so far."""

    name: str
    problems: list[tuple[int, str]] = field(default_factory=list)

    def wrong(self, node: Node, what: str, mend: str) -> None:
        self.problems.append((node.start_mark.line + 1, f"{what}. Mend: {mend}."))

    def finish(self) -> None:
        """All problems at once, in the order of the file."""
        if self.problems:
            lines = [f"{self.name} line {line}: {text}" for line, text in sorted(self.problems)]
            raise ConfigError("\n".join(lines))


def read_rules(path: Path = SHIPPED) -> RuleBook:
    """The table in a file; `ConfigError` lists every problem."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigError(f"{path} cannot be read ({error}): check the file") from error
    return parse_rules(text, path.name)


def parse_rules(text: str, name: str) -> RuleBook:
    """The table in a text; `name` is what problems are reported under."""
    reading = _Reading(name)
    try:
        root = yaml.compose(text, Loader=yaml.SafeLoader)
    except yaml.YAMLError as error:
        raise ConfigError(f"{name}: {' '.join(str(error).split())}. Mend: the layout") from error
    if root is None:
        raise ConfigError(f"{name} is empty: write candidates, stops and rules")
    top = _mapping(reading, root, ("candidates", "stops", "rules"))
    candidates = tuple(_candidates(reading, top))
    names = {candidate.name for candidate in candidates}
    book = RuleBook(
        candidates,
        tuple(_stop(reading, node) for node in _items(reading, top, "stops")),
        tuple(_rule(reading, node, names) for node in _items(reading, top, "rules")),
    )
    for fact, answer in () if reading.problems else book.missing_stops():
        what = f"no stop holds for {fact}: {answer} on its own"
        reading.wrong(root, what, "put that stop back; it protects the client")
    reading.finish()
    return book


def _candidates(reading: _Reading, top: dict[str, Node]) -> Iterator[Candidate]:
    nodes = _items(reading, top, "candidates")
    if "candidates" in top and not nodes:
        reading.wrong(top["candidates"], "there is no candidate", "name at least one recipe")
    seen: set[str] = set()
    for node in nodes:
        keys = _mapping(reading, node, _CANDIDATE_KEYS)
        candidate = Candidate(_text(reading, keys, "name"), _text(reading, keys, "about"))
        if candidate.name in seen:
            reading.wrong(node, f"{candidate.name!r} is named twice", "take one out")
        seen.add(candidate.name)
        yield candidate


def _stop(reading: _Reading, node: Node) -> Stop:
    keys = _mapping(reading, node, _STOP_KEYS)
    say, source = _text(reading, keys, "say"), _text(reading, keys, "source")
    return Stop(_conditions(reading, keys), say, source)


def _rule(reading: _Reading, node: Node, candidates: set[str]) -> Rule:
    keys = _mapping(reading, node, _RULE_KEYS)
    recipes = tuple(_words(reading, keys["recipes"])) if "recipes" in keys else ()
    for recipe in recipes:
        if recipe not in candidates:
            mend = f"use one of {', '.join(sorted(candidates))}"
            reading.wrong(keys["recipes"], f"{recipe!r} is no candidate", mend)
    say, source = _text(reading, keys, "say"), _text(reading, keys, "source")
    return Rule(recipes, _conditions(reading, keys), _points(reading, keys), say, source)


def _points(reading: _Reading, keys: dict[str, Node]) -> int:
    text = _text(reading, keys, "points")
    if re.fullmatch(r"[+-]?[1-9]", text):
        return int(text)
    if text:
        reading.wrong(keys["points"], f"{text!r} is no points", "write 1 to 9, or -1 to -9")
    return 0


def _conditions(reading: _Reading, keys: dict[str, Node]) -> tuple[Condition, ...]:
    if "when" not in keys:
        return ()
    facts = _mapping(reading, keys["when"], tuple(FACTS), needed=False)
    if not facts and isinstance(keys["when"], MappingNode):
        reading.wrong(keys["when"], "the condition names no known fact", "name at least one")
    return tuple(_condition(reading, fact, node) for fact, node in facts.items())


def _condition(reading: _Reading, fact: str, node: Node) -> Condition:
    if isinstance(FACTS[fact], Words):
        condition = Condition(fact, words=tuple(_words(reading, node)))
    else:
        text = node.value if isinstance(node, ScalarNode) else ""
        if (found := _AT_LEAST.fullmatch(text)) is not None:
            condition = Condition(fact, at_least=float(found[1]))
        elif (found := _BELOW.fullmatch(text)) is not None:
            condition = Condition(fact, below=float(found[1]))
        elif (found := _BETWEEN.fullmatch(text)) is not None:
            condition = Condition(fact, at_least=float(found[1]), below=float(found[2]))
        else:
            reading.wrong(node, f"{fact} {text!r} cannot be read", _HOW_TO_WRITE_NUMBERS)
            return Condition(fact)
    problem = condition_problem(condition)
    if problem is not None:
        what, _, mend = problem.partition(": ")
        reading.wrong(node, f"{fact} {what}", mend or _HOW_TO_WRITE_NUMBERS)
    return condition


def _mapping(
    reading: _Reading, node: Node, known: tuple[str, ...], *, needed: bool = True
) -> dict[str, Node]:
    """The values by key; unknown and doubled keys are problems, and so are missing ones."""
    if not isinstance(node, MappingNode):
        reading.wrong(node, "keys and values belong here", f"write {known[0]} and its value")
        return {}
    found: dict[str, Node] = {}
    for key, value in node.value:
        name = str(key.value)
        if name not in known:
            reading.wrong(key, f"key {name!r} is not known", f"use one of {', '.join(known)}")
        elif name in found:
            reading.wrong(key, f"key {name!r} stands here twice", "take one out")
        else:
            found[name] = value
    for name in known if needed else ():
        if name not in found:
            reading.wrong(node, f"key {name!r} is missing", f"write {name} and its value")
    return found


def _items(reading: _Reading, keys: dict[str, Node], key: str) -> list[Node]:
    node = keys.get(key)
    if node is None:
        return []
    if not isinstance(node, SequenceNode):
        reading.wrong(node, f"{key} is no list", "start each entry with a dash")
        return []
    return list(node.value)


def _words(reading: _Reading, node: Node) -> Iterator[str]:
    """One word, or a list of them."""
    nodes = node.value if isinstance(node, SequenceNode) else [node]
    if not nodes:
        reading.wrong(node, "the list is empty", "write at least one")
    for item in nodes:
        if isinstance(item, ScalarNode) and item.value.strip():
            yield item.value.strip()
        else:
            reading.wrong(item, "a word belongs here", "write one, or a list like [a, b]")


def _text(reading: _Reading, keys: dict[str, Node], key: str) -> str:
    node = keys.get(key)
    if node is None:
        return ""
    if isinstance(node, ScalarNode) and node.value.strip():
        return " ".join(node.value.split())
    reading.wrong(node, f"{key} holds no text", "write one sentence")
    return ""
