"""D2: the program is killed, or the power goes, at every single call to the disk."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from random import Random

from assistant.core.events import Event
from assistant.edges.faulty_files import Fault, FaultyFiles, PowerCut, Survives
from assistant.edges.journal import Journal, latest
from tests.proof.outcome import Outcome
from tests.proof.service import FOLDER, Writer, afternoon

Scene = Callable[[Writer], None]
TORN = (0, 1, 37, 10_000)


def prove(short: bool = False) -> list[Outcome]:
    """A session from its first file on, and one that has to mend a damaged journal first."""
    scenes: list[tuple[str, Scene, Callable[[], FaultyFiles]]] = [
        ("new session", _new_session, FaultyFiles),
        ("resume a damaged one", _resume_damaged, _damaged_disk),
    ]
    return [_every_call(*scene, seeds=2 if short else 40) for scene in scenes]


def _new_session(writer: Writer) -> None:
    writer.create()
    writer.keep(afternoon(12))


def _damaged_disk() -> FaultyFiles:
    """A journal of twelve events, the last of them torn."""
    writer = Writer(FaultyFiles())
    _new_session(writer)
    assert writer.journal is not None
    whole = writer.files.read(writer.journal.path)
    handle = writer.files.open(writer.journal.path, new=False)
    writer.files.truncate(handle, len(whole) - 20)
    writer.files.sync(handle)
    assert isinstance(writer.files, FaultyFiles)
    return writer.files.survivor("synced")


def _resume_damaged(writer: Writer) -> None:
    path = latest(FOLDER, writer.files)
    assert path is not None
    writer.torn_off = writer.files.read(path).rpartition(b"\n")[2]
    writer.journal, records, _ = Journal.open(path, writer.moment, writer.files, 512)
    writer.offered = [record.event for record in records]
    writer.acknowledged = list(writer.offered)
    writer.keep(afternoon(16)[len(records) :])


def _every_call(name: str, scene: Scene, disk: Callable[[], FaultyFiles], seeds: int) -> Outcome:
    outcome = Outcome(name)
    clean = disk()
    scene(Writer(clean))
    for nth in range(1, len(clean.calls) + 1):
        for torn in TORN if clean.calls[nth - 1] == "write" else (0,):
            for survives, seed in _ends(seeds):
                files = disk()
                files.fault = Fault(nth, nth, torn=torn)
                where = f"call {nth} ({clean.calls[nth - 1]}), torn {torn}, {survives}, seed {seed}"
                _crash_and_look(scene, files, (survives, seed), (outcome, where))
    outcome.notes = f"{len(clean.calls)} boundaries"
    return outcome


def _ends(seeds: int) -> list[tuple[Survives, int]]:
    some: list[tuple[Survives, int]] = [("some", seed) for seed in range(seeds)]
    return [("everything", 0), ("synced", 0), *some]


def _crash_and_look(
    scene: Scene, files: FaultyFiles, end: tuple[Survives, int], report: tuple[Outcome, str]
) -> None:
    outcome, where = report
    writer = Writer(files)
    try:
        scene(writer)
    except PowerCut:
        pass
    else:
        outcome.check(False, f"{where}: nothing was cut")
        return
    problem = recovered_wrongly(files.survivor(end[0], Random(end[1])), writer)
    outcome.check(not problem, f"{where}: {problem}")


def recovered_wrongly(files: FaultyFiles, before: Writer) -> str:
    """Why the session cannot be gone on with as promised; "" if it can."""
    path = latest(FOLDER, files)
    if path is None:
        return "acknowledged events without a journal" if before.acknowledged else ""
    after = Writer(files)
    after.journal, records, damage = Journal.open(path, after.moment, files, 512)
    found = [record.event for record in records]
    if found[: len(before.acknowledged)] != before.acknowledged:
        return f"{len(before.acknowledged)} acknowledged, {len(found)} found"
    if before.offered and found != before.offered[: len(found)]:
        return "phantom event"
    if damage and not damage.aside:
        return "damaged bytes were not kept"
    everything = [files.read(FOLDER / name) for name in files.names(FOLDER)]
    if not any(before.torn_off in content for content in everything):
        return "damaged bytes are gone"
    return _goes_on(after, found, path)


def _goes_on(after: Writer, found: list[Event], path: Path) -> str:
    """New events follow the old ones, and the next opening finds no damage."""
    assert after.journal is not None
    after.keep(afternoon(3, seed=9))
    after.journal.close()
    journal, records, damage = Journal.open(path, after.moment, after.files, 512)
    journal.close()
    if damage:
        return f"damage after mending: {damage.line()}"
    again = [record.event for record in records]
    return "" if again == [*found, *after.acknowledged] else "events lost after mending"
