"""A phrase and its values -> the sentence that is spoken (and shown in the transcript)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.core import numbers
from assistant.core.events import Say, Value

MOST_NAMES = 3  # more are counted, not named
_PLACE = re.compile(r"\{(\w+)(?::(\w+))?\}")


@dataclass(frozen=True, slots=True)
class Phrases:
    """The checked content of `words/phrases.yaml`: phrase name -> template."""

    version: int
    phrases: Mapping[str, str]

    def sentence(self, say: Say) -> str:
        """The words of a Say, none if it is a tone; `KeyError` for a phrase that is not there."""
        if say.tone_only:
            return ""
        return render(self.phrases[say.phrase], dict(say.values))

    def is_example(self, phrase: str) -> bool:
        """Whether the phrase quotes commands on purpose ("You could say ...")."""
        return phrase in ("try", "heard_text")


def render(template: str, values: Mapping[str, Value]) -> str:
    """Fill a template; every sentence begins with a capital letter."""
    text = _PLACE.sub(lambda m: _shown(values[m.group(1)], m.group(2) or ""), template)
    text = re.sub(r"([.!?])\.+", r"\1", text)
    return re.sub(r"(^|[.!?] )([a-z])", lambda m: m.group(1) + m.group(2).upper(), text)


def placeholders(template: str) -> set[str]:
    """The names a template wants."""
    return {m.group(1) for m in _PLACE.finditer(template)}


def _shown(value: Value, style: str) -> str:
    if isinstance(value, tuple) and len(value) > MOST_NAMES:
        return f"{numbers.spoken(len(value))} zones"
    if isinstance(value, tuple):
        return " and ".join([", ".join(value[:-1]), value[-1]] if len(value) > 1 else value)
    if isinstance(value, str):
        return value.rstrip(".")
    if style == "back":
        return numbers.read_back(int(value))
    if style == "daysback":
        return f"{numbers.read_back(int(value))} day{'' if int(value) == 1 else 's'}"
    unit = f" minute{'' if int(value) == 1 else 's'}"
    if style == "minutes":
        return numbers.spoken(int(value)) + unit
    if style == "minutesback":
        return (
            numbers.spoken(int(value))
            + unit
            + (f", {numbers.digits(int(value))}" if value > 9 else "")
        )
    return numbers.spoken(int(value)) if isinstance(value, int) else numbers.decimal(value)
