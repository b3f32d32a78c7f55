"""The journal of a session, as a damaged disk, another version or a curious hand left it."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from pathlib import Path

from assistant.core.moment import Moment, away_between
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.edges.faulty_files import FaultyFiles
from assistant.edges.journal import Journal
from assistant.edges.journal_lines import Record, line_of, scan
from assistant.edges.word_files import load_commands
from assistant.errors import StoreError
from tests.core.recipes import TWO_ZONES
from tests.fuzz.limits import clear
from tests.proof.service import afternoon

PATH = Path("salon/session-000001.journal")
SEALED = b"="  # first byte: every line gets its right checksum, so that its content is read


def journal(data: bytes) -> None:
    """Only looked at, opened twice, and folded: a damaged end is cut off once and no more."""
    raw = sealed(data[1:]) if data.startswith(SEALED) else data
    try:
        records, damage = scan(raw, PATH)
    except StoreError as error:
        clear(error)
        return
    if b"".join(map(line_of, records)) != raw[: len(raw) - (damage.size if damage else 0)]:
        _same_when_written(records)
    if damage and not damage.line().isprintable():
        raise AssertionError(damage.line())
    _opened(raw, records)
    _folded(records)


def sealed(lines: bytes) -> bytes:
    """Every line with the checksum that it should have."""
    return b"".join(b"%08x %b\n" % (zlib.crc32(line), line) for line in lines.split(b"\n") if line)


def _same_when_written(records: tuple[Record, ...]) -> None:
    """JSON can be written in several ways; what was read must come back from our own."""
    again, damage = scan(b"".join(map(line_of, records)), PATH)
    if damage or repr(again) != repr(records):
        raise AssertionError("what was read is not what would be written")


def _opened(raw: bytes, records: tuple[Record, ...]) -> None:
    disk = FaultyFiles()
    disk.make_folder(PATH.parent)
    handle = disk.open(PATH, new=True)
    disk.write(handle, raw, 0)
    disk.close(handle)
    for expects_damage in (True, False):
        opened, found, damage = Journal.open(PATH, _moment, disk, 0)
        opened.close()
        if repr(found) != repr(records) or (damage and not expects_damage):
            raise AssertionError("opening changed what is there")


def _moment() -> Moment:
    return Moment(0.0, 0.0, 0.0, "boot")


def _folded(records: tuple[Record, ...]) -> None:
    """The rules take whatever the reader let through."""
    salon = Salon(load_commands(), {TWO_ZONES.name: TWO_ZONES}, 4, SalonRule())
    for record in records:
        if not away_between(record.moment, _moment()).seconds >= 0:
            raise AssertionError(f"away for no time at all: {record.moment}")
        salon.step(record.event)
        salon.next_moment()


def seeds() -> Iterator[bytes]:
    """An afternoon, whole and torn, and one whose checksums are mended afterwards."""
    lines = [
        line_of(Record(n, Moment(event.at, 1e9 + event.at, event.at, "boot"), event))
        for n, event in enumerate(afternoon(9), 1)
    ]
    yield b"".join(lines)
    yield b"".join(lines)[:-20]
    yield SEALED + b"\n".join(line[9:].rstrip() for line in lines)
