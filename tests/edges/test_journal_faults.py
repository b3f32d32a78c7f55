"""Does the journal survive a failing disk? Short D2 to D5; long: `python -m tests.proof d2`."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from assistant.edges.clock import VirtualClock
from assistant.edges.faulty_files import Fault, FaultyFiles
from assistant.edges.journal import Journal
from assistant.errors import StoreError
from tests.proof import d2, d3, d4, d5
from tests.proof.outcome import Outcome, table
from tests.proof.service import afternoon


def _holds(outcomes: list[Outcome]) -> None:
    assert all(each.trials for each in outcomes)
    assert not any(each.failures for each in outcomes), table(outcomes)


def test_killed_or_unplugged_at_every_call() -> None:
    _holds(d2.prove(short=True))


def test_cut_off_at_every_byte_and_every_byte_changed() -> None:
    _holds(d3.prove(short=True))


def test_unsynced_writes_are_lost() -> None:
    _holds(d4.prove(short=True))


def test_refused_at_every_call() -> None:
    _holds(d5.prove(short=True))


class _NeverSynced(FaultyFiles):
    """A disk that says it has synced and has not."""

    def sync(self, handle: int) -> None:
        self._call("sync")


def test_the_proof_notices_a_disk_that_lies(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(d4, "FaultyFiles", _NeverSynced)
    assert any(each.failures for each in d4.prove(short=True))


@pytest.mark.parametrize(
    ("number", "line"),
    [
        (errno.ENOSPC, "the disk is full: free some space"),
        (errno.EROFS, "the disk is read-only"),
        (errno.EIO, "the disk reports an error"),
        (errno.EACCES, "not permitted"),
        (errno.EMFILE, "Too many open files"),
    ],
)
def test_a_refusal_is_one_line_that_says_what_to_do(number: int, line: str) -> None:
    files = FaultyFiles(Fault(1, 10**9, number, only="sync"))
    files.fault = None
    journal = Journal.create(Path("salon"), VirtualClock().moment, files, reserve=0)
    files.calls.clear()
    files.fault = Fault(1, 1, number, only="sync")
    with pytest.raises(StoreError, match=line):
        journal.append(afternoon(1)[0])
    assert line in journal.trouble
    assert journal.retry()
    assert not journal.trouble
    assert not journal.pending


def test_the_reserve_takes_the_last_events_of_a_full_disk() -> None:
    files = FaultyFiles(room=3000)
    journal = Journal.create(Path("salon"), VirtualClock().moment, files, reserve=2500)
    for event in afternoon(6):
        journal.append(event)  # more than the 500 bytes left, so the reserve is given up
    assert "the reserve is in use" in journal.trouble
    assert not journal.pending
    files.room = None
    assert journal.retry()
    assert not journal.trouble
