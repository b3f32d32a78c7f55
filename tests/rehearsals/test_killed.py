"""Does a killed session go on as if nothing had been? Short D1 and D9 of the proofs."""

from __future__ import annotations

from tests.proof import d1, d9
from tests.proof.outcome import Outcome, table


def _holds(outcomes: list[Outcome]) -> None:
    assert all(each.trials for each in outcomes)
    assert not any(each.failures for each in outcomes), table(outcomes)


def test_killed_rehearsals_go_on() -> None:
    _holds(d1.prove(short=True))


def test_a_badly_treated_afternoon_loses_no_clock() -> None:
    _holds(d9.prove(short=True))
