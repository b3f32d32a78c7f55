"""D3: the journal is cut off at every byte, and every byte of its last records is changed."""

from __future__ import annotations

from pathlib import Path

from assistant.core.events import Event
from assistant.edges.faulty_files import FaultyFiles
from assistant.edges.journal import Journal
from assistant.edges.journal_lines import scan
from tests.proof.outcome import Outcome
from tests.proof.service import FOLDER, Writer, afternoon

PATH = FOLDER / "session-000001.journal"


def prove(short: bool = False) -> list[Outcome]:
    """The last three records: cut at every byte, every byte changed. Long: the whole file too."""
    raw, events = _written(8 if short else 12)
    last = len(raw) - sum(map(len, raw.splitlines(keepends=True)[-3:]))
    if short:
        return [_cuts(raw, events, last), _changes("every byte changed", raw, events, (last, (1,)))]
    bits = tuple(1 << bit for bit in range(8))
    return [
        _cuts(raw, events, 0),
        _changes("every bit of the file changed", raw, events, (0, bits)),
        _changes("last three, every other value", raw, events, (last, tuple(range(1, 256)))),
    ]


def _written(count: int) -> tuple[bytes, list[Event]]:
    writer = Writer(FaultyFiles())
    writer.create()
    writer.keep(afternoon(count))
    return writer.files.read(PATH), writer.acknowledged


def _whole_before(raw: bytes, place: int) -> int:
    """How many records end before this byte."""
    return raw[:place].count(b"\n")


def _cuts(raw: bytes, events: list[Event], start: int) -> Outcome:
    outcome = Outcome("cut off at every byte")
    for size in range(start, len(raw)):
        kept = _whole_before(raw, size)
        problem = _opened_wrongly(
            raw[:size], events[:kept], torn=raw[:size][-1:] not in (b"\n", b"")
        )
        outcome.check(not problem, f"cut at {size}: {problem}")
    return outcome


def _opened_wrongly(content: bytes, events: list[Event], torn: bool) -> str:
    """Opening for good: what it finds, what it keeps aside, and that it goes on."""
    files = FaultyFiles()
    handle = files.open(PATH, new=True)
    files.write(handle, content, 0)
    writer = Writer(files)
    journal, records, damage = Journal.open(PATH, writer.moment, files, 0)
    if [record.event for record in records] != events:
        return f"{len(records)} records instead of {len(events)}"
    if (damage is not None) != torn:
        return f"damage reported: {damage}"
    if damage and (damage.aside is None or content[-damage.size :] != files.read(damage.aside)):
        return "damaged bytes not kept aside"
    journal.append(events[0] if events else afternoon(1)[0])
    after, trouble = scan(files.read(PATH), Path("again"))
    return "" if len(after) == len(events) + 1 and not trouble else "does not go on"


def _changes(
    name: str, raw: bytes, events: list[Event], where: tuple[int, tuple[int, ...]]
) -> Outcome:
    outcome = Outcome(name)
    start, changes = where
    for place in range(start, len(raw)):
        expected = events[: _whole_before(raw, place)]
        for change in changes:
            changed = bytearray(raw)
            changed[place] ^= change
            records, damage = scan(bytes(changed[: _next_end(raw, place)]), PATH)
            right = [record.event for record in records] == expected and damage is not None
            outcome.check(right, f"byte {place} ^ {change}: {len(records)} records, {damage}")
        if not outcome.trials % 7:  # the slower way through the disk for some of them
            problem = _opened_wrongly(bytes(changed), expected, torn=True)
            outcome.check(not problem, f"byte {place}, opened: {problem}")
    return outcome


def _next_end(raw: bytes, place: int) -> int:
    """End of the record after the changed one: later ones cannot matter, and cost time."""
    end = raw.find(b"\n", place) + 1
    return raw.find(b"\n", end) + 1 or len(raw)
