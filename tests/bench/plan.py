"""Day plans: how good and how fast are the quick planner and the solver, size by size?

Days are drawn by seed (`tests/core/days.py`): shipped recipes, arrivals 5 to 25 minutes apart,
clients who wait. Every plan is read by the independent checker. Regret is the cost above the
best plan known (a long solve), in minutes per head; cost = minutes from arrival to leaving plus
twice the minutes a rinse is off its targets.
"""

from __future__ import annotations

import platform
import statistics
import sys
import time
from dataclasses import dataclass, field
from datetime import date

from assistant.core.plan import Plan, cost
from assistant.core.plan_check import faults
from assistant.core.plan_day import Day
from assistant.core.plan_greedy import greedy
from assistant.edges import solver
from tests.core.days import SIZES, drawn


@dataclass
class Row:
    """What happened on the days of one size."""

    size: tuple[int, int, int]
    bad: int = 0
    none: int = 0
    quick_seconds: list[float] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    quick: list[float] = field(default_factory=list)  # minutes per head above the solver's
    proved: int = 0
    regret: list[float] = field(default_factory=list)
    quick_regret: list[float] = field(default_factory=list)


def run(days: int, long_seconds: float, long_days: int) -> int:
    """Print the tables; 1 if any plan broke a limit."""
    rows = [_size(size, days, long_seconds, long_days) for size in SIZES]
    print(f"\n{date.today()}, {platform.machine()}, Python {platform.python_version()}, 1 worker")
    print(f"{days} days of each size; regret against {long_seconds:g} s on {long_days} of them\n")
    print(
        "| heads/people/basins | plans that break a limit | no plan | quick planner ms p95 |"
        " solver s p95 (max) | proved best | quick above solver, min/head median (p95) |"
        " solver regret, min/head median (max) | quick regret median (max) |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    for row in rows:
        print(_line(row, days))
    return 1 if any(row.bad for row in rows) else 0


def _size(size: tuple[int, int, int], days: int, long_seconds: float, long_days: int) -> Row:
    row = Row(size)
    for seed in range(days):
        day = drawn(seed, *size)
        began = time.perf_counter()
        quick = greedy(day)
        row.quick_seconds.append(time.perf_counter() - began)
        began = time.perf_counter()
        found = solver.solve(day, quick)
        row.seconds.append(time.perf_counter() - began)
        row.proved += found.proved
        if quick is None or found.plan is None:
            row.none += 1
            continue
        row.bad += bool(faults(day, quick)) + bool(faults(day, found.plan))
        heads = len(day.bookings)
        row.quick.append((cost(day, quick) - cost(day, found.plan)) / heads)
        if seed < long_days:
            best = _best(day, found, long_seconds)
            row.bad += bool(faults(day, best))
            row.regret.append((cost(day, found.plan) - cost(day, best)) / heads)
            row.quick_regret.append((cost(day, quick) - cost(day, best)) / heads)
    sys.stderr.write(f"{size} done\n")
    return row


def _best(day: Day, found: solver.Solved, long_seconds: float) -> Plan:
    """The short plan where it is proved best, else the long solve (never worse)."""
    if found.proved or found.plan is None:
        assert found.plan is not None
        return found.plan
    long = solver.solve(day, found.plan, seconds=long_seconds)
    return long.plan if long.plan is not None else found.plan


def _line(row: Row, days: int) -> str:
    size = "/".join(map(str, row.size))
    return (
        f"| {size} | {row.bad} | {row.none} | {1000 * _p95(row.quick_seconds):.0f} "
        f"| {_p95(row.seconds):.2f} ({max(row.seconds):.2f}) | {row.proved} of {days} "
        f"| {statistics.median(row.quick):.1f} ({_p95(row.quick):.1f}) "
        f"| {_worst(row.regret)} | {_worst(row.quick_regret)} |"
    )


def _p95(values: list[float]) -> float:
    return sorted(values)[min(len(values) - 1, int(0.95 * len(values)))]


def _worst(values: list[float]) -> str:
    return f"{statistics.median(values):.1f} ({max(values):.1f})" if values else "-"
