"""Which record store is meant, and where does the passphrase of a locked one come from?"""

from __future__ import annotations

import getpass
import os
import sqlite3
import sys
import time
from contextlib import closing
from pathlib import Path

from assistant.edges import record_lock, record_sealing, session_folder, settings_file
from assistant.edges.record_lock import PASSPHRASE, SHORTEST, Key
from assistant.edges.records import RecordStore
from assistant.errors import ConfigError, StoreError


def path_of(named: Path | None) -> Path:
    """The store that was named, or the one of the salon's settings."""
    return named or settings_file.load().sessions / session_folder.STORE


def opened(named: Path | None, *, new: bool = False) -> RecordStore:
    """The store, to read and correct; a `new` one is made if there is none."""
    path = path_of(named)
    if not new and not path.is_file():
        raise ConfigError(f"{path}: no records yet: name another file with --store")
    return RecordStore(path, "", time.time, key_for(path))


def key_for(store: Path) -> Key | None:
    """The key of a locked store, None if it is plain or not there yet."""
    if not store.is_file():
        return None
    try:
        with closing(sqlite3.connect(store)) as base:
            lock = record_sealing.lock_of(base)
    except sqlite3.Error as error:
        raise StoreError(f"{store}: cannot be read ({error}): is it the record store?") from error
    if lock is None:
        return None
    question = f"Passphrase of {store}: "
    return record_lock.key_of(_given(question, "the record store is locked"), *lock)


def new_key() -> tuple[Key, bytes]:
    """A key for a store to be locked, and its salt; a typed passphrase is asked for twice."""
    chosen = _given("New passphrase: ", "no passphrase was given")
    if len(chosen) < SHORTEST:
        raise ConfigError(
            f"the passphrase is shorter than {SHORTEST} characters: a sentence is good"
        )
    if PASSPHRASE not in os.environ and getpass.getpass("The same again: ") != chosen:
        raise ConfigError("the two are not the same: nothing was changed, do it again")
    salt = record_lock.new_salt()
    return Key(chosen, salt), salt


def _given(question: str, without: str) -> str:
    if PASSPHRASE in os.environ:
        return os.environ[PASSPHRASE]
    if not sys.stdin.isatty():
        raise ConfigError(f"{without}: set {PASSPHRASE}, or run it in a terminal")
    return getpass.getpass(question)
