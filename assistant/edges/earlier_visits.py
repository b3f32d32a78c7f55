"""What had been before a rehearsal began: the visits of its script, written as real records.

So what the rehearsal reads goes through the real store; only the visits themselves are invented.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from assistant.core.client_card import Client
from assistant.core.head import Head
from assistant.core.head_file import ZoneRun
from assistant.core.recipe import Recipe
from assistant.core.rule import SalonRule
from assistant.core.script import EarlierVisit, Script
from assistant.edges.records import DAY, RecordStore
from assistant.errors import ConfigError

_MINUTE = 60.0
REHEARSAL = "rehearsal"  # what the session of one is called in its records
SESSIONS = (REHEARSAL, "before the rehearsal")


def put(script: Script, recipes: Mapping[str, Recipe], store: Path, now: float) -> None:
    """Forget what an earlier rehearsal wrote there, and write the visits of the script."""
    if not script.earlier and not store.is_file():
        return
    for session in SESSIONS:
        with closing(RecordStore(store, session, lambda: now)) as records:
            records.begin_anew()
    for number, visit in enumerate(script.earlier, 1):
        if visit.recipe not in recipes:
            raise ConfigError(f"earlier visit {number}: no recipe {visit.recipe!r}: load it")
        then = now - visit.days_ago * DAY
        with closing(RecordStore(store, SESSIONS[1], lambda then=then: then)) as records:  # type: ignore[misc]
            records.write(_served(visit, recipes[visit.recipe], number))


def _served(visit: EarlierVisit, recipe: Recipe, number: int) -> Head:
    """A head as it would be after that visit; only what a record tells of it."""
    head = Head(1, number, _as_it_was(visit, recipe), 0.0)
    file = head.file
    file.client = Client(visit.client, None, SalonRule())
    file.gate = {"alert test": f"clear, {visit.test_days_before} days ago", "scalp": "healthy"}
    file.mixed = {(run.stage, run.zone.bowl): _MINUTE for run in file.zones}
    for run in file.zones:
        _put_on(visit, run)
    file.notes = list(visit.notes)
    file.outcome = {"colour": visit.outcome} if visit.outcome else {}
    file.ended_at = max((run.rinsed_at or 0.0 for run in file.zones), default=0.0)
    head.restore(("closed", file))
    return head


def _as_it_was(visit: EarlierVisit, recipe: Recipe) -> Recipe:
    """The recipe with the grams of then."""
    if not visit.bowl_grams:
        return recipe
    first = recipe.stages[0]
    bowls = (replace(first.bowls[0], grams=visit.bowl_grams), *first.bowls[1:])
    return replace(recipe, stages=(replace(first, bowls=bowls), *recipe.stages[1:]))


def _put_on(visit: EarlierVisit, run: ZoneRun) -> None:
    if run.zone.name in visit.left_out:
        run.left_out = True
        return
    minutes = run.zone.window.target_minutes
    if run.zone.name == visit.zone:
        minutes = visit.minutes_on
    run.pass_began_at, run.on_at = _MINUTE, 2 * _MINUTE
    run.rinsing_at = run.rinsed_at = run.on_at + minutes * _MINUTE
