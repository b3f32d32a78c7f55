"""The law of the levels, for any history: what may fade, how fast, and what brings it back.

Three clean runs and thirty days are our own numbers (`core/levels.py`); that guidance should
fade with skill, and never from what is critical, is common practice with checklists.
"""

from __future__ import annotations

from typing import get_args

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.head import GATE
from assistant.core.levels import (
    CEILING,
    CLEAN_RUNS,
    DAY,
    FADES_AFTER_DAYS,
    Lesson,
    Level,
    Outcome,
    Run,
    Standing,
    StepName,
    standing,
    standings,
)

KINDS = ("gate", *CEILING)
NAMES = [StepName("tap", "tap", kind, subject) for kind in KINDS for subject in ("nape", "crown")]
STEPS = [str(name) for name in NAMES]
OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)
RUNS = st.lists(
    st.builds(
        Run,
        step=st.sampled_from(STEPS),
        utc=st.floats(0, 400 * DAY),
        outcome=st.sampled_from(OUTCOMES),
    ),
    max_size=40,
)
STEP = st.sampled_from(STEPS)
NOW = 400 * DAY


def at(step: str, runs: list[Run], now: float = NOW) -> Standing:
    return standing(step, runs, now)


def daily(step: str, *outcomes: Outcome) -> list[Run]:
    return [Run(step, n * DAY, outcome) for n, outcome in enumerate(outcomes)]


@settings(deadline=None)
@given(RUNS, STEP)
def test_no_history_takes_a_step_beyond_its_ceiling_and_none_fades_the_gate(
    runs: list[Run], step: str
) -> None:
    name = StepName.parse(step)
    level = at(step, runs).level
    assert Level.READ <= level <= name.ceiling
    if name.kind == "gate":
        assert level == Level.READ


@settings(deadline=None)
@given(RUNS, STEP)
def test_an_error_always_brings_a_step_down_by_one(runs: list[Run], step: str) -> None:
    before = at(step, runs)
    after = at(step, [*runs, Run(step, NOW, "error")])
    assert after.level == max(Level.READ, before.level - 1)
    assert after.clean_in_a_row == 0


@settings(deadline=None)
@given(RUNS, STEP)
def test_thirty_days_without_it_bring_a_step_down_by_one(runs: list[Run], step: str) -> None:
    last = max((run.utc for run in runs if run.step == step), default=0.0)
    fresh = at(step, runs, last)
    assert at(step, runs, last + (FADES_AFTER_DAYS - 1) * DAY) == fresh
    later = at(step, runs, last + (FADES_AFTER_DAYS + 1) * DAY)
    assert later.level == max(Level.READ, fresh.level - 1)


@settings(deadline=None)
@given(RUNS, STEP, st.sampled_from(OUTCOMES))
def test_one_run_lifts_a_step_by_one_at_most_and_only_a_clean_one(
    runs: list[Run], step: str, outcome: Outcome
) -> None:
    before, after = at(step, runs), at(step, [*runs, Run(step, NOW, outcome)])
    assert after.level <= before.level + (outcome == "clean")
    if after.level > before.level:
        assert before.clean_in_a_row == CLEAN_RUNS - 1


@settings(deadline=None)
@given(RUNS, STEP)
def test_other_steps_change_nothing(runs: list[Run], step: str) -> None:
    only = [run for run in runs if run.step == step]
    assert at(step, runs) == at(step, only)
    assert standings(runs, NOW).get(step, Standing()) == at(step, only)


@settings(deadline=None)
@given(st.lists(st.sampled_from(["clean", "untidy", "error"]), max_size=30))
def test_a_step_that_has_faded_was_clean_often_enough(outcomes: list[Outcome]) -> None:
    """An independent count: each level above the first costs three clean runs."""
    step = str(StepName("tap", "tap", "place", "nape"))
    level = at(step, daily(step, *outcomes), len(outcomes) * DAY).level
    assert (level - 1) * CLEAN_RUNS <= outcomes.count("clean")


def test_the_way_up_and_down() -> None:
    step = str(StepName("tap", "tap", "place", "nape"))
    told = [
        (("clean", "clean"), Level.READ),
        (("clean",) * 3, Level.CHALLENGE),
        (("clean", "clean", "untidy", "clean", "clean"), Level.READ),
        (("clean",) * 6, Level.SILENT),
        (("clean",) * 9, Level.SILENT),
        ((*("clean",) * 6, "error"), Level.CHALLENGE),
        ((*("clean",) * 6, "error", "error"), Level.READ),
        ((*("clean",) * 6, "untidy"), Level.SILENT),
    ]
    for outcomes, level in told:
        assert at(step, daily(step, *outcomes), 10 * DAY).level == level, outcomes


def test_a_bowls_numbers_are_always_spoken() -> None:
    mix = str(StepName("tap", "tap", "mix", "root bowl"))
    assert at(mix, daily(mix, *("clean",) * 12), 12 * DAY).level == Level.CHALLENGE


def test_a_lesson_never_hands_out_more_than_the_ceiling() -> None:
    """Also not if a journal claims so."""
    for question in GATE:
        gate = StepName("tap", "tap", "gate", question)
        lesson = Lesson("robin", {str(gate): Level.SILENT})
        assert lesson.level(gate) == Level.READ


def test_a_step_is_kept_by_a_name_that_comes_back() -> None:
    for name in (*NAMES, StepName("tap", "tap", "finish", "Wash / rinse, then dry")):
        assert StepName.parse(str(name)) == name
