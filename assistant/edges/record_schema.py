"""Which tables has a record store, and how does an older one become today's?"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

VERSION = 4
# `body` is JSON. `client` is a mark to find a client by: sealed, it tells no name.
_SERVICES = """
CREATE TABLE services (
    id INTEGER PRIMARY KEY, session TEXT NOT NULL, head INTEGER NOT NULL,
    first_utc REAL NOT NULL, body TEXT NOT NULL, client TEXT NOT NULL DEFAULT '',
    UNIQUE (session, head))"""
_WRITTEN = """
CREATE TABLE written (
    id INTEGER PRIMARY KEY, service INTEGER NOT NULL REFERENCES services ON DELETE CASCADE,
    utc REAL NOT NULL, field TEXT NOT NULL, value TEXT NOT NULL, who TEXT NOT NULL DEFAULT '')"""
_OF_CLIENTS = """
CREATE TABLE of_clients (
    id INTEGER PRIMARY KEY, client TEXT NOT NULL, utc REAL NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('alert test', 'consultation')), body TEXT NOT NULL)"""
_LOCK = """
CREATE TABLE lock (
    id INTEGER PRIMARY KEY CHECK (id = 1), salt BLOB NOT NULL, proof TEXT NOT NULL)"""
# What was deleted while its session's journal is still there and may be played again.
_DELETED = """
CREATE TABLE deleted (session TEXT NOT NULL, head INTEGER NOT NULL, PRIMARY KEY (session, head))"""
_BY_CLIENT = "CREATE INDEX services_by_client ON services (client)"
_NEW = (_SERVICES, _WRITTEN, _OF_CLIENTS, _LOCK, _BY_CLIENT, _DELETED)
# From version n to n + 1. Version 1 did not say who wrote; 2 nothing of clients and no lock; 3
# forgot what was deleted.
_STEPS = {
    1: ("ALTER TABLE written ADD COLUMN who TEXT NOT NULL DEFAULT ''",),
    2: (
        "ALTER TABLE services ADD COLUMN client TEXT NOT NULL DEFAULT ''",
        _OF_CLIENTS,
        _LOCK,
        _BY_CLIENT,
        "UPDATE services SET client = client_mark((SELECT value FROM written "
        "WHERE service = services.id AND field = 'client' ORDER BY id DESC LIMIT 1)) "
        "WHERE id IN (SELECT service FROM written WHERE field = 'client')",
    ),
    3: (_DELETED,),
}


def bring_up(base: sqlite3.Connection, version: int, mark: Callable[[str], str]) -> None:
    """Make the tables, or those of an older version today's; inside a transaction of the caller."""
    base.create_function("client_mark", 1, mark, deterministic=True)
    statements = _NEW if version == 0 else [s for n in range(version, VERSION) for s in _STEPS[n]]
    for statement in statements:
        base.execute(statement)
    base.execute(f"PRAGMA user_version={VERSION}")
