"""Our YAML files -> frozen dataclasses, or every problem at once with its line and its mend.

Only the shape of YAML is used: `yaml.compose` gives nodes with lines, every scalar is taken as
the text that was written and converted by the type of its field. So `1:1.5` stays a ratio,
`on` a word, `012` and `20:00` become problems instead of numbers; a key written twice, a key
nobody knows and a tab are problems too.
"""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

import yaml
from yaml.reader import ReaderError

from assistant.edges.yaml_scalars import CONVERTERS, Wrong, convert, stand_in
from assistant.edges.yaml_scalars import nearest as nearest
from assistant.errors import ConfigError

T = TypeVar("T")
KeyPath = tuple[str | int, ...]
Rules = Callable[[T], Sequence[tuple[KeyPath, str, str]]]  # (path, what, mend)
_MAX_BYTES = 1_000_000
_MOST_SHOWN = 600  # letters of what stands in the file; a whole list of keys fits


@dataclass(frozen=True, slots=True, order=True)
class FileProblem:
    """One thing to mend in a file."""

    file: str
    line: int
    what: str
    mend: str

    def __str__(self) -> str:
        """ "recipes/tap.yaml:12: what is wrong; what to do"."""
        return f"{self.file}:{self.line}: {_plain(self.what)}; {_plain(self.mend)}"


class Reader:
    """Reads one text; collects problems instead of stopping at the first."""

    def __init__(self, name: str) -> None:
        """`name` is how the file is called in problems."""
        self.name = name
        self.problems: list[FileProblem] = []
        self.lines: dict[KeyPath, int] = {(): 1}
        self.whole = True  # a value could be built, if need be with stand-ins

    def problem(self, path: KeyPath, what: str, mend: str) -> None:
        """Add a problem at the line of a path (or of its nearest parent)."""
        while path not in self.lines:
            path = path[:-1]
        self.problems.append(FileProblem(self.name, self.lines[path], what, mend))

    def compose(self, text: str) -> yaml.Node | None:
        """The root node, or None with problems added."""
        for line in _tab_lines(text):
            self._at(line, "there is a tab in this line", "use spaces, never tabs")
        if self.problems:
            return None
        try:
            if self._refers_to_itself(text):
                return None
            root = yaml.compose(text, Loader=yaml.SafeLoader)
        except (yaml.YAMLError, RecursionError, ValueError) as error:
            self._syntax(error, text)
            return None
        if root is None or root.value == "":
            self._at(1, "the file is empty", "write at least the version, or start from a copy")
            return None
        return root

    def _refers_to_itself(self, text: str) -> bool:
        """Tell every alias, anchor and tag; an alias ends it, for a file may grow by them."""
        aliases = False
        for event in yaml.parse(text, Loader=yaml.SafeLoader):
            if not isinstance(event, yaml.NodeEvent) or event.start_mark is None:
                continue
            line = event.start_mark.line + 1
            if isinstance(event, yaml.AliasEvent):
                aliases = True
                self._at(line, "'*' refers to another place", "write the value out")
            elif event.anchor is not None:
                self._at(line, f"'&{event.anchor}' names this place", "remove it")
            if tag := getattr(event, "tag", None):
                self._at(line, f"the tag {tag} is not used here", "remove it")
        return aliases

    def _at(self, line: int, what: str, mend: str) -> None:
        self.problems.append(FileProblem(self.name, line, what, mend))

    def _syntax(self, error: Exception, text: str) -> None:
        if isinstance(error, ReaderError):
            line = text.count("\n", 0, error.position) + 1
            self._at(line, f"character number {error.character} cannot be read", "delete it")
            return
        mark = getattr(error, "problem_mark", None)
        what = str(getattr(error, "problem", None) or "this is not YAML").replace("\n", " ")
        mend = "look at this line, and at the one before it"
        if "but found another document" in what:
            what, mend = "a second document begins here", "remove the '---': one file, one recipe"
        if "mapping values are not allowed" in what:
            mend = 'indent it like its neighbours; put a text that has ": " in it in quotes'
        self._at(mark.line + 1 if mark is not None else 1, what, mend)

    # ------------------------------------------------------------- building

    def build(self, kind: Any, node: yaml.Node, path: KeyPath = ()) -> Any:
        """The value of a field's type, or None with problems added."""
        self.lines[path] = node.start_mark.line + 1
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
        meant: set[str] = set()  # keys that are there, though spelt wrongly
        if not self._is(yaml.MappingNode, node, path):
            return None
        for key, value in self._pairs(node, path):
            if key in fields:
                given[key] = self.build(hints[key], value, (*path, key))
            elif near := self._unknown(key, list(fields), (*path, key)):
                meant.add(near)
        for name, field in fields.items():
            plain = field.default is dataclasses.MISSING
            if name in given or not (plain and field.default_factory is dataclasses.MISSING):
                continue
            if name not in meant:
                self.problem(path, f"{name} is missing", f"add '{name}:'")
            given[name] = self._stand_in(hints[name])
        return kind(**given) if self.whole else None

    def _stand_in(self, kind: Any) -> Any:
        value = stand_in(kind)
        self.whole = self.whole and value is not None
        return value

    def _is(self, wanted: type[yaml.Node], node: yaml.Node, path: KeyPath) -> bool:
        if isinstance(node, wanted):
            return True
        what, mend = {
            yaml.MappingNode: ("expected 'key: value' lines", "see the shipped files"),
            yaml.SequenceNode: ("expected a list", "begin each item with '- '"),
            yaml.ScalarNode: ("expected one value", "write it on the same line"),
        }[wanted]
        self.problem(path, what, mend)
        self.whole = False
        return False

    def _unknown(self, key: str, known: Sequence[str], path: KeyPath) -> str | None:
        if key == "<<":
            self.problem(path, "'<<' merges another place in", "write its keys out")
            return None
        near = nearest(key, known)
        mend = f"did you mean {near!r}?" if near else f"known here: {', '.join(known)}"
        self.problem(path, f"{key!r} is not known here", mend)
        return near

    def _table(self, kind: Any, node: yaml.Node, path: KeyPath) -> dict[str, Any] | None:
        if not self._is(yaml.MappingNode, node, path):
            return None
        return {
            key: self.build(kind, value, (*path, key)) for key, value in self._pairs(node, path)
        }

    def _pairs(self, node: yaml.Node, path: KeyPath) -> Iterator[tuple[str, yaml.Node]]:
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
        if not self._is(yaml.SequenceNode, node, path):
            return None
        return tuple(
            self.build(kind, item, (*path, index)) for index, item in enumerate(node.value)
        )

    def _scalar(self, kind: Any, node: yaml.Node, path: KeyPath) -> Any:
        if not self._is(yaml.ScalarNode, node, path):
            return None
        try:
            return convert(kind, node.value)
        except Wrong as wrong:
            self.problem(path, str(wrong.args[0]), str(wrong.args[1]))
            return self._stand_in(kind)


