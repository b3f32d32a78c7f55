"""D4: the power goes at a random moment, and what was not synced is lost or half there."""

from __future__ import annotations

from random import Random

from assistant.edges.faulty_files import Fault, FaultyFiles, PowerCut, Survives
from tests.proof.d2 import recovered_wrongly
from tests.proof.outcome import Outcome
from tests.proof.service import Writer, afternoon


def prove(short: bool = False) -> list[Outcome]:
    """500 power cuts in sessions of random length, twice: all unsynced lost, or any part of it."""
    trials = 40 if short else 500
    return [_trials("unsynced lost", "synced", trials), _trials("partly there", "some", trials)]


def _trials(name: str, survives: Survives, trials: int) -> Outcome:
    outcome = Outcome(name)
    kept = 0
    for seed in range(trials):
        rng = Random(seed)
        nth = rng.randint(1, 400)
        writer = Writer(files := FaultyFiles(Fault(nth, nth, torn=rng.randint(0, 300))))
        try:
            writer.create()
            writer.keep(afternoon(200, seed))
            outcome.check(False, f"seed {seed}: never cut")
            continue
        except PowerCut:
            pass
        kept += len(writer.acknowledged)
        problem = recovered_wrongly(files.survivor(survives, rng), writer)
        outcome.check(not problem, f"seed {seed}, call {nth}: {problem}")
    outcome.notes = f"{kept} acknowledged events"
    return outcome
