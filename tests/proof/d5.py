"""D5: the disk is full, broken, read-only or not ours, from the n-th call on, for every n."""

from __future__ import annotations

import errno

from assistant.edges.faulty_files import Fault, FaultyFiles
from assistant.edges.journal import Journal, latest
from tests.proof.outcome import Outcome
from tests.proof.service import FOLDER, Writer, afternoon

REFUSALS = (errno.ENOSPC, errno.EIO, errno.EROFS, errno.EACCES, errno.EDQUOT)
FOREVER = 10**9


def prove(short: bool = False) -> list[Outcome]:
    """Each refusal at each call: once, for five calls, and until the disk is mended."""
    lasting = (1, FOREVER) if short else (1, 2, 5, FOREVER)
    outcomes = [_every_call(number, lasting, 6 if short else 12) for number in REFUSALS]
    return [*outcomes, _slowly_full()]


def _every_call(number: int, lasting: tuple[int, ...], events: int) -> Outcome:
    outcome = Outcome(errno.errorcode[number])
    clean = FaultyFiles()
    _session(Writer(clean), events)
    for nth in range(1, len(clean.calls) + 1):
        for length in lasting:
            for torn in (0, 25):
                files = FaultyFiles(Fault(nth, nth + length - 1, number, torn))
                writer = Writer(files)
                problem = _refused_wrongly(writer, files, events)
                outcome.check(not problem, f"call {nth} for {length}, torn {torn}: {problem}")
    outcome.notes = f"{len(clean.calls)} calls"
    return outcome


def _session(writer: Writer, events: int) -> None:
    writer.create()
    if writer.journal:
        writer.keep(afternoon(events))


def _refused_wrongly(writer: Writer, files: FaultyFiles, events: int) -> str:
    """The writer must get through whole, be told, and have everything on disk once mended."""
    _session(writer, events)
    if any("\n" in line for line in writer.refusals):
        return "a refusal of more than one line"
    told = bool(writer.refusals or (writer.journal and writer.journal.trouble))
    lost = writer.journal is not None and len(writer.acknowledged) < len(writer.offered)
    if lost and not told:
        return "silent"
    files.fault = None
    if writer.journal is None:
        writer.create()
        writer.keep(afternoon(events))
    return _not_mended(writer)


def _not_mended(writer: Writer) -> str:
    assert writer.journal is not None
    if not writer.journal.retry() or writer.journal.pending:
        return "retry did not succeed on a mended disk"
    writer.journal.close()
    path = latest(FOLDER, writer.files)
    assert path is not None
    _, records, damage = Journal.open(path, writer.moment, writer.files, 512)
    if damage:
        return f"damage: {damage.line()}"
    if [record.event for record in records] != writer.offered:
        return f"{len(records)} records of {len(writer.offered)} events"
    return ""


def _slowly_full() -> Outcome:
    """A disk of every small size: first the reserve goes, then events wait, then all is written."""
    outcome = Outcome("disk fills up")
    for room in range(600, 6000, 50):
        files = FaultyFiles(room=room)
        writer = Writer(files)
        _session(writer, 30)
        journal = writer.journal
        if journal is None:
            outcome.check(bool(writer.refusals), f"room {room}: silent")
            continue
        told = bool(journal.trouble)
        outcome.check(told or not journal.pending, f"room {room}: pending and silent")
        files.room = None
        problem = _not_mended(writer)
        outcome.check(not problem, f"room {room}: {problem}")
    return outcome
