"""A reply: a phrase of `words/phrases.yaml` with its values, and what an act came to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from assistant.core.events import Mode, Value
from assistant.core.head import Head


class Reply(NamedTuple):
    """One sentence to be spoken in answer."""

    phrase: str
    values: tuple[tuple[str, Value], ...] = ()
    asks: Mode | None = None


def reply(phrase: str, asks: Mode | None = None, **values: Value) -> Reply:
    """A reply with its values by name."""
    return Reply(phrase, tuple(values.items()), asks)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an act came to. `changed` acts can be undone; `told` also gives the next step."""

    replies: tuple[Reply, ...]
    changed: bool = False
    instruct: bool = False


def said(*replies: Reply) -> Outcome:
    """Nothing changed: only these replies."""
    return Outcome(replies)


def not_now(head: Head) -> Outcome:
    """The table does not allow it in this state: say where we are."""
    return said(reply(f"not_now_{head.state}", subject=head.step().subject))
