"""D6: somebody sets the clock while deadlines are waited for; none may come early or late."""

from __future__ import annotations

import queue
from collections.abc import Callable
from functools import partial
from random import Random

from assistant.edges.clock import SystemClock
from assistant.edges.simulated_machine import SimulatedMachine
from tests.proof.outcome import Outcome

STEPS = {
    "1 s": 1.0,
    "262 s": 262.0,
    "1 h (both changes to and from summer time)": 3600.0,
    "1 day": 86_400.0,
}
MOST_SECONDS = 1.0  # pass mark; the clock itself ticks every quarter of a second


def prove(short: bool = False) -> list[Outcome]:
    """Three hours of deadlines per trial, with restarts of the program in between."""
    trials = 2 if short else 60
    outcomes = []
    for name, size in STEPS.items():
        outcomes.append(_trials(name, trials, partial(_either_way, size)))
    outcomes.append(_trials("year 1970", trials, lambda m, r: m.set_utc(r.random() * 1e5)))
    outcomes.append(_trials("exponential to 262 s", trials, _exponential))
    outcomes.append(_trials("strobe", trials, _strobe))
    return outcomes


def _either_way(size: float, machine: SimulatedMachine, rng: Random) -> None:
    machine.step_utc(rng.choice((size, -size)))


def _exponential(machine: SimulatedMachine, rng: Random) -> None:
    machine.step_utc(rng.choice((-1, 1)) * min(262.0, 2 ** (rng.random() * 8.1)))


def _strobe(machine: SimulatedMachine, rng: Random) -> None:
    """Forward and back five times a second for half a minute."""
    for nth in range(150):
        step = partial(machine.step_utc, 200.0 if nth % 2 else -200.0)
        machine.at(machine.true + nth * 0.2, step)


Step = Callable[[SimulatedMachine, Random], None]


def _trials(name: str, trials: int, step: Step) -> Outcome:
    outcome = Outcome(name)
    worst = 0.0
    for seed in range(trials):
        worst = max(worst, _three_hours(step, Random(seed), (outcome, f"seed {seed}")))
    outcome.notes = f"largest error {worst:.3f} s"
    return outcome


def _three_hours(step: Step, rng: Random, report: tuple[Outcome, str]) -> float:
    machine = SimulatedMachine()
    for _ in range(20):
        machine.at(rng.random() * 10_800, lambda: step(machine, rng))
    clock = SystemClock(machine.sources(), machine.get)
    inbox: queue.Queue[str] = queue.Queue()
    worst = due = 0.0
    while due < 10_800:
        due += rng.random() * 600
        if rng.random() < 0.2:
            clock = _restarted_program(clock, machine, rng)
        ready = max(due, machine.true)  # a deadline missed while away counts from our return
        clock.wait(inbox, due)
        error = max(abs(machine.true - ready), abs(clock.now() - machine.true))
        early_or_late = f"{machine.true - ready:+.3f} s at {due:.0f}, reads {clock.now():.3f}"
        report[0].check(error <= MOST_SECONDS, f"{report[1]}: {early_or_late}")
        worst = max(worst, error)
    return worst


def _restarted_program(clock: SystemClock, machine: SimulatedMachine, rng: Random) -> SystemClock:
    last = clock.moment()
    machine.true += rng.random() * 20
    other = SystemClock(machine.sources(), machine.get)
    if not other.resume(last).certain:
        raise AssertionError("the same boot is certain")
    return other
