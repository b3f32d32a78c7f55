"""A client attached, the program killed: the journal alone brings back what the records said."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import pytest

from assistant import app
from assistant.core.client_card import Card
from assistant.core.events import ClientKnown, Event, Heard
from assistant.core.head import Head
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.core.script import At, Line
from assistant.edges import script_files
from assistant.edges.clock import VirtualClock
from assistant.edges.journal import Journal, read
from assistant.edges.kept_records import KeptRecords
from assistant.edges.records import RecordStore
from assistant.edges.virtual_voice import VirtualVoice
from assistant.edges.word_files import load_commands, load_phrases
from assistant.errors import StoreError
from assistant.hub import Hub
from assistant.rehearsal import ScriptedEars
from assistant.transcript import transcript
from tests.core.recipes import TWO_ZONES
from tests.wake import WAKE

KILLS = ("0:14", "0:20", "0:57", "1:12", "12:00", "28:50")


def lines_of(
    folder: Path, kills: tuple[str, ...]
) -> tuple[list[str], list[tuple[str, dict[str, Any]]]]:
    """Transcript and records of the regular client, killed at these times."""
    script, book = script_files.load("regular-client"), app.read_book()
    killed = [Line(At.parse(time), happens="kill") for time in kills]
    lines = tuple(sorted([*script.lines, *killed], key=lambda line: line.at.seconds))
    script = dataclasses.replace(script, lines=lines)
    seconds_of = app.voice_of(silent=True).seconds_of
    played = app.rehearsal(script, book, app.typed_hearing(book), seconds_of, folder).play()
    store = RecordStore(folder / "records.db", "", lambda: 0.0)
    kept = [(record.client, record.service) for record in store.all()]
    return [str(line) for line in transcript(played)], kept


def test_killed_six_times_it_is_told_like_once(tmp_path: Path) -> None:
    whole, killed = lines_of(tmp_path / "whole", ()), lines_of(tmp_path / "killed", KILLS)
    assert killed == whole
    assert [client for client, _ in whole[1]] == ["41", "41", "43"]


def test_the_record_has_every_item_that_a_unit_asks_for(tmp_path: Path) -> None:
    """The items to record of unit SHBHCLS004, in its order; all come from the journal."""
    _, ((_, _), (client, record), (_, refused)) = lines_of(tmp_path, ())
    assert client == "41"
    asked = dict(record["gate"])
    assert set(asked) == {"alert test", "scalp", "gloves", "leaflet", "age"}  # contra-indications
    assert asked["alert test"].startswith("on record: clear, 45 days ago")  # reaction to skin tests
    assert (refused["state"], dict(refused["gate"])) == (
        "stopped",
        {"alert test": "none on record"},
    )
    (bowl,) = record["bowls"]  # products, colour selection
    assert bowl["shade"] == "7.1"
    assert bowl["ratio"] == "1:2"
    assert (bowl["colour_grams"], bowl["developer_grams"]) == (15, 30)
    assert bowl["mixed_at"] is not None
    zones = record["zones"]  # techniques, methods and times, in the order of application
    assert [zone["name"] for zone in zones] == [
        "nape", "crown", "left side", "right side", "face frame",
    ]  # fmt: skip
    for zone in zones[:-1]:
        assert zone["technique"]
        assert zone["pass_at"] < zone["on_at"] < zone["rinsing_at"] < zone["off_at"]
        assert 0 < zone["check_minutes"] <= zone["target_minutes"] <= zone["limit_minutes"]
        assert [answer for _, answer in zone["checks"]] == ["ready"]
    assert zones[-1]["left_out"]
    assert dict(record["outcome"]) == {"colour": "as wished", "hair": "good"}
    assert record["home_care"]
    assert record["home_care_at"] is not None
    assert list(record["notes"]) == ["crown longer"]
    assert len(record["comfort"]) == 1


def test_the_record_of_before_is_not_doubled_by_playing_again(tmp_path: Path) -> None:
    assert lines_of(tmp_path, ()) == lines_of(tmp_path, ())


class _Session:
    """A hub over one journal file; `Records` may fail."""

    def __init__(self, journal: Journal, clock: VirtualClock, records: object) -> None:
        voice = VirtualVoice(clock, lambda say, text: 0.0)
        self.hub = Hub(
            Salon(load_commands(), {TWO_ZONES.name: TWO_ZONES}, 4, SalonRule()),
            load_phrases(),
            clock=clock,
            journal=journal,
            voice=voice,
            ears=ScriptedEars(clock),
            records=records,  # type: ignore[arg-type]
        )
        self.events: list[Event] = []
        self.hub.watch(lambda event, effects: self.events.append(event))


class _Unreadable:
    """A record store on a broken disk."""

    def write(self, head: Head) -> None:
        raise StoreError("no disk")

    def card(self, client: str) -> Card:
        raise StoreError("no disk")


def heard(words: str) -> Heard:
    return Heard(0.0, f"{WAKE} {words}", 0.0)


def test_records_that_cannot_be_read_stop_nothing(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    clock = VirtualClock()
    session = _Session(Journal.create(tmp_path, clock.moment, reserve=0), clock, _Unreadable())
    session.hub.handle(heard("chair two is client four one"))
    session.hub.handle(heard("confirm chair two"))
    assert session.events[-1] == ClientKnown(0.0, 2, "41", None)
    assert "cannot be read" in caplog.text
    session.hub.handle(heard("chair two start test tap"))
    assert session.hub.salon.heads[2].state == "gate"
    assert session.hub.failures == 0


def test_killed_between_the_name_and_the_answer_the_records_are_asked_again(
    tmp_path: Path,
) -> None:
    clock = VirtualClock()
    records = KeptRecords(tmp_path, tmp_path / "records.db", "s", lambda: 0.0)
    journal = Journal.create(tmp_path, clock.moment, reserve=0)
    journal.append(heard("chair two is client four one"))
    journal.append(heard("confirm chair two"))  # and then the program died
    journal.close()
    kept, _ = read(journal.path)
    again, known, _ = Journal.open(journal.path, clock.moment, reserve=0)
    session = _Session(again, clock, records)
    session.hub.replay([record.event for record in kept])
    assert not session.hub.salon.booked
    session.hub.handle(heard("what is due"))
    assert session.hub.salon.booked[2].name == "41"
    assert [r.event for r in known] == [r.event for r in kept]


def test_an_answer_in_the_journal_is_not_asked_for_again(tmp_path: Path) -> None:
    clock = VirtualClock()
    answer = ClientKnown(0.0, 2, "41", Card(3, False, False, None, None))
    session = _Session(Journal.create(tmp_path, clock.moment, reserve=0), clock, _Unreadable())
    session.hub.replay([heard("chair two is client four one"), heard("confirm chair two"), answer])
    session.hub.handle(heard("what is due"))
    assert session.hub.salon.booked[2].card == answer.card
