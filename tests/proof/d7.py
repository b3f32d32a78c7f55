"""D7: the laptop sleeps while limits pass; each must be noticed within a tick of waking."""

from __future__ import annotations

import queue
from functools import partial
from random import Random

from assistant.edges.clock import SystemClock
from assistant.edges.simulated_machine import SimulatedMachine
from tests.proof.outcome import Outcome

MOST_SECONDS = 2.0  # after waking


def prove(short: bool = False) -> list[Outcome]:
    """Sleeps of ten seconds to two hours."""
    return [_sleeps(20 if short else 2000)]


def _sleeps(trials: int) -> Outcome:
    outcome = Outcome("deadline inside a sleep")
    worst = 0.0
    for seed in range(trials):
        rng = Random(seed)
        machine = SimulatedMachine()
        clock = SystemClock(machine.sources(), machine.get)
        asleep, length = rng.random() * 1000, 10 + rng.random() * 7190
        due = asleep + rng.random() * length
        machine.at(asleep, partial(machine.sleep, length))
        inbox: queue.Queue[str] = queue.Queue()
        answer = clock.wait(inbox, due)
        after_waking = machine.true - (asleep + length)
        told_late = clock.now() - due
        worst = max(worst, after_waking)
        outcome.check(
            answer is None
            and 0 <= after_waking <= MOST_SECONDS
            and abs(told_late - (machine.true - due)) < 0.01,
            f"seed {seed}: {after_waking:.2f} s after waking, said to be {told_late:.2f} s late",
        )
    outcome.notes = f"longest after waking {worst:.3f} s"
    return outcome
