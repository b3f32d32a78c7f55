"""How does one record lie in a journal, and which of a file's lines can be trusted?

One line per record: CRC32, then JSON with version, sequence, moment and event; ASCII only.
Trusted is the longest run of whole lines from the start: a session with a hole in it would
show clocks that never were.
"""

from __future__ import annotations

import json
import math
import zlib
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, get_type_hints

from assistant.core.events import Event, decode, encode
from assistant.core.moment import Moment
from assistant.errors import StoreError

VERSION = 1
_READINGS = get_type_hints(Moment)
_NOT_OURS = (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError)


@dataclass(frozen=True, slots=True)
class Record:
    """One event with its place in the session and the readings of time when it was kept."""

    sequence: int
    moment: Moment
    event: Event


@dataclass(frozen=True, slots=True)
class Damage:
    """What could not be read and was cut off."""

    path: Path
    after: int  # records kept before it
    size: int  # bytes cut off
    reason: str
    aside: Path | None = None  # where those bytes lie now

    def line(self) -> str:
        """One line for people."""
        where = f", kept in {self.aside.name}" if self.aside else ""
        return (
            f"{self.path.name}: {self.reason} after record {self.after}; "
            f"{self.size} bytes cut off{where}. Check every clock by eye."
        )


def line_of(record: Record) -> bytes:
    """A record as the journal writes it."""
    body = json.dumps(
        {
            "v": VERSION,
            "n": record.sequence,
            "moment": asdict(record.moment),
            "event": encode(record.event),
        },
        separators=(",", ":"),
    ).encode("ascii")
    return b"%08x %b\n" % (zlib.crc32(body), body)


def scan(raw: bytes, path: Path) -> tuple[tuple[Record, ...], Damage | None]:
    """The whole records at the start of a file, and what is wrong with the rest, if anything.

    A record that is whole but from a newer version is no damage: `StoreError`, nothing is cut.
    """
    records: list[Record] = []
    place = 0
    while place < len(raw):
        end = raw.find(b"\n", place)
        body = _whole(raw[place:end]) if end >= 0 else None
        if body is None or body["n"] != len(records) + 1:
            reason = "torn end" if end < 0 else "damaged record"
            return tuple(records), Damage(path, len(records), len(raw) - place, reason)
        records.append(_record(body, path))
        place = end + 1
    return tuple(records), None


def _whole(line: bytes) -> dict[str, Any] | None:
    """The content of a line whose checksum is right; None for any other line."""
    checksum, _, body = line.partition(b" ")
    if checksum != b"%08x" % zlib.crc32(body):
        return None
    try:
        content = json.loads(body)
    except (ValueError, RecursionError):
        return None
    return content if isinstance(content, dict) and type(content.get("n")) is int else None


def _record(body: dict[str, Any], path: Path) -> Record:
    try:
        if body["v"] != VERSION:
            raise ValueError(f"version {body['v']}")
        return Record(body["n"], _moment(body["moment"]), decode(body["event"]))
    except _NOT_OURS as error:
        raise StoreError(
            f"{path}: record {body['n']} is from another version of the program "
            f"({ascii(str(error)[:200])[1:-1]}): "
            "open it with that version, or move the file away to start anew"
        ) from error


def _moment(plain: dict[str, Any]) -> Moment:
    """A moment whose readings are what they should be: the rules count with them."""
    return Moment(**{name: _reading(name, _READINGS[name], plain[name]) for name in plain})


def _reading(name: str, kind: type, value: Any) -> Any:
    """JSON has no int/float difference, and Python's has numbers that are none."""
    if kind is float and type(value) in (int, float) and math.isfinite(float(value)):
        return float(value)
    if type(value) is not kind or kind is float:
        raise ValueError(f"{name} is {value!r}")
    return value
