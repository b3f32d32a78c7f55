"""D11: 72 hours of a full salon without a break, on the virtual machine; memory and calls.

The two-hour soak in real time is not part of this: it needs a machine of its own.
"""

from __future__ import annotations

import os
from pathlib import Path

from tests.proof.d9 import Found, look, read_book
from tests.proof.day import FOLDER, Day
from tests.proof.outcome import Outcome

PAGE_KIB = os.sysconf("SC_PAGE_SIZE") // 1024
PER_HEAD_KIB = 256.0  # pass mark: what a finished head may leave behind in memory


def prove(short: bool = False) -> list[Outcome]:
    """Short: two hours. The journal, which here lies in memory, is not counted."""
    hours = 2 if short else 72
    day = Day(read_book(), 1)
    samples: list[tuple[int, float]] = []
    for part in (1, 2, 3):
        day.machine.at(part * hours * 1200.0 - 1, lambda: samples.append(_sample(day)))
    day.run(hours * 3600.0)
    found = Found()
    look(day, 1, found, hours * 3600.0)
    called = [each for each in found.outcomes() if each.trials]  # nobody is away here
    return [*called, _memory(samples)]


def _sample(day: Day) -> tuple[int, float]:
    """Heads so far, and KiB of memory without the disk that is in memory."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    journal = day.disk.read(FOLDER / "session-000001.journal")
    return len(day.salon.history), pages * PAGE_KIB - 2 * len(journal) / 1024


def _memory(samples: list[tuple[int, float]]) -> Outcome:
    outcome = Outcome("memory per finished head")
    (heads, before), (more, after) = samples[0], samples[-1]
    each = (after - before) / max(1, more - heads)
    outcome.check(each <= PER_HEAD_KIB, f"{each:.1f} KiB")
    outcome.notes = f"{each:.1f} KiB; {before / 1024:.0f} -> {after / 1024:.0f} MiB, {more} heads"
    return outcome
