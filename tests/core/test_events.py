"""Every event class goes into the journal and comes back."""

from __future__ import annotations

import json
from dataclasses import fields
from typing import Any, get_args, get_type_hints

import pytest

from assistant.core import client_card, events
from assistant.core.events import EVENTS, decode, encode

SAMPLES: dict[Any, Any] = {
    float: 12.5,
    int: 3,
    str: "chair two crown is on",
    bool: True,
    client_card.Card | None: client_card.Card(
        2,
        False,
        True,
        client_card.PastTest(12, "line a", "ann", 2, 60),
        client_card.PastVisit(
            42,
            "root tap",
            (client_card.PastBowl("colour", "root bowl", "7.1", "1:2", 3.0, 45.0),),
            (client_card.PastZone("colour", "crown", 20.0, 30.0, None, True),),
            ("shorter",),
            ("as wished",),
        ),
    ),
    tuple[tuple[str, str], ...]: (("a.yaml", "version: 1"), ("b.yaml", "ä")),
    tuple[tuple[str, int], ...]: (("root tap / tap / place / nape", 2),),
}


def sample(kind: type[Any]) -> Any:
    hints = get_type_hints(kind)
    values = {
        f.name: SAMPLES.get(hints[f.name]) or get_args(hints[f.name])[0] for f in fields(kind)
    }
    return kind(**values)


def test_every_event_class_is_known() -> None:
    named = {n for n, k in vars(events).items() if hasattr(k, "__dataclass_fields__")}
    effects = {"Say", "Unsay", "Listen", "WriteRecord", "LookUp"}
    assert named - effects == set(EVENTS)
    assert len(EVENTS) >= 8


@pytest.mark.parametrize("kind", EVENTS.values(), ids=EVENTS.keys())
def test_every_event_round_trips(kind: type[Any]) -> None:
    event = sample(kind)
    assert decode(json.loads(json.dumps(encode(event)))) == event


def test_a_journal_from_before_there_were_trainees_still_opens() -> None:
    old = {"event": "SessionStarted", "at": 0.0, "utc": 5.0, "chairs": 2, "recipes": []}
    assert decode(old) == events.SessionStarted(0.0, 5.0, 2, ())


@pytest.mark.parametrize(
    "plain",
    [
        {},
        {"event": "Nonsense", "at": 1.0},
        {"event": "ClockDue"},
        {"event": "ClockDue", "at": "soon"},
        {"event": "ClockDue", "at": 1.0, "more": 2},
        {"event": "DeviceLost", "at": 1.0, "device": "toaster"},
        {"event": "SessionStarted", "at": 0.0, "utc": 0.0, "chairs": 1, "recipes": "none"},
        {"event": "SessionStarted", "at": 0.0, "utc": 0.0, "chairs": 1, "recipes": [["a"]]},
        {"event": "ClientKnown", "at": 0.0, "chair": 1, "client": "41", "card": 5},
        {"event": "ClientKnown", "at": 0.0, "chair": 1, "client": "41", "card": {"visits": 1}},
        {"event": "ClientKnown", "at": 0.0, "chair": 1, "client": "41", "card": {"name": "x"}},
    ],
)
def test_what_is_no_event_is_a_value_error(plain: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"."):
        decode(plain)
