"""Where do the records of services lie? One SQLite file; what `write` returned for is on the disk.

A correction keeps the old value. The machine's part and what people wrote lie in two tables, so
that a journal played again after a restart writes the one and never the other.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.core.head import Head
from assistant.core.record import WRITTEN, record_of
from assistant.errors import ConfigError, StoreError

VERSION = 2
DAY = 86_400
_SERVICES = """
CREATE TABLE services (
    id INTEGER PRIMARY KEY, session TEXT NOT NULL, head INTEGER NOT NULL,
    first_utc REAL NOT NULL, body TEXT NOT NULL, UNIQUE (session, head))"""
_WRITTEN = """
CREATE TABLE written (
    id INTEGER PRIMARY KEY, service INTEGER NOT NULL REFERENCES services ON DELETE CASCADE,
    utc REAL NOT NULL, field TEXT NOT NULL, value TEXT NOT NULL, who TEXT NOT NULL DEFAULT '')"""
# From version n to n + 1. Version 1 did not say who wrote.
STEPS = {
    0: (_SERVICES, _WRITTEN),
    1: ("ALTER TABLE written ADD COLUMN who TEXT NOT NULL DEFAULT ''",),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """What somebody wrote into a field, and when: the last one of a field is the valid one."""

    utc: float
    field: str
    value: str
    who: str


@dataclass(frozen=True, slots=True)
class Stored:
    """One record as it lies in the store."""

    id: int
    session: str
    first_utc: float
    service: dict[str, Any]
    entries: tuple[Entry, ...]

    def written(self) -> dict[str, str]:
        """The valid value of every field that was written."""
        return {entry.field: entry.value for entry in self.entries}


class RecordStore:
    """The records of a salon. One thread at a time uses it."""

    def __init__(self, path: Path, session: str, utc: Callable[[], float]) -> None:
        """Open (or make) the store; `session` names whose heads `write` is about."""
        self._path = path
        self._session = session
        self._utc = utc
        with self._told():
            path.parent.mkdir(parents=True, exist_ok=True)
            self._base = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
        try:
            with self._told():
                self._prepare()
        except (StoreError, ConfigError):
            self._base.close()
            raise

    def close(self) -> None:
        """Let go of the file."""
        self._base.close()

    def write(self, head: Head) -> None:
        """Write the machine's part of a record, or write it anew; on the disk when it returns."""
        body = json.dumps(record_of(head).as_dict(), ensure_ascii=False)
        with self._told():
            self._base.execute(
                "INSERT INTO services (session, head, first_utc, body) VALUES (?, ?, ?, ?) "
                "ON CONFLICT (session, head) DO UPDATE SET body = excluded.body",
                (self._session, head.number, self._utc(), body),
            )

    def correct(self, service: int, field: str, value: str, who: str = "") -> None:
        """Write a field; what stood there before is kept."""
        if field not in WRITTEN:
            raise ConfigError(f"no field {field!r}: use one of {', '.join(WRITTEN)}")
        self.one(service)
        with self._told():
            self._base.execute(
                "INSERT INTO written (service, utc, field, value, who) VALUES (?, ?, ?, ?, ?)",
                (service, self._utc(), field, value, who),
            )

    def one(self, service: int) -> Stored:
        """A record by its number; `ConfigError` if there is none."""
        found = self._read("WHERE id = ?", (service,))
        if not found:
            raise ConfigError(f"no record {service}: `swatchword records list` shows them")
        return found[0]

    def all(self) -> tuple[Stored, ...]:
        """Every record, oldest first."""
        return self._read("", ())

    def delete(self, service: int) -> None:
        """Remove a record and all that was written about it, for good."""
        self.one(service)
        with self._told():
            self._base.execute("DELETE FROM services WHERE id = ?", (service,))

    def delete_older_than(self, days: float) -> int:
        """Keep the salon's retention time: how many records were removed."""
        with self._told():
            return self._base.execute(
                "DELETE FROM services WHERE first_utc < ?", (self._utc() - days * DAY,)
            ).rowcount

    # ------------------------------------------------------------------ inside

    def _prepare(self) -> None:
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
            self._base.execute(f"PRAGMA {pragma}")
        self._base.execute("PRAGMA secure_delete=ON")  # what is deleted is overwritten
        self._base.execute("BEGIN IMMEDIATE")
        version = self._base.execute("PRAGMA user_version").fetchone()[0]
        if version > VERSION:
            raise ConfigError(f"{self._path}: written by a newer program: update this one")
        if version == 0:
            for statement in STEPS[0]:
                self._base.execute(statement)
        else:
            for step in range(version, VERSION):
                for statement in STEPS[step]:
                    self._base.execute(statement)
        self._base.execute(f"PRAGMA user_version={VERSION}")
        self._base.execute("COMMIT")

    def _read(self, where: str, values: tuple[int, ...]) -> tuple[Stored, ...]:
        with self._told():
            rows = self._base.execute(
                f"SELECT id, session, first_utc, body FROM services {where} ORDER BY id", values
            ).fetchall()
            return tuple(
                Stored(key, session, utc, json.loads(body), self._entries(key))
                for key, session, utc, body in rows
            )

    def _entries(self, service: int) -> tuple[Entry, ...]:
        rows = self._base.execute(
            "SELECT utc, field, value, who FROM written WHERE service = ? ORDER BY id", (service,)
        )
        return tuple(Entry(*row) for row in rows)

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, OSError) as error:
            raise StoreError(
                f"{self._path}: the record store refuses ({error}): free space or mend the file"
            ) from error
