"""Our YAML files -> frozen dataclasses, or every problem at once with its line and its mend.

Only the shape of YAML is used: `yaml.compose` gives nodes with lines, every scalar is taken as
the text that was written and converted by the type of its field. So `1:1.5` stays a ratio,
`on` a word, `012` and `20:00` become problems instead of numbers; a key written twice, a key
nobody knows and a tab are problems too.
"""

from __future__ import annotations

import dataclasses
import difflib
import re
import types
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

import yaml

from assistant.core.mix import Ratio
from assistant.core.script import At
from assistant.errors import AssistantError, ConfigError

T = TypeVar("T")
KeyPath = tuple[str | int, ...]
Rules = Callable[[T], Sequence[tuple[KeyPath, str, str]]]  # (path, what, mend)
_WHOLE = re.compile(r"-?(0|[1-9]\d*)\Z")
_NUMBER = re.compile(r"-?(0|[1-9]\d*)(\.\d+)?\Z")
_MAX_BYTES = 1_000_000
_MAX_DEPTH = 20


@dataclass(frozen=True, slots=True, order=True)
class FileProblem:
    """One thing to mend in a file."""

    file: str
    line: int
    what: str
    mend: str

    def __str__(self) -> str:
        """ "recipes/tap.yaml:12: what is wrong; what to do"."""
        return f"{self.file}:{self.line}: {self.what}; {self.mend}"


class Wrong(Exception):
    """A scalar that does not fit its field: what and mend."""


CONVERTERS: dict[type, Callable[[str], Any]] = {Ratio: Ratio.parse, At: At.parse}


class Reader:
    """Reads one text; collects problems instead of stopping at the first."""

    def __init__(self, name: str) -> None:
        """`name` is how the file is called in problems."""
        self.name = name
        self.problems: list[FileProblem] = []
        self.lines: dict[KeyPath, int] = {(): 1}

    def problem(self, path: KeyPath, what: str, mend: str) -> None:
        """Add a problem at the line of a path (or of its nearest parent)."""
        while path not in self.lines:
            path = path[:-1]
        self.problems.append(FileProblem(self.name, self.lines[path], what, mend))

    def compose(self, text: str) -> yaml.Node | None:
        """The root node, or None with a problem added."""
        try:
            if (alias := _first_alias(text)) is not None:
                what, mend = "'*' refers to another place", "write the value out"
                self.problems.append(FileProblem(self.name, alias, what, mend))
                return None
            root: yaml.Node | None = yaml.compose(text, Loader=yaml.SafeLoader)
        except (yaml.YAMLError, RecursionError, ValueError) as error:
            self._syntax(error)
            return None
        if root is None:
            self.problem((), "the file is empty", "write at least the version")
        return root

    def _syntax(self, error: Exception) -> None:
        mark = getattr(error, "problem_mark", None)
        what = str(getattr(error, "problem", None) or "this is not YAML").replace("\n", " ")
        mend = "indent with spaces, never tabs" if "\\t" in what else "look at this line"
        if "expected a single document" in what:
            mend = "one file holds one document: remove the second '---'"
        line = mark.line + 1 if mark is not None else 1
        self.problems.append(FileProblem(self.name, line, what, mend))

    # ------------------------------------------------------------- building

    def build(self, kind: Any, node: yaml.Node, path: KeyPath = ()) -> Any:
        """The value of a field's type, or None with problems added."""
        self.lines[path] = node.start_mark.line + 1
        if len(path) > _MAX_DEPTH:
            self.problem(path, "nested too deeply", "flatten it")
            return None
        if getattr(node, "tag", "").startswith("tag:yaml.org,2002:python") or (
            node.tag.startswith("!") and node.tag != "!"
        ):
            self.problem(path, f"the tag {node.tag} is not used here", "remove it")
            return None
        origin = get_origin(kind)
        if origin in (Union, types.UnionType):
            kind = next(k for k in get_args(kind) if k is not type(None))
            origin = get_origin(kind)
        if dataclasses.is_dataclass(kind) and kind not in CONVERTERS:
            return self._mapping(kind, node, path)
        if origin is tuple:
            return self._sequence(get_args(kind)[0], node, path)
        if origin is dict:
            return self._table(get_args(kind)[1], node, path)
        return self._scalar(kind, node, path)

    def _mapping(self, kind: Any, node: yaml.Node, path: KeyPath) -> Any:
        hints = get_type_hints(kind)
        fields = {f.name: f for f in dataclasses.fields(kind)}
        given: dict[str, Any] = {}
        before = len(self.problems)
        for key, value in self._pairs(node, path):
            if key not in fields:
                self._unknown(key, list(fields), (*path, key))
            else:
                given[key] = self.build(hints[key], value, (*path, key))
        for name, field in fields.items():
            plain = field.default is dataclasses.MISSING
            if name not in given and plain and field.default_factory is dataclasses.MISSING:
                self.problem(path, f"{name} is missing", f"add '{name}:'")
        return None if len(self.problems) > before else kind(**given)

    def _unknown(self, key: str, known: Sequence[str], path: KeyPath) -> None:
        near = nearest(key, known)
        mend = f"did you mean {near!r}?" if near else f"known here: {', '.join(known)}"
        self.problem(path, f"{key!r} is not known here", mend)

    def _table(self, kind: Any, node: yaml.Node, path: KeyPath) -> dict[str, Any]:
        return {
            key: self.build(kind, value, (*path, key)) for key, value in self._pairs(node, path)
        }

    def _pairs(self, node: yaml.Node, path: KeyPath) -> Iterator[tuple[str, yaml.Node]]:
        if not isinstance(node, yaml.MappingNode):
            self.problem(path, "expected 'key: value' lines", "see the shipped files")
            return
        seen: dict[str, int] = {}
        for key_node, value in node.value:
            line = key_node.start_mark.line + 1
            key = key_node.value if isinstance(key_node, yaml.ScalarNode) else "?"
            self.lines[(*path, key)] = line
            if key in seen:
                what = f"{key!r} is written twice (first in line {seen[key]})"
                self.problem((*path, key), what, "remove one")
                continue
            seen[key] = line
            yield key, value

    def _sequence(self, kind: Any, node: yaml.Node, path: KeyPath) -> Any:
        if not isinstance(node, yaml.SequenceNode):
            self.problem(path, "expected a list", "begin each item with '- '")
            return None
        return tuple(
            self.build(kind, item, (*path, index)) for index, item in enumerate(node.value)
        )

    def _scalar(self, kind: Any, node: yaml.Node, path: KeyPath) -> Any:
        if not isinstance(node, yaml.ScalarNode):
            self.problem(path, "expected one value", "write it on the same line")
            return None
        try:
            return convert(kind, node.value)
        except Wrong as wrong:
            self.problem(path, str(wrong.args[0]), str(wrong.args[1]))
            return None


