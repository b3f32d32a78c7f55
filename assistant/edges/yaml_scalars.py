"""How does a scalar, as it is written, become the value of its field?

YAML's own guesses are not used: `1:1.5` stays a ratio, `on` a word, and `012` or `20:00` in a
number's place is refused with what to write instead.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Sequence
from typing import Any, Literal, get_args, get_origin

from assistant.core.mix import Ratio
from assistant.core.script import At
from assistant.errors import AssistantError

CONVERTERS: dict[type, Callable[[str], Any]] = {Ratio: Ratio.parse, At: At.parse}
_MOST_DIGITS = 12
_WHOLE = re.compile(r"-?(0|[1-9]\d*)", re.ASCII)
_NUMBER = re.compile(r"-?(0|[1-9]\d*)(\.\d+)?", re.ASCII)
_CLOCK = re.compile(r"(\d{1,4}):00", re.ASCII)
_SIXTIES = re.compile(r"[\d.]+(:[\d.]+)+", re.ASCII)
_ZERO_FIRST = re.compile(r"0\d{1,9}", re.ASCII)
_COMMA = re.compile(r"(\d{1,4}),(\d{1,4})", re.ASCII)
_UNIT = re.compile(r"(\d{1,4}(\.\d+)?)\s*[a-z%]+", re.ASCII | re.IGNORECASE)


class Wrong(Exception):
    """A scalar that does not fit its field: what is wrong, and the mend."""


def convert(kind: Any, text: str) -> Any:
    """A scalar's text as the type of its field; raises Wrong(what, mend)."""
    if get_origin(kind) is Literal:
        return _one_of([str(option) for option in get_args(kind)], text)
    if kind in CONVERTERS:
        try:
            return CONVERTERS[kind](text)
        except (ValueError, AssistantError) as error:
            what, _, mend = str(error).rpartition(": ")
            raise Wrong(what or mend, mend) from error
    if kind is bool:
        if text not in ("yes", "no"):
            raise Wrong(f"{_short(text)} is neither yes nor no", "write yes or no")
        return text == "yes"
    if kind in (int, float):
        return _number(kind, text)
    if not text.strip():
        raise Wrong("nothing is written here", "write a text")
    return text


def stand_in(kind: Any) -> Any:
    """A value that breaks no rule, in place of one that cannot be read; None if there is none.

    With it the rules that need several fields can be told in the same run: NaN is neither above
    nor below anything.
    """
    if get_origin(kind) is Literal:
        return get_args(kind)[0]
    return {float: float("nan"), int: 1, bool: False, Ratio: Ratio.parse("1:1")}.get(kind)


def nearest(name: str, names: Sequence[str]) -> str | None:
    """The known name that looks most like this one, if any does."""
    found = difflib.get_close_matches(name[:80], list(names), n=1, cutoff=0.6)
    longer = [known for known in names if len(name) > 2 and known.startswith(name)]
    return next(iter([*found, *longer]), None)


def _one_of(options: Sequence[str], text: str) -> str:
    if text in options:
        return text
    near = nearest(text.lower(), options)
    mend = f"did you mean {near!r}?" if near else "write one of them"
    raise Wrong(f"{_short(text)} is not one of {', '.join(options)}", mend)


def _number(kind: Any, text: str) -> Any:
    if clock := _CLOCK.fullmatch(text):
        raise Wrong(f"{text!r} is a time, not a number", f"write {int(clock[1])}")
    if _SIXTIES.fullmatch(text):
        mend = "write one number, such as 20 or 1.5"
        raise Wrong(f"{_short(text)} is a time or a ratio, not a number", mend)
    if _ZERO_FIRST.fullmatch(text):
        raise Wrong(f"{text!r} begins with a zero", f"write {int(text)}")
    if comma := _COMMA.fullmatch(text):
        raise Wrong(f"{text!r} has a comma", f"write {comma[1]}.{comma[2]}")
    if unit := _UNIT.fullmatch(text):
        raise Wrong(f"{_short(text)} has a unit, the key has it already", f"write {unit[1]}")
    if len(text) > _MOST_DIGITS or not (_WHOLE if kind is int else _NUMBER).fullmatch(text):
        whole = "whole " if kind is int else ""
        raise Wrong(f"{_short(text)} is not a {whole}number", "write digits")
    return kind(text)


def _short(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:40] + "…")
