"""Restart after a whole day: how long until calls are made again, and the day's records written?"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from assistant.core.events import Resumed, Say
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.edges.clock import VirtualClock
from assistant.edges.journal import Journal
from assistant.edges.kept_records import KeptRecords
from assistant.hub import Hub
from tests.proof.d9 import read_book
from tests.proof.day import CHAIRS, FOLDER, Day
from tests.proof.outcome import Outcome
from tests.proof.stand_ins import NoEars

BACK = 5.0  # seconds until calls are made again
AWAY = 1800.0  # seconds: whatever is on is over its limit by then


class _Voice:
    """Notes when the first call is made."""

    def __init__(self) -> None:
        self.called_at: tuple[float, float] | None = None

    def say(self, say: Say, text: str) -> None:
        """Only calls count, and of these the first after the restart."""
        if say.call and self.called_at is None:
            self.called_at = _times()

    def unsay(self, unsay: object) -> None:
        """Nothing waits here."""


def prove(short: bool = False) -> list[Outcome]:
    """A day of 24 h (short: three) of eight busy chairs on the disk, then the program is back."""
    hours = 3 if short else 24
    day = Day(read_book(), seed=0)
    day.run(hours * 3600.0)
    outcome = Outcome(f"calls within {BACK:.0f} s of processor time, a day of {hours} h")
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "session-000001.journal"
        path.write_bytes(day.disk.read(FOLDER / path.name))
        _restart(path, outcome)
    return [outcome]


def _restart(path: Path, outcome: Outcome) -> None:
    book, clock, voice, began = read_book(), VirtualClock(), _Voice(), _times()
    journal, records, _ = Journal.open(path, clock.moment, reserve=0)
    read = _times()
    hub = Hub(
        Salon(book.words, book.recipes, CHAIRS, SalonRule()),
        book.phrases,
        clock=clock,
        journal=journal,
        voice=voice,
        ears=NoEars(),
        records=KeptRecords(path.parent / "sheets", path.parent / "records.db", "s", time.time),
    )
    hub.replay([record.event for record in records])
    voice.called_at = None
    hub.handle(Resumed(records[-1].event.at + AWAY, AWAY, certain=True))
    called = voice.called_at
    outcome.check(called is not None and called[0] - began[0] <= BACK, f"{called} from {began}")
    hub.stop()
    hub.run()
    ended = _times()
    journal.close()
    outcome.check(hub.failures == 0, f"{hub.failures} events failed")
    spans = {"read": read, "first call": called or ended, "records": ended}
    told = [f"{what} {at[0] - began[0]:.1f} ({at[1] - began[1]:.1f})" for what, at in spans.items()]
    kept = len(list(path.parent.glob("sheets/*")))
    outcome.notes = (
        f"{len(records)} events, {kept} records; "
        f"seconds of processor (wall) from the start to: {', '.join(told)}"
    )


def _times() -> tuple[float, float]:
    """Seconds of this process on a processor, and on the wall."""
    return time.process_time(), time.monotonic()
