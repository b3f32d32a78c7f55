"""How does a whole record store change between plain and sealed?"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence

from assistant.edges.record_lock import Key, mark, opened, sealed
from assistant.edges.record_rows import Stored


def lock_of(base: sqlite3.Connection) -> tuple[bytes, str] | None:
    """Salt and proof of a locked store, None if its texts are plain."""
    has = base.execute("SELECT 1 FROM sqlite_master WHERE name = 'lock'").fetchone()
    if has is None:  # a store of an older version
        return None
    found: tuple[bytes, str] | None = base.execute("SELECT salt, proof FROM lock").fetchone()
    return found


def put_lock(base: sqlite3.Connection, key: Key | None, salt: bytes) -> None:
    """Keep what shows the right passphrase; without a key there is no lock."""
    base.execute("DELETE FROM lock")
    if key is not None:
        base.execute("INSERT INTO lock VALUES (1, ?, ?)", (salt, key.proof()))


def rewrite(
    base: sqlite3.Connection, records: Sequence[Stored], old: Key | None, new: Key | None
) -> None:
    """Every text from one key (None: plain) to another; inside a transaction of the caller."""
    for record in records:
        body = json.dumps(record.service, ensure_ascii=False)
        base.execute(
            "UPDATE services SET body = ?, client = ? WHERE id = ?",
            (sealed(new, body), mark(new, record.client), record.id),
        )
    for row, value, who in base.execute("SELECT id, value, who FROM written").fetchall():
        texts = [sealed(new, opened(old, text)) for text in (value, who)]
        base.execute("UPDATE written SET value = ?, who = ? WHERE id = ?", (*texts, row))
    for row, body in base.execute("SELECT id, body FROM of_clients").fetchall():
        text = opened(old, body)
        client = mark(new, json.loads(text)["client"])
        base.execute(
            "UPDATE of_clients SET client = ?, body = ? WHERE id = ?",
            (client, sealed(new, text), row),
        )
