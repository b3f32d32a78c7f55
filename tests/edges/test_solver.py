"""The solver against the checker, against every order there is, and the quick planner."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from assistant.core.plan import OFF_TARGET, cost, happened
from assistant.core.plan_check import faults
from assistant.core.plan_day import Day
from assistant.core.plan_greedy import greedy
from assistant.core.plan_tasks import STEPS, Task, chains
from tests.core.days import MORNING, SIZES, drawn, one_zone_each
from tests.core.recipes import recipe, stage, window, zone

pytest.importorskip("ortools", reason="the extra 'plan' (OR-Tools) is not installed")
from assistant.edges import solver

TARGETS = ((5, 10, 20), (12, 18, 25), (8, 15, 25), (20, 30, 45), (3, 5, 12))


def small(checks: tuple[int, int, int], minutes: int) -> object:
    made = recipe(stage(zone("nape", window=window(*checks), apply_minutes=minutes)))
    return replace(made, place="chair")


def orders(heads: Sequence[Sequence[Task]]) -> Iterator[list[Task]]:
    """Every order in which one person can do the tasks, each head's in its own order."""
    first, second = heads
    for places in itertools.combinations(range(len(first) + len(second)), len(first)):
        a, b = iter(first), iter(second)
        yield [next(a) if i in places else next(b) for i in range(len(first) + len(second))]


def least_cost(day: Day) -> float:
    """The best of all orders, each one a linear program for scipy (steps, then minutes)."""
    heads = chains(day)
    found = [_linear(day, order) for order in orders([c.tasks for c in heads])]
    return min(value for value in found if value is not None)


def _linear(day: Day, order: Sequence[Task]) -> float | None:
    """Starts of the tasks, early and late of each rinse; None if this order cannot be."""
    index = {task.key: i for i, task in enumerate(order)}
    steps = {task.key: task.steps for task in order}
    rinses = [task for task in order if task.aims]
    columns = len(order) + 2 * len(rinses)
    rows: list[np.ndarray] = []
    most: list[float] = []

    def at_most(terms: dict[int, float], bound: float) -> None:
        row = np.zeros(columns)
        for column, factor in terms.items():
            row[column] += factor
        rows.append(row)
        most.append(bound)

    for before, after in itertools.pairwise(order):  # one pair of hands
        at_most({index[before.key]: 1, index[after.key]: -1}, -before.steps)
    bounds: list[tuple[float, float | None]] = [(t.earliest, t.latest) for t in order]
    price = np.zeros(columns)
    for task in order:
        for lag in task.lags:
            i, j = index[task.key], index[lag.after]
            if lag.least is not None:
                at_most({j: 1, i: -1}, -steps[lag.after] - lag.least)
            if lag.most is not None:
                at_most({i: 1, j: -1}, steps[lag.after] + lag.most)
    for number, task in enumerate(rinses):
        early, late = len(order) + 2 * number, len(order) + 2 * number + 1
        for aim in task.aims:
            assert aim.after is not None
            i, j = index[task.key], index[aim.after]
            at_most({j: 1, i: -1, early: -1}, -steps[aim.after] - aim.steps)
            at_most({i: 1, j: -1, late: -1}, steps[aim.after] + aim.steps)
        price[early] = price[late] = OFF_TARGET
        bounds += [(0, None), (0, None)]
    fixed = 0.0
    for chain in chains(day):
        price[index[chain.tasks[-1].key]] += 1
        fixed += chain.tasks[-1].steps - chain.arrives
    result = linprog(price, A_ub=np.array(rows), b_ub=np.array(most), bounds=bounds)
    return (result.fun + fixed) / STEPS if result.status == 0 else None


PAIRS = [
    (one, two, minutes, apart)
    for one, two in itertools.combinations_with_replacement(TARGETS, 2)
    for minutes, apart in ((3, 0), (6, 4))
]


@pytest.mark.parametrize(("one", "two", "minutes", "apart"), PAIRS)
def test_two_heads_cost_what_the_best_of_all_orders_costs(
    one: tuple[int, int, int], two: tuple[int, int, int], minutes: int, apart: int
) -> None:
    day = one_zone_each(small(one, minutes), small(two, minutes), apart=apart)  # type: ignore[arg-type]
    found = solver.solve(day, greedy(day), seconds=10)
    assert found.proved
    assert found.plan is not None
    assert faults(day, found.plan) == []
    assert cost(day, found.plan) == pytest.approx(least_cost(day), abs=1e-6)


@pytest.mark.parametrize("size", SIZES, ids=lambda s: "/".join(map(str, s)))
def test_plans_of_drawn_days_pass_the_checker_and_are_no_worse_than_the_hint(
    size: tuple[int, int, int],
) -> None:
    for seed in (1001, 1002):
        day = drawn(seed, *size)
        quick = greedy(day)
        assert quick is not None
        found = solver.solve(day, quick)
        assert found.plan is not None
        assert faults(day, found.plan) == []
        assert cost(day, found.plan) <= cost(day, quick) + 1e-9
        assert found.seconds < 1


def test_the_same_day_gives_the_same_plan() -> None:
    day = drawn(7, 2, 1, 1)
    first, second = (solver.solve(day, greedy(day), seconds=5) for _ in range(2))
    assert first.proved
    assert first.plan == second.plan


def test_started_tasks_stay_where_they_are() -> None:
    day = drawn(3, 3, 1, 1)
    quick = greedy(day)
    assert quick is not None
    now = MORNING + 8
    left = happened(day, quick, now)
    found = solver.solve(left, greedy(left), seconds=5)
    assert found.plan is not None
    assert faults(left, found.plan) == []
    ways = {h: b.facts.under_way for h, b in enumerate(left.bookings) if b.facts.under_way}
    assert ways
    for head, way in ways.items():
        same = found.plan.of(head)[0]
        assert (same.key.kind, same.begins, same.person) == (way.kind, way.since, way.person)


def test_a_day_that_cannot_work_is_proved_to() -> None:
    day = one_zone_each(small((5, 10, 20), 4), small((5, 10, 20), 4), apart=0)  # type: ignore[arg-type]
    tight = replace(day, house=replace(day.house, wait_minutes=0))
    found = solver.solve(tight)
    assert (found.plan, found.proved) == (None, True)
