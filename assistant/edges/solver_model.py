"""One day as variables and constraints of CP-SAT, and the plan read back from them."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from assistant.core.plan import OFF_TARGET, Plan, Slot, plan_of
from assistant.core.plan_day import MIDNIGHT, Day
from assistant.core.plan_tasks import STEPS, Chain, Key, Task, chains, down, up

_OVER = 1000  # a step past a limit outweighs any waiting
HORIZON = up(MIDNIGHT + 6 * 60)


@dataclass(frozen=True, slots=True)
class Solved:
    """What came out. `plan` is None where no plan keeps every hard limit."""

    plan: Plan | None
    proved: bool  # nothing better exists, or nothing at all
    seconds: float
    over_minutes: float = 0.0  # of limits, where that was allowed


@dataclass(slots=True)
class _Vars:
    """The variables of one task."""

    begins: Any
    people: dict[int, Any] = field(default_factory=dict)


class DayModel:
    """One day as variables and constraints."""

    def __init__(
        self,
        day: Day,
        cp: Any,
        over: bool,
        known: Plan | None = None,
        keep: Sequence[int] = (),
    ) -> None:
        """`keep` are heads that stay as they are in the plan that is known."""
        self.day, self.cp, self.may_pass = day, cp, over
        self.keep = set(keep)
        self.known = {p.key: p for p in known.placed} if known is not None else {}
        self.model = cp.CpModel()
        self.chains = chains(day)
        self.vars: dict[Key, _Vars] = {}
        self.tasks: dict[Key, Task] = {t.key: t for c in self.chains for t in c.tasks}
        self.busy: list[list[Any]] = [[] for _ in day.people]
        self.wet: list[Any] = []
        self.price: list[Any] = []
        self.over: list[Any] = []
        for person, busy in zip(day.people, self.busy, strict=True):
            for pause in person.breaks:
                begins = down(pause.begins)
                busy.append(
                    self.model.new_fixed_size_interval_var(begins, up(pause.ends) - begins, "")
                )
        for chain in self.chains:
            self._chain(chain)
        self._chairs()
        for busy in self.busy:
            self.model.add_no_overlap(busy)
        self.model.add_cumulative(self.wet, [1] * len(self.wet), day.basins)
        self.model.minimize(sum(self.price) + _OVER * sum(self.over))

    # ------------------------------------------------------------- building

    def _chain(self, chain: Chain) -> None:
        for task in chain.tasks:
            self._keep(task) if chain.head in self.keep else self._task(task)
        for task in chain.tasks:
            if chain.head in self.keep:
                break
            self._lags(task)
            if task.aims:
                self._aims(task)
        if chain.keeps_basin:
            first = chain.holds_from
            if first is None:
                first = self._begins(chain.tasks[chain.first_on])
            last = chain.tasks[chain.last_rinse]
            ends = self._begins(last) + last.steps
            size = self.model.new_int_var(0, HORIZON, "")
            self.wet.append(self.model.new_interval_var(first, size, ends, ""))
        final = chain.tasks[-1]
        self.price.append(self._begins(final) + final.steps - chain.arrives)

    def _task(self, task: Task) -> None:
        fixed = task.fixed_at
        low, high = (fixed, fixed) if fixed is not None else (task.earliest, HORIZON - task.steps)
        begins = self.model.new_int_var(low, high, "")
        made = _Vars(begins)
        for person in task.people:
            does = self.model.new_bool_var("")
            made.people[person] = does
            span = self.model.new_optional_fixed_size_interval_var(begins, task.steps, does, "")
            self.busy[person].append(span)
        self.model.add_exactly_one(made.people.values())
        chain = self.chains[task.key.head]
        if task.at_basin and not chain.keeps_basin:
            self.wet.append(self.model.new_fixed_size_interval_var(begins, task.steps, ""))
        self.vars[task.key] = made

    def _keep(self, task: Task) -> None:
        """A task that stays where it is."""
        known = self.known[task.key]
        begins = round(known.begins * STEPS)
        person = [p.name for p in self.day.people].index(known.person)
        span = self.model.new_fixed_size_interval_var(begins, task.steps, "")
        self.busy[person].append(span)
        if task.at_basin and not self.chains[task.key.head].keeps_basin:
            self.wet.append(span)
        self.vars[task.key] = _Vars(begins, {person: 1})

    def _lags(self, task: Task) -> None:
        begins = self._begins(task)
        if task.fixed_at is not None:
            return
        spare = self._spare(task)
        if task.latest is not None:
            self.model.add(begins <= task.latest + spare)
        for lag in task.lags:
            after = self._ends(lag.after)
            if lag.least is not None:
                self.model.add(begins >= after + lag.least)
            if lag.most is not None:
                self.model.add(begins <= after + lag.most + spare)

    def _spare(self, task: Task) -> Any:
        """How far a rinse may pass its limit: not at all, unless a clash is looked for."""
        if not self.may_pass or task.key.kind != "rinse":
            return 0
        spare = self.model.new_int_var(0, HORIZON, "")
        self.over.append(spare)
        return spare

    def _aims(self, task: Task) -> None:
        begins = self._begins(task)
        early, late = (self.model.new_int_var(0, HORIZON, "") for _ in range(2))
        for aim in task.aims:
            target = aim.steps + (self._ends(aim.after) if aim.after is not None else 0)
            self.model.add(late >= begins - target)
            self.model.add(early >= target - begins)
        self.price.append(OFF_TARGET * (early + late))

    def _chairs(self) -> None:
        """Whoever comes first to a chair leaves before the next begins."""
        for chair in {chain.chair for chain in self.chains}:
            turn = sorted((c for c in self.chains if c.chair == chair), key=lambda c: c.arrives)
            for before, after in itertools.pairwise(turn):
                self.model.add(self._begins(after.tasks[0]) >= self._ends(before.tasks[-1].key))

    def _begins(self, task: Task) -> Any:
        return self.vars[task.key].begins

    def _ends(self, key: Key) -> Any:
        return self.vars[key].begins + self.tasks[key].steps

    # -------------------------------------------------------------- solving

    def hint(self, plan: Plan) -> None:
        """Begin the search at a known plan."""
        names = [person.name for person in self.day.people]
        for placed in plan.placed:
            known = self.vars.get(placed.key)
            if known is None or isinstance(known.begins, int) or placed.person not in names:
                continue
            self.model.add_hint(known.begins, round(placed.begins * STEPS))
            for person, does in known.people.items():
                self.model.add_hint(does, person == names.index(placed.person))

    def solve(self, seconds: float) -> Solved:
        """Run the solver and read the plan."""
        solver = self.cp.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        status = solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return Solved(None, status == self.cp.INFEASIBLE, solver.wall_time)
        over = sum(solver.value(v) for v in self.over) / STEPS
        plan = plan_of(self.day, self._slots(solver), "the solver")
        return Solved(plan, status == self.cp.OPTIMAL, solver.wall_time, over)

    def _slots(self, solver: Any) -> dict[Key, Slot]:
        slots = {}
        for key, made in self.vars.items():
            begins = int(solver.value(made.begins))
            person = next(p for p, does in made.people.items() if solver.value(does))
            slots[key] = Slot(begins, begins + self.tasks[key].steps, person)
        return _with_basins(self.chains, slots)


def _with_basins(heads: Sequence[Chain], slots: Mapping[Key, Slot]) -> dict[Key, Slot]:
    """Which basin: as many at once as there are, so the first free one always does."""
    spans = []
    for chain in heads:
        rinses = [t.key for t in chain.tasks if t.at_basin]
        if chain.keeps_basin:
            first = slots[chain.tasks[chain.first_on].key].begins
            begins = first if chain.holds_from is None else chain.holds_from
            spans.append((begins, slots[rinses[-1]].ends, rinses))
        else:
            spans += [(slots[key].begins, slots[key].ends, [key]) for key in rinses]
    found, free = dict(slots), dict[int, int]()
    for begins, ends, keys in sorted(spans):
        basin = next((b for b in sorted(free) if free[b] <= begins), len(free))
        free[basin] = ends
        for key in keys:
            found[key] = Slot(slots[key].begins, slots[key].ends, slots[key].person, basin)
    return found
