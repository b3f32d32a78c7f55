"""D9: a 24 h day, eight heads of three zones, with kills, clock steps and sleeps, many times."""

from __future__ import annotations

import os
from bisect import bisect_left
from dataclasses import asdict, dataclass, field
from itertools import pairwise
from typing import Any

from assistant.edges.word_files import load_commands, load_phrases
from tests.proof.day import Book, Day
from tests.proof.kept_fold import KeptFold
from tests.proof.kept_seeds import KeptSeeds
from tests.proof.outcome import Outcome
from tests.proof.staff import ZoneTruth, recipes

DAY = 24 * 3600.0
LATE, LATE_P99 = 1.0, 0.5  # seconds; pass marks while the program runs
IN_IT = 0.001  # seconds that one event may take on the simulated machine
LATE_BACK = 5.0  # after a kill or a sleep
REPEATED = 10.6  # some limit is said again every ten seconds
# All limits share that rhythm: one that comes new in between pushes the others back by one round.
OWN_REPEATED = 2 * REPEATED


@dataclass(slots=True)
class Found:
    """What all days together came to."""

    clocks: Outcome = field(default_factory=lambda: Outcome("clocks kept through the day"))
    limits: Outcome = field(default_factory=lambda: Outcome("limits called in time"))
    repeats: Outcome = field(default_factory=lambda: Outcome("limits repeated until the rinse"))
    again: Outcome = field(default_factory=lambda: Outcome("limits called again when back"))
    dues: Outcome = field(default_factory=lambda: Outcome("targets called in time"))
    running: list[float] = field(default_factory=list)  # lateness of limits, nothing in the way
    back: list[float] = field(default_factory=list)  # lateness of limits passed while away
    heard: list[float] = field(default_factory=list)  # lateness of the first sound of a limit
    silent: list[float] = field(default_factory=list)  # longest time without a limit's own call
    folds: Outcome = field(default_factory=lambda: Outcome("kept folds equal to whole ones"))

    def add(self, plain: dict[str, Any]) -> None:
        """What another day found, as `asdict` gives it."""
        for name, value in plain.items():
            mine = getattr(self, name)
            if isinstance(mine, list):
                mine += value
            else:
                mine.trials += value["trials"]
                mine.failures += value["failures"]

    def outcomes(self) -> list[Outcome]:
        """The table."""
        late = Outcome("lateness, running: p99 <= 0.5 s")
        late.check(_p99(self.running) <= LATE_P99, f"{_p99(self.running):.3f} s")
        late.notes = f"{_figures(self.running)}; after coming back: {_figures(self.back)}"
        self.limits.notes = f"first sound in the room: {_figures(self.heard)}"
        self.repeats.notes = f"longest without its own call: {_figures(self.silent)}"
        kept = [self.folds] if self.folds.trials else []
        return [self.clocks, self.limits, self.repeats, self.again, self.dues, late, *kept]


def prove(short: bool = False) -> list[Outcome]:
    """Short: three hours, one seed. Long: `D9_SEEDS` (100) days of `D9_HOURS` (24) from `D9_FIRST`.

    `D9_LOG` names a file to go on with; with `D9_KEPT=1` most restarts fold only what is new.
    """
    book, found = read_book(), Found()
    first, seeds = (0, 1) if short else (_setting("D9_FIRST", 0), _setting("D9_SEEDS", 100))
    hours = 3 if short else _setting("D9_HOURS", 24)
    kept = not short and bool(_setting("D9_KEPT", 0))
    log = KeptSeeds("" if short else os.environ.get("D9_LOG", ""), hours=hours, kept=kept)
    done = dict(log.done())
    for seed in range(first, first + seeds):
        if seed not in done:
            done[seed] = asdict(_one_day(book, seed, hours * 3600.0, KeptFold() if kept else None))
            log.add(seed, done[seed])
        found.add(done[seed])
    return found.outcomes()


def _setting(name: str, otherwise: int) -> int:
    return int(os.environ.get(name, otherwise))


def _one_day(book: Book, seed: int, until: float, folds: KeptFold | None) -> Found:
    found, share = Found(), until / DAY
    day = Day(book, seed, folds=folds)
    day.treat(
        until,
        kills=round(50 * share),
        steps=round(20 * share),
        sleeps=max(1, round(5 * share)),
        powers=max(1, round(5 * share)),
    )
    day.run(until)
    look(day, seed, found, until)
    if folds is not None:
        found.folds.trials = folds.compared
        found.folds.failures = [f"seed {seed}: {each}" for each in folds.differ]
    return found


