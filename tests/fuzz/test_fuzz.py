"""Is every bad input read or clearly refused? Kept inputs replayed, and new ones every day.

The coverage-guided runs are `python -m tests.fuzz NAME --minutes N`.
"""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fuzz.limits import no_hang
from tests.fuzz.targets import CORPUS, TARGETS, Target

# so many changed inputs a run: the slow ones (a whole service each) get fewer
TRIALS = {"recipe": 10, "commands": 10, "talk": 40, "board": 200, "settings": 200, "words": 200}
MOST_BYTES = 200_000


def _name(target: Target) -> str:
    return target.name


@pytest.mark.parametrize("target", TARGETS.values(), ids=_name)
def test_inputs_that_ship_and_inputs_that_were_kept(target: Target) -> None:
    inputs = [*target.seeds(), *(path.read_bytes() for path in target.kept())]
    assert inputs
    for data in inputs:
        with no_hang():
            target.run(data)


@pytest.mark.parametrize("target", TARGETS.values(), ids=_name)
def test_inputs_changed_as_people_and_damage_change_them(target: Target) -> None:
    pool = list(target.seeds())

    @settings(max_examples=TRIALS.get(target.name, 30), database=None)
    @given(st.integers(0, 2**32))
    def one(seed: int) -> None:
        rng = Random(seed)
        with no_hang():
            target.run(target.change(rng.choice(pool), rng))

    one()


@pytest.mark.parametrize("target", TARGETS.values(), ids=_name)
def test_any_bytes(target: Target) -> None:
    @settings(max_examples=40, database=None)
    @given(st.binary(max_size=300) | st.text(max_size=300).map(str.encode))
    def one(data: bytes) -> None:
        with no_hang():
            target.run(data)

    one()


def test_the_kept_inputs_stay_small() -> None:
    assert sum(path.stat().st_size for path in CORPUS.rglob("*") if path.is_file()) < MOST_BYTES


def test_a_hang_is_noticed() -> None:
    def never_ends() -> None:
        while True:
            pass

    with no_hang(0.05), pytest.raises(AssertionError, match="busy"):
        never_ends()
