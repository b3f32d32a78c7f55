"""Where do the records of services lie? One SQLite file; what `write` returned for is on the disk.

A correction keeps the old value. The machine's part and what people wrote lie in two tables, so
that a journal played again after a restart writes the one and never the other. With a key every
text is sealed; what stays plain is which session a record is of, its day, and which fields
somebody wrote.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from assistant.core.head import Head
from assistant.core.record import WRITTEN, record_of
from assistant.edges import left_over, record_lock, record_schema, record_sealing
from assistant.edges.alert_tests import AlertTest
from assistant.edges.files import PRIVATE_FILE, PRIVATE_FOLDER
from assistant.edges.record_lock import Key
from assistant.edges.record_rows import Entry as Entry
from assistant.edges.record_rows import Stored as Stored
from assistant.errors import ConfigError, StoreError

VERSION = record_schema.VERSION
DAY = 86_400
_SERVICE_COLUMNS = "SELECT id, session, head, first_utc, body, client FROM services"


class RecordStore:
    """The records of a salon. One thread at a time uses it."""

    def __init__(
        self, path: Path, session: str, utc: Callable[[], float], key: Key | None = None
    ) -> None:
        """Open (or make) the store; `session` names whose heads `write` is about."""
        self._path = path
        self._session = session
        self._utc = utc
        self._key = key
        with self._told():
            _make_private(path)
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

    # ---------------------------------------------------------------- services

    def write(self, head: Head) -> None:
        """Write the machine's part of a record, or write it anew; on the disk when it returns.

        One that somebody deleted stays deleted, also when its journal is played again.
        """
        record = record_of(head)
        body = self._sealed(json.dumps(record.as_dict(), ensure_ascii=False))
        mark = self._mark(record.client)
        with self._told():
            self._base.execute(
                "INSERT INTO services (session, head, first_utc, body, client) "
                "SELECT ?1, ?2, ?3, ?4, ?5 WHERE NOT EXISTS (SELECT 1 FROM deleted "
                "WHERE session = ?1 AND head = ?2) ON CONFLICT (session, head) DO UPDATE SET "
                "body = excluded.body, client = CASE WHEN EXISTS (SELECT 1 FROM written "
                "WHERE service = services.id AND field = 'client') "
                "THEN services.client ELSE excluded.client END",
                (self._session, head.number, self._utc(), body, mark),
            )

    def correct(self, service: int, field: str, value: str, who: str = "") -> None:
        """Write a field; what stood there before is kept."""
        if field not in WRITTEN:
            raise ConfigError(f"no field {field!r}: use one of {', '.join(WRITTEN)}")
        stored = self.one(service)
        if field == left_over.FIELD:
            left_over.read(value, stored.service)
        with self._told(), self._at_once():
            self._base.execute(
                "INSERT INTO written (service, utc, field, value, who) VALUES (?, ?, ?, ?, ?)",
                (service, self._utc(), field, self._sealed(value), self._sealed(who)),
            )
            if field == "client":
                self._base.execute(
                    "UPDATE services SET client = ? WHERE id = ?", (self._mark(value), service)
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

    def of_client(self, client: str) -> tuple[Stored, ...]:
        """Every record of a client, oldest first."""
        if not client.strip():
            return ()
        return self._read("WHERE client = ?", (self._mark(client),))

    def older_than(self, days: float) -> tuple[Stored, ...]:
        """Every record that was begun before so many days, oldest first."""
        return self._begun_before(self._utc() - days * DAY)

    def delete(self, service: int) -> Stored:
        """Remove a record and all that was written about it, for good; what it was."""
        gone = self.one(service)
        with self._told(), self._at_once():
            self._delete("id = ?", service)
        return gone

    def begin_anew(self) -> None:
        """Forget what this session wrote: it is played again from the start."""
        with self._told(), self._at_once():
            for table in ("services", "deleted"):
                self._base.execute(f"DELETE FROM {table} WHERE session = ?", (self._session,))

    def delete_older_than(self, days: float) -> tuple[Stored, ...]:
        """Keep the salon's retention time, for records and alert tests; the records removed."""
        before = self._utc() - days * DAY
        gone = self._begun_before(before)  # not `older_than`: one moment for all three
        with self._told(), self._at_once():
            self._delete("first_utc < ?", before)
            self._base.execute("DELETE FROM of_clients WHERE utc < ?", (before,))
        return gone

    def delete_client(self, client: str) -> tuple[Stored, ...]:
        """Forget a client, records and alert tests; the records removed."""
        gone = self.of_client(client)
        with self._told(), self._at_once():
            self._delete("client = ?", self._mark(client))
            self._base.execute("DELETE FROM of_clients WHERE client = ?", (self._mark(client),))
        return gone

    def _delete(self, where: str, value: float | str) -> None:
        """Services, in the transaction of the caller."""
        self._base.execute(
            "INSERT OR IGNORE INTO deleted SELECT session, head FROM services WHERE " + where,
            (value,),
        )
        self._base.execute("DELETE FROM services WHERE " + where, (value,))

    # ---------------------------------------------------- outside of a service

    def add_test(self, test: AlertTest) -> None:
        """Write an alert test down."""
        self._add(test.client, "alert test", test.as_text())

    def tests(self, client: str) -> tuple[AlertTest, ...]:
        """Those written down for a client, in the order they were written."""
        found = self._of(self._mark(client), "alert test", float("inf"))
        return tuple(AlertTest.from_text(text) for text in found)

    def add_consultation(self, client: str, facts: dict[str, str | float]) -> None:
        """Write down what was asked before a service, and the answers."""
        text = json.dumps({"client": client, "facts": facts}, ensure_ascii=False)
        self._add(client, "consultation", text)

    def consultation(self, client: str) -> dict[str, str | float]:
        """The newest of a client; empty if there is none."""
        return self._asked(self._mark(client), float("inf"))

    def _add(self, client: str, kind: str, text: str) -> None:
        with self._told():
            self._base.execute(
                "INSERT INTO of_clients (client, utc, kind, body) VALUES (?, ?, ?, ?)",
                (self._mark(client), self._utc(), kind, self._sealed(text)),
            )

    def _of(self, mark: str, kind: str, until: float) -> list[str]:
        with self._told():
            rows = self._base.execute(
                "SELECT body FROM of_clients WHERE client = ? AND kind = ? AND utc <= ? "
                "ORDER BY id",
                (mark, kind, until),
            ).fetchall()
        return [self._opened(body) for (body,) in rows]

    def _asked(self, mark: str, until: float) -> dict[str, str | float]:
        found = self._of(mark, "consultation", until) if mark else []
        facts: dict[str, str | float] = json.loads(found[-1])["facts"] if found else {}
        return facts

    # ------------------------------------------------------------------- lock

    @property
    def locked(self) -> bool:
        """Whether its texts are sealed."""
        return record_sealing.lock_of(self._base) is not None

    def seal_all(self, key: Key | None, salt: bytes = b"") -> None:
        """Seal every text under a key, or open them all (None); nothing of the old form is left."""
        with self._told(), self._at_once():
            record_sealing.rewrite(self._base, self.all(), self._key, key)
            record_sealing.put_lock(self._base, key, salt)
        self._key = key
        self.scrub()

    def scrub(self) -> None:
        """Write the file anew and empty its log; `StoreError` if another program has it open."""
        with self._told():
            self._base.execute("VACUUM")
            busy = self._base.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        if busy:
            raise StoreError(
                f"{self._path}: another program has it open, old text may be left: end that "
                "program and do this again"
            )

    # ------------------------------------------------------------------ inside

    def _prepare(self) -> None:
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
            self._base.execute(f"PRAGMA {pragma}")
        self._base.execute("PRAGMA secure_delete=ON")  # what is deleted is overwritten
        with self._at_once():
            version = self._base.execute("PRAGMA user_version").fetchone()[0]
            if version > VERSION:
                raise ConfigError(f"{self._path}: written by a newer program: update this one")
            if version < VERSION:
                record_schema.bring_up(self._base, version, self._mark)
        lock = record_sealing.lock_of(self._base)
        if lock is None:
            self._key = None
        elif self._key is None:
            raise ConfigError(f"{self._path}: locked: its passphrase is needed")
        else:
            self._key.open(lock[1])

    def _read(self, where: str, values: tuple[float | str, ...]) -> tuple[Stored, ...]:
        with self._told():
            rows = self._base.execute(f"{_SERVICE_COLUMNS} {where} ORDER BY id", values).fetchall()
            return tuple(
                Stored(
                    row,
                    session,
                    head,
                    utc,
                    json.loads(self._opened(body)),
                    self._entries(row),
                    self._asked(mark, utc),
                )
                for row, session, head, utc, body, mark in rows
            )

    def _begun_before(self, utc: float) -> tuple[Stored, ...]:
        return self._read("WHERE first_utc < ?", (utc,))

    def _entries(self, service: int) -> tuple[Entry, ...]:
        rows = self._base.execute(
            "SELECT utc, field, value, who FROM written WHERE service = ? ORDER BY id", (service,)
        )
        return tuple(
            Entry(utc, field, self._opened(value), self._opened(who))
            for utc, field, value, who in rows
        )

    def _sealed(self, text: str) -> str:
        return record_lock.sealed(self._key, text)

    def _opened(self, text: str) -> str:
        return record_lock.opened(self._key, text)

    def _mark(self, client: str) -> str:
        return record_lock.mark(self._key, client)

    @contextmanager
    def _at_once(self) -> Iterator[None]:
        """All of it or nothing."""
        self._base.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._base.execute("ROLLBACK")
            raise
        self._base.execute("COMMIT")

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, OSError, ValueError) as error:
            raise StoreError(
                f"{self._path}: the record store refuses ({error}): free space or mend the file"
            ) from error


def _make_private(path: Path) -> None:
    """The file, for nobody else to read; its log gets the same rights from it."""
    path.parent.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, PRIVATE_FILE))
    with contextlib.suppress(PermissionError):  # somebody else's file, readable to us: theirs
        path.chmod(PRIVATE_FILE)