def read_book() -> Book:
    """The product's words, and made-up recipes of three zones."""
    return Book(load_commands(), load_phrases(), recipes())


def _p99(values: list[float]) -> float:
    return sorted(values)[int(len(values) * 0.99)] if values else 0.0


def _figures(values: list[float]) -> str:
    if not values:
        return "none"
    return f"{len(values)} times, p99 {_p99(values):.3f} s, max {max(values):.3f} s"


def look(day: Day, seed: int, found: Found, until: float) -> None:
    until = min([until, *(start for start, end in day.log.away if end > until)])  # not back since
    found.clocks.check(day.log.failures == 0, f"seed {seed}: {day.log.failures} events failed")
    for person in day.staff:
        for zone in person.zones:
            where = f"seed {seed}, chair {zone.chair}, head {zone.head}, {zone.name}"
            _clock_kept(day, zone, found.clocks, where)
            _limit_called(day, zone, found, where, until)
            _due_called(day, zone, found.dues, where, until)


def _clock_kept(day: Day, zone: ZoneTruth, outcome: Outcome, where: str) -> None:
    runs = day.salon.history[zone.head - 1].file.zones
    on = next(run.on_at for run in runs if run.zone.name == zone.name)
    right = on is not None and abs(on - zone.on) <= 1.0
    outcome.check(right, f"{where}: on at {on}, in truth {zone.on:.1f}")


def _back(day: Day, when: float) -> float:
    """The time itself, or when the program was there again; it may have died in that very event."""
    return next((end for start, end in day.log.away if start - IN_IT <= when <= end), when)


def _present(day: Day, when: float, seconds: float) -> bool:
    """Whether the program was there for so long after a time: else it may have lost its voice."""
    return not any(start <= when + seconds and when <= end for start, end in day.log.away)


def _limit_called(day: Day, zone: ZoneTruth, found: Found, where: str, until: float) -> None:
    ready, ended = _back(day, zone.limit), min(zone.rinsing, until)
    margin = LATE if ready == zone.limit else LATE_BACK
    if ended <= ready + margin:
        return
    key = f"limit/{zone.chair}/{zone.head}/{zone.name}"
    calls = day.log.calls.get(key, [])
    first = next((call for call in calls if call >= zone.limit - 0.01), None)
    late = None if first is None else first - ready
    found.limits.check(late is not None and late <= margin, f"{where}: limit called {late} s late")
    if late is None:
        return
    (found.running if ready == zone.limit else found.back).append(late)
    if ready == zone.limit and _present(day, zone.limit, 30) and key in day.log.sounded:
        found.heard.append(day.log.sounded[key] - zone.limit)
    # a limit of another chair in words stands in for this one's tone, never for its words
    own = _longest_silence(day, [zone.limit, *calls, ended])
    urgent = [at for at in day.log.urgent if zone.limit < at < ended]
    gap = _longest_silence(day, sorted([zone.limit, *calls, *urgent, ended]))
    found.silent.append(own)
    good = own <= OWN_REPEATED and gap <= REPEATED
    found.repeats.check(good, f"{where}: {own:.1f} s without a call past the limit, {gap:.1f} any")
    for _, back in day.log.away:
        died_again = any(back <= start <= back + LATE_BACK for start, _ in day.log.away)
        if zone.limit <= back < ended - LATE_BACK and not died_again:
            again = any(back <= call <= back + LATE_BACK for call in calls)
            found.again.check(again, f"{where}: back at {back:.1f}, limit not called again")


def _longest_silence(day: Day, calls: list[float]) -> float:
    """Longest time from one call to the next; time away does not count."""
    return max(
        after - max([before, *(end for _, end in day.log.away if before < end <= after)])
        for before, after in pairwise(calls)
    )


def _due_called(day: Day, zone: ZoneTruth, outcome: Outcome, where: str, until: float) -> None:
    """Each target call, unless a stronger one of the zone (three minutes to the limit) is up."""
    spoken = sorted(
        call
        for key, calls in day.log.calls.items()
        if key.startswith(f"due/{zone.chair}/{zone.head}/{zone.name}/")
        for call in calls
    )
    for due, settled in zone.dues:
        ready = _back(day, due)
        margin = LATE if ready == due else LATE_BACK
        if min(settled, zone.rinsing, until, zone.limit - 180) <= ready + margin:
            continue
        nth = bisect_left(spoken, due - 61)  # may be said a minute early, with another zone's
        called = nth < len(spoken) and spoken[nth] <= ready + margin
        outcome.check(called, f"{where}: target at {due:.1f} (back {ready:.1f}) not called")
