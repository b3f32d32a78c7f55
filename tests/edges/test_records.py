"""Records: round trips, corrections, one version back, kills, deletion."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.core.head import Head
from assistant.edges import record_sheets
from assistant.edges.kept_records import KeptRecords
from assistant.edges.records import DAY, VERSION, RecordStore
from assistant.errors import ConfigError, StoreError
from tests.core.recipes import recipe, stage, zone

# The tables as version 1 made them.
VERSION_1 = """
CREATE TABLE services (
    id INTEGER PRIMARY KEY, session TEXT NOT NULL, head INTEGER NOT NULL,
    first_utc REAL NOT NULL, body TEXT NOT NULL, UNIQUE (session, head));
CREATE TABLE written (
    id INTEGER PRIMARY KEY, service INTEGER NOT NULL REFERENCES services ON DELETE CASCADE,
    utc REAL NOT NULL, field TEXT NOT NULL, value TEXT NOT NULL);
INSERT INTO services VALUES (1, 's', 1, 5.0, '{"chair": 3}');
INSERT INTO written VALUES (1, 1, 6.0, 'client', 'Rowan');
PRAGMA user_version=1;
"""
# One process starts writers that write for ever and kills each of them in the middle of it.
KILLER = """
import itertools, os, signal, sys
from pathlib import Path
from assistant.edges.records import RecordStore
for kill in range(50):
    mouth, pen = os.pipe()
    writer = os.fork()
    if writer == 0:
        store = RecordStore(Path(sys.argv[1]), "s", lambda: 0.0)
        for number in itertools.count():
            store.correct(1, "notes", f"{kill}-{number}")
            os.write(pen, f"{kill}-{number}\\n".encode())
    os.close(pen)
    told = b""
    while told.count(b"\\n") <= kill % 5:
        told += os.read(mouth, 4096)
    os.kill(writer, signal.SIGKILL)
    while chunk := os.read(mouth, 4096):
        told += chunk
    os.close(mouth)
    assert os.WTERMSIG(os.waitpid(writer, 0)[1]) == signal.SIGKILL
    print(told.decode(), end="")
"""


def served() -> Head:
    """A head whose only zone is the crown."""
    return Head(1, 1, recipe(stage(zone("crown"))), 0.0)


@pytest.fixture
def store(tmp_path: Path) -> RecordStore:
    store = RecordStore(tmp_path / "records.db", "s", lambda: 100.0 * DAY)
    store.write(served())
    return store


def test_the_disk_is_waited_for(store: RecordStore) -> None:
    assert store._base.execute("PRAGMA synchronous").fetchone() == (2,)  # FULL, sqlite.org/pragma
    assert store._base.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_times_planned_and_real(store: RecordStore) -> None:
    head = served()
    run = head.file.zones[0]
    run.on_at, run.rinsed_at, run.checks = 60.0, 780.0, [(360.0, "not yet")]
    store.write(head)
    sheet = record_sheets.as_markdown(store.one(1))
    assert "crown: on 01:00, off 13:00, 12.0 min; planned 5/10/20 min" in sheet
    assert "06:00 not yet" in sheet
    assert len(store.all()) == 1


def test_a_correction_keeps_the_old_value_and_survives_a_second_write(store: RecordStore) -> None:
    store.correct(1, "client", "Rowan", "ann")
    store.correct(1, "client", "Robin")
    store.write(served())
    assert store.one(1).written() == {"client": "Robin"}
    assert "client was: Rowan (ann)" in record_sheets.as_markdown(store.one(1))
    with pytest.raises(ConfigError, match="no field"):
        store.correct(1, "telephone", "1")


def test_exports_read_back(store: RecordStore) -> None:
    store.correct(1, "notes", "=1+1, <b>")
    (row,) = csv.DictReader(io.StringIO(record_sheets.as_csv(store.all())))
    assert (row["name"], row["notes"]) == ("crown", "'=1+1, <b>")
    (plain,) = json.loads(record_sheets.as_json(store.all()))["records"]
    assert plain["written"] == {"notes": "=1+1, <b>"}
    assert "<b>" not in record_sheets.as_html(store.one(1))


def test_deleted_is_gone_from_the_file(store: RecordStore, tmp_path: Path) -> None:
    store.correct(1, "client", "Quillfeather")
    store.delete(1)
    store.close()
    assert not any(b"Quillfeather" in file.read_bytes() for file in tmp_path.iterdir())


@pytest.mark.parametrize(
    "delete",
    [
        lambda store: store.delete(1),
        lambda store: store.delete_client("7"),
        lambda store: store.delete_older_than(-1),
    ],
)
def test_what_was_deleted_is_not_written_again_when_its_journal_is_played(
    store: RecordStore, tmp_path: Path, delete: Callable[[RecordStore], object]
) -> None:
    store.correct(1, "client", "7")
    delete(store)
    store.close()
    again = RecordStore(tmp_path / "records.db", "s", lambda: 100.0 * DAY)
    again.write(served())
    assert again.all() == ()
    other = RecordStore(tmp_path / "records.db", "t", lambda: 100.0 * DAY)
    other.write(served())  # the same head of another session is another service
    assert [stored.session for stored in other.all()] == ["t"]
    again.begin_anew()  # a rehearsal, from the start
    again.write(served())
    assert len(again.all()) == 2


def test_retention(store: RecordStore) -> None:
    assert store.delete_older_than(0) == ()  # as old as now is not older
    store._utc = lambda: 131.0 * DAY
    assert store.delete_older_than(32) == ()
    assert [gone.id for gone in store.delete_older_than(30)] == [1]
    assert store.all() == ()


def test_one_version_back(tmp_path: Path) -> None:
    old = sqlite3.connect(tmp_path / "records.db")
    old.executescript(VERSION_1)
    old.close()
    store = RecordStore(tmp_path / "records.db", "s", lambda: 0.0)
    store.correct(1, "client", "Robin", "ann")
    assert [(e.value, e.who) for e in store.one(1).entries] == [("Rowan", ""), ("Robin", "ann")]


def test_a_newer_file_and_a_broken_one_are_refused(tmp_path: Path) -> None:
    newer = sqlite3.connect(tmp_path / "newer.db")
    newer.execute(f"PRAGMA user_version={VERSION + 1}")
    newer.close()
    with pytest.raises(ConfigError, match="newer"):
        RecordStore(tmp_path / "newer.db", "s", lambda: 0.0)
    (tmp_path / "broken.db").write_bytes(b"no database" * 100)
    with pytest.raises(StoreError):
        RecordStore(tmp_path / "broken.db", "s", lambda: 0.0)


def test_fifty_kills_lose_nothing(store: RecordStore, tmp_path: Path) -> None:
    path = tmp_path / "records.db"
    words = [sys.executable, "-c", KILLER, str(path)]
    told = subprocess.run(words, capture_output=True, text=True, check=True).stdout.split()
    kept = [entry.value for entry in store.one(1).entries]
    assert set(told) <= set(kept)
    assert {line.split("-")[0] for line in told} == {str(kill) for kill in range(50)}
    assert len(told) >= 150
    assert store._base.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_service_leaves_a_sheet_and_a_record(tmp_path: Path) -> None:
    kept = KeptRecords(tmp_path / "sheets", tmp_path / "records.db", "day/session-1", lambda: 0.0)
    kept.write(served())
    kept.write(served())  # a journal played again
    assert len(list((tmp_path / "sheets").iterdir())) == 1
    store = RecordStore(tmp_path / "records.db", "", lambda: 0.0)
    assert [r.session for r in store.all()] == ["day/session-1"]
