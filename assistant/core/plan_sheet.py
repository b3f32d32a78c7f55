"""A plan as plain text: lanes for heads, people and basins, then who does what when."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from assistant.core.clocks import MINUTE
from assistant.core.plan import Placed, Plan
from assistant.core.plan_day import Day, TimeOfDay
from assistant.core.plan_head import StagePlan

WIDTH = 84  # columns of a lane
SIGN = {"prepare": "p", "apply": "a", "check": "c", "rinse": "R", "finish": "f"}
LEGEND = "p prepare  a apply  - develops  c look at a strand  R rinse  f finish  x break"
_NAME = 12


def lanes(day: Day, plan: Plan) -> list[str]:
    """The day as lanes of characters, one for so many minutes."""
    first = math.floor(min(p.begins for p in plan.placed) / 30) * 30
    last = max(p.ends for p in plan.placed)
    step = next((s for s in (1, 2, 3, 5, 10) if (last - first) / s <= WIDTH), 15)
    columns = math.ceil((last - first) / step)

    def lane(name: str, parts: Iterable[tuple[float, float, str]]) -> str:
        cells = [" "] * columns
        for begins, ends, sign in parts:
            for column in range(int((begins - first) / step), math.ceil((ends - first) / step)):
                if 0 <= column < columns:
                    cells[column] = sign
        return f"{name:<{_NAME}}|{''.join(cells)}|"

    lines = [" " * (_NAME + 1) + _axis(first, step, columns)]
    for head, booking in enumerate(day.bookings):
        lines.append(lane(f"chair {booking.chair}", _head_parts(plan.of(head))))
    for person in day.people:
        breaks = [(b.begins, b.ends, "x") for b in person.breaks]
        lines.append(lane(person.name[:_NAME], [*breaks, *_chairs_of(day, plan, person.name)]))
    for basin in range(day.basins):
        lines.append(lane(f"basin {basin + 1}", _basin_parts(day, plan, basin)))
    return [*lines, f"one column is {step} min. {LEGEND}", "people and basins show the chair"]


def _axis(first: float, step: int, columns: int) -> str:
    text = [" "] * (columns + 8)
    for column in range(columns):
        minute = first + column * step
        if minute % (30 if step <= 5 else 60) < step:
            text[column : column + 5] = list(str(TimeOfDay(minute)))
    return "".join(text).rstrip()


def _head_parts(placed: Iterable[Placed]) -> Iterator[tuple[float, float, str]]:
    tasks = list(placed)
    on = [p.ends for p in tasks if p.key.kind == "apply"]
    off = [p.begins for p in tasks if p.key.kind == "rinse"]
    if off:
        yield min(on, default=min(p.begins for p in tasks)), max(off), "-"
    for task in tasks:
        yield task.begins, task.ends, SIGN[task.key.kind]


def _chairs_of(day: Day, plan: Plan, person: str) -> Iterator[tuple[float, float, str]]:
    for task in plan.placed:
        if task.person == person:
            yield task.begins, task.ends, str(day.bookings[task.key.head].chair % 10)


def _basin_parts(day: Day, plan: Plan, basin: int) -> Iterator[tuple[float, float, str]]:
    for head, booking in enumerate(day.bookings):
        sign = str(booking.chair % 10)
        mine = [p for p in plan.of(head) if p.basin == basin]
        if mine and booking.recipe.place == "basin":
            passes = [p.begins for p in plan.of(head) if p.key.kind == "apply"]
            yield min(passes, default=mine[0].begins), mine[-1].ends, sign
        for task in mine:
            yield task.begins, task.ends, sign


def by_time(day: Day, plan: Plan) -> list[str]:
    """Who does what when, passes of one head in one line."""
    lines: list[str] = []
    merged: list[tuple[Placed, list[str], float]] = []
    for task in plan.placed:
        last = next((m for m in reversed(merged) if m[0].key.head == task.key.head), None)
        if last is not None and _goes_on(last[0], task, last[2]):
            merged[merged.index(last)] = (last[0], [*last[1], task.key.subject], task.ends)
        else:
            merged.append((task, [task.key.subject], task.ends))
    for task, subjects, ends in merged:
        chair = day.bookings[task.key.head].chair
        what = {"check": "look at", "apply": "put on"}.get(task.key.kind, task.key.kind)
        about = ", ".join(s for s in subjects if s)
        where = f" (basin {task.basin + 1})" if task.basin is not None else ""
        times = f"{TimeOfDay(task.begins)}-{TimeOfDay(ends)}"
        lines.append(f"{times}  {task.person:<10} chair {chair}: {what} {about}{where}".rstrip())
    return lines


def _goes_on(first: Placed, task: Placed, ends: float) -> bool:
    same = (first.key.kind, first.person) == (task.key.kind, task.person)
    return same and first.key.kind == "apply" and task.begins == ends


def service_lines(stages: Iterable[StagePlan]) -> list[str]:
    """One head alone: each zone's pass and clock, then its rinses. Minutes from its beginning."""
    lines: list[str] = []
    for plan in stages:
        lines.append(f"{plan.stage.name} (counted from {_counted(plan)})")
        lines.append(f"  {'zone':<14}{'pass':>12}{'check':>8}{'target':>8}{'limit':>8}")
        for zone in plan.zones:
            clock = zone.clock
            begun = f"{_min(zone.begins)}-{_min(clock.started_at)}"
            times = (clock.check_from_at, clock.target_at, clock.limit_at)
            lines.append(
                f"  {zone.zone.name:<14}{begun:>12}" + "".join(f"{_min(t):>8}" for t in times)
            )
        lines += [f"  {line}" for line in _rinse_lines(plan)]
    return lines


def _counted(plan: StagePlan) -> str:
    return "the first zone" if plan.stage.counts_from == "shared" else "each zone's own start"


def _rinse_lines(plan: StagePlan) -> Iterator[str]:
    if plan.fits:
        window = plan.rinses[0].window
        yield (
            f"one rinse serves all: from {_min(window.opens)} to {_min(window.closes)}, best at "
            f"{_min(plan.rinse_at[0])}; {window.closed_by} closes it"
        )
        yield f"the passes may take {_min(plan.slack_minutes * MINUTE)} minutes longer in all"
        return
    yield f"no single rinse fits at this pace: {len(plan.rinses)} rinses"
    for number, (rinse, at) in enumerate(zip(plan.rinses, plan.rinse_at, strict=True), 1):
        yield f"rinse {number}: {', '.join(rinse.zones)} at {_min(at)}"


def _min(seconds: float) -> str:
    return f"{seconds / MINUTE:.1f}".removesuffix(".0")
