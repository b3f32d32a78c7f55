"""D10: the processor is starved, in real time; are deadlines still met within two seconds?

The lost loudspeaker is told as an event; that it becomes a call is tested in tests/core.
"""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from random import Random

from assistant.core.events import ClockDue
from assistant.edges.clock import SystemClock
from assistant.edges.journal import Journal
from tests.proof.outcome import Outcome

MOST_SECONDS = 2.0


def prove(short: bool = False) -> list[Outcome]:
    """Real clock, real disk, four busy processes per processor: a minute of deadlines."""
    hogs = 4 * (os.cpu_count() or 1)
    with tempfile.TemporaryDirectory(prefix="d10-") as folder:
        busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(hogs)]
        try:
            outcome = _deadlines(Path(folder), 5.0 if short else 60.0)
        finally:
            for each in busy:
                each.kill()
                each.wait()
    outcome.name = f"deadlines beside {hogs} busy processes"
    return [outcome]


def _deadlines(folder: Path, seconds: float) -> Outcome:
    outcome, rng, worst = Outcome(""), Random(1), 0.0
    clock = SystemClock()
    journal = Journal.create(folder, clock.moment, reserve=0)
    inbox: queue.Queue[str] = queue.Queue()
    due = began = time.monotonic()
    while due - began < seconds:
        wait = rng.uniform(0.05, 1.5)
        due = time.monotonic() + wait
        clock.wait(inbox, clock.now() + wait)
        journal.append(ClockDue(clock.now()))
        late = time.monotonic() - due
        worst = max(worst, late)
        outcome.check(late >= -0.001 and late <= MOST_SECONDS, f"{late:.3f} s late")
    journal.close()
    outcome.notes = f"latest {worst:.3f} s, journal included"
    return outcome
