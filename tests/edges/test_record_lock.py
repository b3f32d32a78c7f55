"""Locking: nothing plain is left in any file, a wrong passphrase changes nothing."""

from __future__ import annotations

import stat
from datetime import date
from pathlib import Path

import pytest

from assistant.core.client_card import Client
from assistant.core.head import Head
from assistant.core.rule import SalonRule
from assistant.edges import record_lock
from assistant.edges.alert_tests import AlertTest
from assistant.edges.kept_records import KeptRecords
from assistant.edges.record_lock import Key
from assistant.edges.records import RecordStore
from assistant.errors import ConfigError
from tests.core.recipes import recipe, stage, zone

PRIVATE = tuple(
    word.encode()
    for word in "Quillfeather penicillin cornflower Marlowe warmer scarlet-line marigold".split()
)
SALT = b"0123456789abcdef"


@pytest.fixture(scope="module")
def key() -> Key:
    return Key("a sentence that nobody guesses", SALT)


def served(client: str = "Quillfeather") -> Head:
    head = Head(1, 1, recipe(stage(zone("cornflower"))), 0.0)
    head.file.client = Client(client, None, SalonRule())
    head.file.notes.append("warmer")
    return head


def filled(path: Path, key: Key | None = None) -> RecordStore:
    store = RecordStore(path, "s", lambda: 0.0, key)
    store.write(served())
    store.correct(1, "contra-indications", "penicillin", "Marlowe")
    store.add_consultation("Quillfeather", {"earlier_colour": "marigold"})
    store.add_test(AlertTest("Quillfeather", date(2026, 1, 2), "scarlet-line", "clear", "Marlowe"))
    return store


def plain_in(folder: Path) -> set[bytes]:
    contents = b"".join(file.read_bytes() for file in folder.rglob("*") if file.is_file())
    return {word for word in PRIVATE if word in contents}


def test_locking_leaves_nothing_plain_in_any_file(tmp_path: Path, key: Key) -> None:
    store = filled(tmp_path / "records.db")
    assert plain_in(tmp_path) == set(PRIVATE)  # else the search would prove nothing
    store.seal_all(key, SALT)
    assert plain_in(tmp_path) == set()
    store.close()
    assert plain_in(tmp_path) == set()


def test_what_is_written_while_locked_is_never_plain(tmp_path: Path, key: Key) -> None:
    RecordStore(tmp_path / "records.db", "s", lambda: 0.0).seal_all(key, SALT)
    store = filled(tmp_path / "records.db", key)
    assert (tmp_path / "records.db-wal").stat().st_size > 0
    assert plain_in(tmp_path) == set()
    store.close()
    assert plain_in(tmp_path) == set()


def test_locked_and_unlocked_again_everything_is_as_it_was(tmp_path: Path, key: Key) -> None:
    store = filled(tmp_path / "records.db")
    before = store.all(), store.tests("Quillfeather")
    asked = store.consultation("Quillfeather")
    assert asked
    store.seal_all(key, SALT)
    assert (store.all(), store.tests("quillfeather ")) == before
    assert [record.id for record in store.of_client("Quillfeather")] == [1]
    store.close()
    again = RecordStore(tmp_path / "records.db", "s", lambda: 0.0, key)
    assert (again.all(), again.tests("Quillfeather")) == before
    again.seal_all(None)
    again.close()
    plain = RecordStore(tmp_path / "records.db", "s", lambda: 0.0)
    assert (plain.all(), plain.tests("Quillfeather")) == before
    assert not plain.locked
    assert plain.consultation("Quillfeather") == asked


def test_a_wrong_passphrase_or_none_is_refused(tmp_path: Path, key: Key) -> None:
    filled(tmp_path / "records.db").seal_all(key, SALT)
    with pytest.raises(ConfigError, match="passphrase is needed"):
        RecordStore(tmp_path / "records.db", "s", lambda: 0.0)
    with pytest.raises(ConfigError, match="wrong passphrase"):
        RecordStore(tmp_path / "records.db", "s", lambda: 0.0, Key("another sentence", SALT))
    with pytest.raises(ConfigError, match="wrong passphrase"):
        record_lock.key_of("another sentence", SALT, key.proof())


def test_a_sealed_text_that_was_changed_is_refused(key: Key) -> None:
    sealed = key.seal("penicillin")
    assert key.open(sealed) == "penicillin"
    assert key.seal("penicillin") != sealed  # a nonce of its own each time
    for broken in ("A" + sealed[1:] if sealed[0] != "A" else "B" + sealed[1:], "plain", ""):
        with pytest.raises(ConfigError, match="wrong passphrase"):
            key.open(broken)


def test_the_key_is_scrypt_as_rfc_7914_has_it() -> None:
    """RFC 7914 section 12, second vector: the library we trust the passphrase to."""
    import hashlib

    made = hashlib.scrypt(b"password", salt=b"NaCl", n=1024, r=8, p=16, dklen=64)
    assert made.hex().startswith("fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162")


def test_a_locked_store_gets_no_sheet_beside_it(tmp_path: Path, key: Key) -> None:
    RecordStore(tmp_path / "records.db", "s", lambda: 0.0).seal_all(key, SALT)
    kept = KeptRecords(tmp_path / "sheets", tmp_path / "records.db", "s", lambda: 0.0, key)
    kept.write(served())
    assert kept.card("Quillfeather").visits == 1
    assert not (tmp_path / "sheets").exists()
    assert plain_in(tmp_path) == set()


def test_records_and_sheets_are_for_nobody_else_to_read(tmp_path: Path) -> None:
    kept = KeptRecords(tmp_path / "a" / "sheets", tmp_path / "a" / "r.db", "s", lambda: 0.0)
    kept.write(served())
    store = RecordStore(tmp_path / "a" / "r.db", "s", lambda: 0.0)
    store.write(served())  # so that there is a log, too
    files = [file for file in (tmp_path / "a").rglob("*") if file.is_file()]
    assert {file.suffix for file in files} >= {".db", ".db-wal", ".md"}
    assert {stat.S_IMODE(file.stat().st_mode) for file in files} == {0o600}
    assert stat.S_IMODE((tmp_path / "a" / "sheets").stat().st_mode) == 0o700


def test_a_store_with_open_rights_is_closed_when_it_is_opened(tmp_path: Path) -> None:
    RecordStore(tmp_path / "r.db", "s", lambda: 0.0).close()
    (tmp_path / "r.db").chmod(0o644)
    RecordStore(tmp_path / "r.db", "s", lambda: 0.0).close()
    assert stat.S_IMODE((tmp_path / "r.db").stat().st_mode) == 0o600
