"""Do killed sessions go on, and full salons get every call? Short D1, D9 and D12 of the proofs."""

from __future__ import annotations

from tests.proof import d1, d9, d12
from tests.proof.outcome import Outcome, table


def _holds(outcomes: list[Outcome]) -> None:
    assert all(each.trials for each in outcomes)
    assert not any(each.failures for each in outcomes), table(outcomes)


def test_killed_rehearsals_go_on() -> None:
    _holds(d1.prove(short=True))


def test_a_badly_treated_afternoon_loses_no_clock() -> None:
    _holds(d9.prove(short=True))


def test_mornings_with_late_heads_miss_no_limit_and_never_talk_over_themselves() -> None:
    _holds(d12.prove(short=True))
