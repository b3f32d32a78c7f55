"""D8: the machine was off for up to an hour; does it know for how long, or say that it does not?

A real-time clock that is wrong by minutes only cannot be told from a right one by anybody
without another clock; those trials are counted in the notes, not hidden.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from random import Random

from assistant.edges.clock import SystemClock
from assistant.edges.simulated_machine import SimulatedMachine
from tests.proof.d9 import read_book
from tests.proof.day import Day
from tests.proof.outcome import Outcome
from tests.proof.staff import ZoneTruth

Wrong = Callable[[SimulatedMachine, Random], None]


def prove(short: bool = False) -> list[Outcome]:
    """Restarts after 0 to 60 minutes with a good, a bad and no real-time clock."""
    trials = 30 if short else 3000
    return [
        _trials("good clock", trials, lambda m, r: None, detected="never"),
        _trials("no real-time clock", trials, lambda m, r: None, detected="always", rtc=False),
        _trials("battery empty (1970)", trials, lambda m, r: m.set_utc(m.true), "always"),
        _trials("a day to ten years ahead", trials, _ahead, "always"),
        _trials("set back by hours", trials, lambda m, r: m.step_utc(-4000 - r.random() * 1e5)),
        _trials("wrong by up to 30 min", trials, _minutes, detected="sometimes"),
        _spoken(1 if short else 100),
    ]


def _spoken(trials: int) -> Outcome:
    """The whole program without a real-time clock: every head with product on is called out."""
    outcome = Outcome("doubt spoken within 5 s")
    book, longest = read_book(), 0.0
    for seed in range(trials):
        day = Day(book, seed, rtc=False)
        lost = Random(seed).uniform(1800, 4000)
        day.machine.at(lost, day.lose_power)
        day.run(7000)
        back = day.log.away[0][1]
        for chair, head in {(z.chair, z.head) for z in _on_at(day, lost)}:
            late = min((call - back for call in _doubts(day, chair, head)), default=9999.0)
            longest = max(longest, late)
            outcome.check(0 <= late <= 5, f"seed {seed}, chair {chair}: after {late:.1f} s")
    outcome.notes = f"longest {longest:.1f} s"
    return outcome


def _doubts(day: Day, chair: int, head: int) -> list[float]:
    """When a doubt about this head was spoken, whichever of its zones it named."""
    of_head = f"uncertain/{chair}/{head}/"
    return [at for key, calls in day.log.calls.items() if key.startswith(of_head) for at in calls]


def _on_at(day: Day, when: float) -> Iterator[ZoneTruth]:
    for person in day.staff:
        yield from (zone for zone in person.zones if zone.on < when < zone.rinsing)


def _ahead(machine: SimulatedMachine, rng: Random) -> None:
    machine.step_utc(86_400 + rng.random() * 3e8)


def _minutes(machine: SimulatedMachine, rng: Random) -> None:
    machine.step_utc((rng.random() * 2 - 1) * 1800)


def _trials(
    name: str, trials: int, wrong: Wrong, detected: str = "always", rtc: bool = True
) -> Outcome:
    outcome = Outcome(name)
    undetected = 0
    for seed in range(trials):
        rng = Random(seed)
        machine = SimulatedMachine(rtc=rtc)
        machine.true += rng.random() * 3000
        clock = SystemClock(machine.sources(), machine.get)
        machine.true += rng.random() * 3000
        last, left = clock.moment(), machine.true
        up = 5 + rng.random() * 90
        machine.restart(off_seconds=rng.random() * 3600, start_seconds=up)
        wrong(machine, rng)
        resumed = SystemClock(machine.sources(), machine.get).resume(last)
        error = resumed.away_seconds - (machine.true - left)
        undetected += resumed.certain and abs(error) > 1
        right = _as_expected(detected, resumed.certain, error)
        outcome.check(
            right and resumed.away_seconds >= up - 0.001,
            f"seed {seed}: {error:+.0f} s, certain {resumed.certain}",
        )
    outcome.notes = f"{undetected} believed and wrong by more than 1 s"
    return outcome


def _as_expected(detected: str, certain: bool, error: float) -> bool:
    if detected == "never":
        return certain and abs(error) <= 1
    if detected == "always":
        return not certain
    return True  # either is possible; away for less than we have been up is not
