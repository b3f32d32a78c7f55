"""Does the journal keep every event, and say plainly when it cannot?"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zlib
from pathlib import Path

import pytest

from assistant.core.events import EVENTS, ClockDue, Event, SessionStarted, decode, encode
from assistant.core.moment import Moment
from assistant.edges.clock import VirtualClock
from assistant.edges.faulty_files import FaultyFiles
from assistant.edges.files import SystemFiles
from assistant.edges.journal import Journal, latest, read
from assistant.edges.journal_lines import Record, line_of, scan
from assistant.errors import StoreError
from tests.proof.service import afternoon

CLOCK = VirtualClock()
EVENTS_TOLD = afternoon(20)


def _kept(folder: Path, events: list[Event]) -> Path:
    journal = Journal.create(folder, CLOCK.moment, reserve=0)
    for event in events:
        journal.append(event)
    journal.close()
    return journal.path


def test_the_invented_afternoon_has_every_event_class() -> None:
    assert {type(event).__name__ for event in EVENTS_TOLD} == set(EVENTS)


@pytest.mark.parametrize("event", EVENTS_TOLD, ids=lambda event: type(event).__name__)
def test_an_event_comes_back_as_it_was(event: Event) -> None:
    record = Record(1, CLOCK.moment(), event)
    assert scan(line_of(record), Path("x")) == ((record,), None)
    assert decode(json.loads(json.dumps(encode(event)))) == event


def test_a_reopened_journal_gives_its_events_and_goes_on(tmp_path: Path) -> None:
    path = _kept(tmp_path, EVENTS_TOLD)
    journal, records, damage = Journal.open(path, CLOCK.moment)
    assert [record.event for record in records] == EVENTS_TOLD
    assert damage is None
    assert journal.append(ClockDue(9999.0)).sequence == len(EVENTS_TOLD) + 1
    journal.close()
    assert len(read(path)[0]) == len(EVENTS_TOLD) + 1


def test_an_event_is_on_the_disk_when_append_returns(tmp_path: Path) -> None:
    journal = Journal.create(tmp_path, CLOCK.moment, reserve=0)
    for count, event in enumerate(EVENTS_TOLD, 1):
        journal.append(event)
        assert len(read(journal.path)[0]) == count


def test_every_append_syncs_after_writing() -> None:
    files = FaultyFiles()
    journal = Journal.create(Path("salon"), CLOCK.moment, files, reserve=0)
    files.calls.clear()
    journal.append(EVENTS_TOLD[0])
    assert files.calls[:2] == ["write", "sync"]


def test_a_record_carries_every_reading_of_time(tmp_path: Path) -> None:
    moment = Moment(12.5, 1_767_254_412.5, 99.25, "a boot", rtc=False)
    journal = Journal.create(tmp_path, lambda: moment, reserve=0)
    journal.append(EVENTS_TOLD[0])
    assert read(journal.path)[0][0].moment == moment


def test_only_the_owner_may_read_it(tmp_path: Path) -> None:
    old = os.umask(0)
    try:
        path = _kept(tmp_path / "salon", EVENTS_TOLD[:1])
    finally:
        os.umask(old)
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.parent.stat().st_mode & 0o777 == 0o700


def test_journals_are_numbered_and_the_latest_is_found(tmp_path: Path) -> None:
    assert latest(tmp_path / "nowhere") is None
    first, second = _kept(tmp_path, EVENTS_TOLD[:1]), _kept(tmp_path, EVENTS_TOLD[:2])
    assert (first.name, second.name) == ("session-000001.journal", "session-000002.journal")
    assert latest(tmp_path) == second


def test_a_second_session_in_the_same_folder_is_refused(tmp_path: Path) -> None:
    journal = Journal.create(tmp_path, CLOCK.moment)
    with pytest.raises(StoreError, match="another session is running"):
        Journal.create(tmp_path, CLOCK.moment)
    with pytest.raises(StoreError, match="another session is running"):
        Journal.open(journal.path, CLOCK.moment)
    journal.close()
    Journal.open(journal.path, CLOCK.moment)[0].close()


def test_a_second_process_is_refused(tmp_path: Path) -> None:
    journal = Journal.create(tmp_path, CLOCK.moment)
    program = (
        "import sys; from pathlib import Path; from assistant.edges.journal import Journal\n"
        "from assistant.edges.clock import VirtualClock\n"
        "Journal.create(Path(sys.argv[1]), VirtualClock().moment)"
    )
    other = [sys.executable, "-c", program, str(tmp_path)]
    done = subprocess.run(other, capture_output=True, text=True, check=False)
    assert "another session is running" in done.stderr
    journal.close()
    assert subprocess.run(other, capture_output=True, check=False).returncode == 0


def test_a_newer_version_is_refused_and_left_whole(tmp_path: Path) -> None:
    path = _kept(tmp_path, EVENTS_TOLD[:2])
    body = json.dumps({"v": 2, "n": 3, "moment": {}, "event": {}}).encode()
    with path.open("ab") as journal:
        journal.write(b"%08x %b\n" % (zlib.crc32(body), body))
    before = path.read_bytes()
    with pytest.raises(StoreError, match=r"record 3 is from another version .*version 2"):
        Journal.open(path, CLOCK.moment)
    assert path.read_bytes() == before


@pytest.mark.parametrize("change", [{"event": "Cast"}, {"event": "Heard", "at": 1.0, "loud": 3}])
def test_an_unknown_event_or_field_is_refused_and_left_whole(
    tmp_path: Path, change: dict[str, object]
) -> None:
    path = _kept(tmp_path, EVENTS_TOLD[:2])
    content = json.loads(path.read_bytes().splitlines()[0].split(b" ", 1)[1])
    body = json.dumps(content | {"n": 3, "event": change}).encode()
    with path.open("ab") as journal:
        journal.write(b"%08x %b\n" % (zlib.crc32(body), body))
    with pytest.raises(StoreError, match="from another version"):
        Journal.open(path, CLOCK.moment)


def test_a_record_missing_in_the_middle_is_damage(tmp_path: Path) -> None:
    path = _kept(tmp_path, EVENTS_TOLD[:5])
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:2] + lines[3:]))
    _, records, damage = Journal.open(path, CLOCK.moment)
    assert [record.event for record in records] == EVENTS_TOLD[:2]
    assert damage is not None
    assert damage.aside is not None
    assert damage.aside.read_bytes() == b"".join(lines[3:])
    assert "damaged record after record 2" in damage.line()


def test_two_damages_are_kept_in_two_files(tmp_path: Path) -> None:
    path = _kept(tmp_path, EVENTS_TOLD[:3])
    for _ in range(2):
        with path.open("ab") as journal:
            journal.write(b"torn")
        Journal.open(path, CLOCK.moment)[0].close()
    asides = sorted(each.name for each in tmp_path.glob("*.damaged*"))
    assert asides == ["session-000001.journal.damaged", "session-000001.journal.damaged1"]


def test_an_empty_file_has_no_records_and_no_damage(tmp_path: Path) -> None:
    """The power went between making the file and its first record."""
    path = tmp_path / "session-000001.journal"
    path.touch()
    journal, records, damage = Journal.open(path, CLOCK.moment)
    assert (records, damage) == ((), None)
    journal.append(SessionStarted(0.0, 0.0, 1, ()))


@pytest.mark.parametrize(
    ("place", "line"),
    [
        (lambda path: path / "missing.journal", "no such file or folder"),
        (lambda path: path / "a file" / "salon", "a file stands where a folder is needed"),
    ],
)
def test_a_wrong_path_is_one_line(tmp_path: Path, place: object, line: str) -> None:
    (tmp_path / "a file").touch()
    path = place(tmp_path)  # type: ignore[operator] # a lambda above
    with pytest.raises(StoreError, match=line) as caught:
        Journal.open(path, CLOCK.moment)
    assert "\n" not in str(caught.value)


def test_a_journal_deleted_while_in_use_is_said(tmp_path: Path) -> None:
    journal = Journal.create(tmp_path, CLOCK.moment, reserve=0)
    journal.append(EVENTS_TOLD[0])
    journal.path.unlink()
    with pytest.raises(StoreError, match="deleted while in use"):
        journal.append(EVENTS_TOLD[1])
    assert len(journal.pending) == 1
    assert journal.trouble


class _SmallFiles(SystemFiles):
    """The real disk, taking a few bytes at a time."""

    def write(self, handle: int, content: bytes, offset: int) -> int:
        return super().write(handle, content[:7], offset)


def test_a_disk_that_takes_a_few_bytes_at_a_time(tmp_path: Path) -> None:
    journal = Journal.create(tmp_path, CLOCK.moment, _SmallFiles(), reserve=0)
    for event in EVENTS_TOLD:
        journal.append(event)
    assert [record.event for record in read(journal.path)[0]] == EVENTS_TOLD


def test_a_real_disk_quota_waits_and_is_then_written(tmp_path: Path) -> None:
    """A limit of the system on file size stands for a full disk (EFBIG)."""
    program = """
import resource, sys
from pathlib import Path
from assistant.core.events import ClockDue
from assistant.edges.clock import VirtualClock
from assistant.edges.journal import Journal, read
from assistant.errors import StoreError
journal = Journal.create(Path(sys.argv[1]), VirtualClock().moment, reserve=0)
hard = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, hard))
refused = 0
for n in range(20):
    try:
        journal.append(ClockDue(float(n)))
    except StoreError:
        refused += 1
whole = len(read(journal.path)[0])
assert refused and whole == 20 - refused == 20 - len(journal.pending), (refused, whole)
resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
assert journal.retry()
records, damage = read(journal.path)
assert [r.event.at for r in records] == [float(n) for n in range(20)] and damage is None
"""
    command = [sys.executable, "-c", program, str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
