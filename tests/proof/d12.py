"""D12: 1,000 random days of one to twelve chairs: no limit missed, one sentence at a time."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from itertools import pairwise
from random import Random

from assistant.core.events import Priority
from tests.proof.outcome import Outcome
from tests.proof.salon_day import Day, Zone, people_for

DAY = 8 * 3600.0
FIRST_SOUND = 10.0  # seconds: several limits of one moment are spoken one after another
WORDS_AGAIN = 40.5  # a limit is said in words at least so often, other chairs' between them
ANSWERED = 60.5  # and after "heard you" so often
LOAD = 1.0  # unasked calls a person in ten minutes, on average
LOAD_LATE = 3.0  # the same in mornings where every other head is rinsed too late


@dataclass(slots=True)
class Found:
    """What all days together came to."""

    most: float
    limits: Outcome = field(default_factory=lambda: Outcome("limits called in time"))
    again: Outcome = field(default_factory=lambda: Outcome("limits said again until the rinse"))
    overlaps: Outcome = field(default_factory=lambda: Outcome("one sentence at a time"))
    faults: Outcome = field(default_factory=lambda: Outcome("no event failed"))
    first: list[float] = field(default_factory=list)
    loads: dict[int, list[float]] = field(default_factory=dict)  # chairs -> one a day
    kinds: dict[str, int] = field(default_factory=dict)
    missed: int = 0
    said: int = 0

    def outcomes(self) -> list[Outcome]:
        """The table."""
        everyone = [load for loads in self.loads.values() for load in loads]
        load = Outcome(f"unasked calls a person in ten minutes, on average <= {self.most:g}")
        mean = sum(everyone) / len(everyone)
        load.check(mean <= self.most, f"{mean:.2f}")
        by_chairs = ", ".join(f"{n}: {sum(v) / len(v):.2f}" for n, v in sorted(self.loads.items()))
        load.notes = f"{mean:.2f}; by chairs {by_chairs}"
        self.limits.notes = f"first sound at most {max(self.first, default=0):.1f} s after it"
        self.overlaps.notes = ", ".join(f"{k} {n}" for k, n in sorted(self.kinds.items()))
        self.faults.notes = f"{self.missed} of {self.said} utterances fell into our own speech"
        return [self.limits, self.again, self.overlaps, load, self.faults]


def prove(short: bool = False) -> list[Outcome]:
    """Short: 6 mornings, many late. Long: `D12_DAYS` (1000) days of eight hours, few late.

    `D12_FIRST` is the seed of the first.
    """
    found = Found(LOAD_LATE if short else LOAD)
    first = 0 if short else int(os.environ.get("D12_FIRST", "0"))
    days = 6 if short else int(os.environ.get("D12_DAYS", "1000"))
    for seed in range(first, first + days):
        chairs = Random(seed).randint(1, 12)
        day = Day(chairs, seed, late=0.8 if short else 0.06)
        day.run(DAY / 3 if short else DAY)
        _look(day, chairs, seed, found)
    return found.outcomes()


def _look(day: Day, chairs: int, seed: int, found: Found) -> None:
    spoken = [s for s in day.voice.spoken if s.seconds]  # else it was cut before its first word
    for one, other in pairwise(spoken):
        ends = one.starts_at + one.seconds
        found.overlaps.check(
            other.starts_at >= ends - 1e-6, f"seed {seed}: {one.text!r} and {other.text!r}"
        )
    calls = [s for s in spoken if s.say.call and not s.say.tone_only]
    for each in calls:
        kind = each.say.call.split("/")[0]
        found.kinds[kind] = found.kinds.get(kind, 0) + 1
    load = len(calls) / people_for(chairs) / (day.ended_at / 600)
    found.loads.setdefault(chairs, []).append(load)
    for zone in day.zones:
        _limit(day, zone, f"seed {seed}, chair {zone.chair}, {zone.name}", found)
    found.faults.check(day.hub.failures == 0, f"seed {seed}: {day.hub.failures} events failed")
    found.missed += day.missed
    found.said += day.uttered


def _limit(day: Day, zone: Zone, where: str, found: Found) -> None:
    """A zone left in past its limit: called at once, and again until the rinse is said."""
    ended = min(zone.rinsing_at, day.ended_at)
    if ended < zone.limit_at + FIRST_SOUND:
        return
    key = f"limit/{zone.chair}/{zone.head}/{zone.name}"
    mine = [s for s in day.voice.spoken if key in s.say.call.split() and s.starts_at <= ended]
    words = [s.starts_at for s in mine if not s.say.tone_only]
    late = words[0] - zone.limit_at if words else float("inf")
    found.limits.check(0 <= late <= FIRST_SOUND, f"{where}: first words {late:.1f} s after it")
    if not words:
        return
    found.first.append(late)
    for before, after in pairwise([*words, ended]):
        # the words may have been on their way when somebody answered
        answered = any(before - FIRST_SOUND <= at <= after for at in day.heard_at)
        most = WORDS_AGAIN + FIRST_SOUND + (ANSWERED if answered else 0.0)
        found.again.check(after - before <= most, f"{where}: {after - before:.1f} s")
    # "quiet please" never holds a limit back: both checks above count it in
    assert all(s.say.priority == Priority.LIMIT for s in mine)