def _first_alias(text: str) -> int | None:
    """The line of the first alias: a file may not refer to itself (nor grow by it)."""
    for event in yaml.parse(text, Loader=yaml.SafeLoader):
        if isinstance(event, yaml.AliasEvent) and event.start_mark is not None:
            return event.start_mark.line + 1
    return None


def convert(kind: Any, text: str) -> Any:
    """A scalar's text as the type of its field; raises Wrong(what, mend)."""
    if get_origin(kind) is Literal:
        if text not in get_args(kind):
            options = [str(option) for option in get_args(kind)]
            raise Wrong(f"{text!r} is not one of {', '.join(options)}", _pick(text, options))
        return text
    if kind in CONVERTERS:
        try:
            return CONVERTERS[kind](text)
        except (ValueError, AssistantError) as error:
            raise Wrong(f"{text!r} does not fit", str(error)) from error
    if kind is bool:
        if text not in ("yes", "no"):
            raise Wrong(f"{text!r} is neither yes nor no", "write yes or no")
        return text == "yes"
    if kind in (int, float):
        return _number(kind, text)
    if not text.strip():
        raise Wrong("nothing is written here", "write a text")
    return text


def _number(kind: Any, text: str) -> Any:
    if re.fullmatch(r"\d+:\d\d", text):
        raise Wrong(f"{text!r} is a time, not a number", f"write {int(text.split(':')[0])}")
    if re.fullmatch(r"0\d+", text):
        raise Wrong(f"{text!r} begins with a zero", f"write {int(text)}")
    if not (_WHOLE if kind is int else _NUMBER).match(text):
        raise Wrong(f"{text!r} is not a {'whole ' if kind is int else ''}number", "write digits")
    return kind(text)


def _pick(text: str, options: Sequence[str]) -> str:
    near = nearest(text, options)
    return f"did you mean {near!r}?" if near else "write one of them"


def nearest(name: str, names: Sequence[str]) -> str | None:
    """The known name that looks most like this one, if any does."""
    found = difflib.get_close_matches(name, list(names), n=1, cutoff=0.6)
    return found[0] if found else None


def parse(
    kind: type[T],
    text: str,
    name: str,
    rules: Rules[T] | None = None,
) -> tuple[T | None, list[FileProblem]]:
    """A dataclass from YAML text, and every problem (then the value is None)."""
    reader = Reader(name)
    node = reader.compose(text)
    value: T | None = reader.build(kind, node) if node is not None else None
    if value is not None and rules is not None and not reader.problems:
        for path, what, mend in rules(value):
            reader.problem(path, what, mend)
    return (None if reader.problems else value), sorted(reader.problems)


def load(
    kind: type[T],
    path: Path,
    rules: Rules[T] | None = None,
) -> T:
    """A dataclass from a file; `ConfigError` lists every problem, one line each."""
    parsed = parse(kind, read_text(path), str(path), rules)
    value, problems = parsed
    if value is None:
        raise ConfigError("\n".join(str(problem) for problem in problems))
    return value


def read_text(path: Path) -> str:
    """The text of a file; `ConfigError` if it cannot be had."""
    try:
        raw = path.read_bytes()
    except FileNotFoundError as error:
        raise ConfigError(f"{path}: no such file: look at the name") from error
    except OSError as error:
        raise ConfigError(f"{path}: cannot be read: {error.strerror}") from error
    if len(raw) > _MAX_BYTES:
        raise ConfigError(f"{path}: larger than 1 MB: this is no file of ours")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise ConfigError(f"{path}: not UTF-8 text: save it as UTF-8") from error