def _plain(text: str) -> str:
    """What stands in a file, as any screen can show it: no control characters, not endless."""
    shown = "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text[: _MOST_SHOWN + 1])
    return shown if len(text) <= _MOST_SHOWN else f"{shown[:_MOST_SHOWN]}..."


def _tab_lines(text: str) -> Iterator[int]:
    for number, line in enumerate(text.split("\n"), start=1):
        if "\t" in line.partition("#")[0]:
            yield number


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
    if value is not None and rules is not None and reader.whole:
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
    text = try_text(path)
    if isinstance(text, FileProblem):
        raise ConfigError(str(text))
    return text


def try_text(path: Path) -> str | FileProblem:
    """The text of a file, or what keeps it from being read."""
    try:
        with path.open("rb") as file:
            raw = file.read(_MAX_BYTES + 1)
    except FileNotFoundError:
        return FileProblem(str(path), 1, "no such file", "look at the name")
    except OSError as error:
        return FileProblem(str(path), 1, f"cannot be read: {error.strerror}", "look at the file")
    if len(raw) > _MAX_BYTES:
        return FileProblem(str(path), 1, "larger than 1 MB", "this is no file of ours")
    if b"\0" in raw:
        return FileProblem(str(path), 1, "this is not a text file", "name a file of ours, *.yaml")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        return FileProblem(str(path), line, "not UTF-8 text", "save the file as UTF-8")
