"""OR-Tools CP-SAT behind the day plan: the better plan, where the extra "plan" is installed.

The same tasks and lags as the quick planner, whose plan is the first hint. From four heads on a
whole day is too much for half a second: then a few heads at a time are planned anew while the
others stay, for as long as the time allows. One worker and a fixed seed, so the same day gives
the same plan as long as the time limit is not what ends it.
"""

from __future__ import annotations

from typing import Any

from assistant.core.plan import Plan, cost
from assistant.core.plan_day import Day
from assistant.edges.solver_model import DayModel, Solved
from assistant.errors import ConfigError

SECONDS = 0.5
AT_ONCE = 3  # heads that half a second can plan well
TURNS = 200
WHOLE_SHARE = 0.2  # of the time, kept for the whole day at the end
BUILDING = 0.01  # seconds that a small model takes to be written down


def available() -> bool:
    """Whether the extra is installed."""
    try:
        _ortools()
    except ConfigError:
        return False
    return True


def _ortools() -> Any:
    try:
        from ortools.sat.python import cp_model
    except ImportError as error:
        raise ConfigError(
            "the better planner is not installed: pip install 'swatchword[plan]'"
        ) from error
    return cp_model


def solve(
    day: Day,
    hint: Plan | None = None,
    *,
    seconds: float = SECONDS,
    may_pass_limits: bool = False,
) -> Solved:
    """The best plan of the day within so many seconds.

    `may_pass_limits` lets a rinse come too late at a price above everything else: to find the
    cheapest clash, never to be followed.
    """
    cp, heads = _ortools(), len(day.bookings)
    if hint is None or heads <= AT_ONCE or may_pass_limits:
        model = DayModel(day, cp, may_pass_limits)
        if hint is not None:
            model.hint(hint)
        return model.solve(seconds)
    return _piece_by_piece(day, cp, hint, seconds)


def _piece_by_piece(day: Day, cp: Any, hint: Plan, seconds: float) -> Solved:
    """Plan some heads anew around the others, round and round until nothing gets better."""
    best, used, idle = hint, 0.0, 0
    pieces = _pieces(day)
    whole = seconds * WHOLE_SHARE
    for turn in range(TURNS):
        if used >= seconds - whole or idle >= len(pieces):
            break
        kept = [h for h in range(len(day.bookings)) if h not in pieces[turn % len(pieces)]]
        model = DayModel(day, cp, False, best, kept)
        model.hint(best)
        found = model.solve(min(seconds - whole - used, seconds / 4))
        used += found.seconds + BUILDING
        better = found.plan is not None and cost(day, found.plan) < cost(day, best)
        idle = 0 if better else idle + 1
        best = found.plan if found.plan is not None and better else best
    model = DayModel(day, cp, False)
    model.hint(best)
    found = model.solve(max(0.05, seconds - used))
    better = found.plan is not None and cost(day, found.plan) <= cost(day, best)
    plan = found.plan if better else best
    return Solved(plan, found.proved, used + found.seconds)


def _pieces(day: Day) -> list[tuple[int, ...]]:
    """Heads that are near each other in time, a few at once; then every second one."""
    turn = sorted(range(len(day.bookings)), key=lambda h: day.bookings[h].arrives)
    last = len(turn) - AT_ONCE
    close = [tuple(turn[i : i + AT_ONCE]) for i in range(last + 1)]
    apart = [tuple(turn[i : i + 2 * AT_ONCE : 2]) for i in range(last)]
    return [*close, *apart]
