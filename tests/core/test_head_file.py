"""Is a copy of the facts a head's own? "Undo" and the alarms both stand on it."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace

from assistant.core.client_card import Client
from assistant.core.head_file import HeadFile, ZoneRun
from assistant.core.levels import Asked, Lesson, Level
from assistant.core.rule import SalonRule
from tests.core import recipes as made_up

RUN = ZoneRun(0, made_up.zone("nape"), 1.0, 2.0, checks=[(3.0, "ready")])


def full() -> HeadFile:
    """A head to which everything has happened."""
    return HeadFile(
        1.0,
        [RUN],
        gate={"test": "clear"},
        mixed={(0, "root bowl"): 1.0},
        incidents=[(4.0, "burning was reported")],
        comfort=[5.0],
        notes=["warmer"],
        lesson=Lesson("swift", {"a": Level.READ}, {"a": Asked("ratio", "one to two", 1.0)}),
        client=Client("41", None, SalonRule()),
        outcome={"colour": "even"},
    )


def changeable(thing: object, where: str = "file") -> Iterator[tuple[str, object]]:
    """Every list, dict and dataclass in it that can be changed, with the way to it."""
    if isinstance(thing, list | dict):
        yield where, thing
        parts = thing.items() if isinstance(thing, dict) else enumerate(thing)
        for key, part in parts:
            yield from changeable(part, f"{where}[{key!r}]")
    elif is_dataclass(thing):
        if not thing.__dataclass_params__.frozen:  # type: ignore[attr-defined] # every one has it
            yield where, thing
        for each in fields(thing):
            yield from changeable(getattr(thing, each.name), f"{where}.{each.name}")


def test_a_copy_is_equal_and_shares_nothing_that_can_change() -> None:
    file = full()
    other = file.copy()
    assert other == file
    parts, others = dict(changeable(file)), dict(changeable(other))
    assert parts.keys() == others.keys()
    assert len(parts) >= 12  # the list of facts above is really looked into
    assert [where for where in parts if parts[where] is others[where]] == []


def test_whatever_changes_makes_it_another() -> None:
    """Facts are compared to see whether the alarms are to be worked out anew."""
    assert {each.name for each in fields(HeadFile) if not each.compare} == set()
    assert {each.name for each in fields(ZoneRun) if not each.compare} == set()
    file = full()
    other = copy.deepcopy(file)
    other.zones[0].checks.append((6.0, "ready"))
    assert other != file
    assert replace(file, burns_at=7.0) != file
