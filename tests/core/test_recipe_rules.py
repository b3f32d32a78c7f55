"""Rules of a recipe and of a rehearsal script that need more than one field: where, and what."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.recipe import Recipe, Stage, problems
from assistant.core.script import At, Expectation, Learned, Line, Script
from assistant.core.script import problems as script_problems
from tests.core.recipes import TWO_ZONES, bowl, recipe, stage, window, zone


def told(book: Recipe) -> list[tuple[str, str]]:
    """Where, written like a path, and what."""
    return [("/".join(map(str, p.path)), p.what) for p in problems(book)]


def of_zone(**fields: object) -> Recipe:
    return recipe(stage(zone("nape", **fields)))


def of_bowl(**fields: object) -> Recipe:
    return recipe(stage(zone("nape"), bowls=(replace(bowl(), **fields),)))  # type: ignore[arg-type]


def test_a_good_recipe_has_no_problem() -> None:
    assert told(TWO_ZONES) == []


BAD: list[tuple[Recipe, str, str]] = [
    (replace(TWO_ZONES, version=7), "version", "version 7 is not known"),
    (replace(TWO_ZONES, stages=()), "stages", "the recipe has no stage"),
    (replace(TWO_ZONES, finish_why=("shine",)), "finish_why", "1 reasons for 2 finishing steps"),
    (recipe(stage(zone("nape"), zone("nape"))), "stages/0/zones/1/name", "'nape' is named twice"),
    (
        recipe(stage(zone("nape"), bowls=(bowl(), bowl("end bowl")))),
        "stages/0/bowls/1",
        "no zone uses bowl 'end bowl'",
    ),
    (of_bowl(grams=0), "stages/0/bowls/0/grams", "a bowl weighs more than nothing"),
    (
        of_bowl(developer_percent=12.5),
        "stages/0/bowls/0/developer_percent",
        "12.5 % is outside 0 to 12 %",
    ),
    (
        of_bowl(developer_percent=1.9, challenge="volume"),
        "stages/0/bowls/0/challenge",
        "1.9 % is no whole volume, so nobody can answer it",
    ),
    (of_bowl(use_within_minutes=0), "stages/0/bowls/0/use_within_minutes", "must be above 0"),
    (
        of_zone(window=window(5, 10, 9)),
        "stages/0/zones/0/window/limit_minutes",
        "the limit (9) is below the target (10)",
    ),
    (
        of_zone(window=window(0, 10, 20)),
        "stages/0/zones/0/window/check_from_minutes",
        "must be above 0",
    ),
    (
        of_zone(window=window(5, 10, 20, 0)),
        "stages/0/zones/0/window/check_every_minutes",
        "must be above 0",
    ),
    (
        of_zone(window=window(5, 10.4, 20), challenge="target"),
        "stages/0/zones/0/challenge",
        "the target is no whole number of minutes, so nobody can answer it",
    ),
    (of_zone(apply_minutes=0), "stages/0/zones/0/apply_minutes", "must be above 0"),
    (of_zone(depth_cm=-1), "stages/0/zones/0/depth_cm", "a depth is not negative"),
    (of_zone(section_mm=0), "stages/0/zones/0/section_mm", "must be above 0"),
]


@pytest.mark.parametrize(("book", "where", "what"), BAD)
def test_a_broken_rule_is_told_alone_and_with_its_place(
    book: Recipe, where: str, what: str
) -> None:
    assert told(book) == [(where, what)]


def test_a_first_check_after_the_target_and_an_order_of_other_zones() -> None:
    assert told(of_zone(window=window(12, 10, 20)))[0][0] == (
        "stages/0/zones/0/window/check_from_minutes"
    )
    other = replace(stage(zone("nape")), rinse_order=("crown",))
    assert told(recipe(other))[0][0] == "stages/0/rinse_order"


def test_a_zone_whose_bowl_is_not_there_and_the_bowl_it_leaves_unused() -> None:
    assert told(of_zone(bowl="end bowl")) == [
        ("stages/0/bowls/0", "no zone uses bowl 'root bowl'"),
        ("stages/0/zones/0/bowl", "zone 'nape' has no bowl 'end bowl' in its stage"),
    ]


def test_a_target_of_less_than_half_a_minute_cannot_be_asked_for() -> None:
    quick = of_zone(window=window(0.2, 0.4, 20), challenge="target")
    assert [where for where, _ in told(quick)] == ["stages/0/zones/0/challenge"]


def test_a_stage_without_a_zone() -> None:
    empty: Stage = replace(stage(zone("nape")), zones=(), rinse_order=())
    assert told(recipe(empty)) == [
        ("stages/0/zones", "the stage has no zone"),
        ("stages/0/bowls/0", "no zone uses bowl 'root bowl'"),
    ]


def test_a_shade_that_cannot_be_read_is_told_as_its_own_rule_tells_it() -> None:
    where, what = told(of_bowl(shade="17/"))[0]
    assert where == "stages/0/bowls/0/shade"
    assert "17/" in what


@pytest.mark.parametrize(
    "asked", [lambda b: b.stages[0].bowl("fog"), lambda b: b.stages[0].zone("moon")]
)
def test_what_a_stage_does_not_have_is_not_found(asked: object) -> None:
    with pytest.raises(KeyError):
        asked(TWO_ZONES)  # type: ignore[operator]


# ------------------------------------------------------------------ scripts


def script(*lines: Line, **more: object) -> Script:
    whole = Script(1, "Test", "a test", lines, ())
    return replace(whole, **more)  # type: ignore[arg-type]


START, LATER = Line(At(5.0), say="start test tap"), Line(At(9.0), talk="lovely weather")
BAD_SCRIPTS = [
    (script(LATER, START), ("lines", 1, "at"), "00:05 is before the line above"),
    (script(Line(At(5.0))), ("lines", 0), "a line does one thing"),
    (script(replace(START, talk="hello")), ("lines", 0), "a line does one thing"),
    (script(replace(START, noise="dryer")), ("lines", 0), "noise and snr_db go together"),
    (script(replace(START, snr_db=10)), ("lines", 0), "noise and snr_db go together"),
    (
        script(START, learned=(Learned("test tap / colour / place", 3),)),
        ("learned", 0, "step"),
        "'test tap / colour / place' names no step",
    ),
    (
        script(START, expect=(Expectation("Due.", At(5.0), At(5.0)),)),
        ("expect", 0),
        "by is not later than after",
    ),
]


@pytest.mark.parametrize(("bad", "where", "what"), BAD_SCRIPTS)
def test_a_broken_rule_of_a_script(bad: Script, where: tuple[str | int, ...], what: str) -> None:
    assert [(at, said) for at, said, _ in script_problems(bad)] == [(where, what)]


def test_a_good_script_has_no_problem() -> None:
    learned = (Learned("test tap / colour / place / nape", 3),)
    want = (Expectation("Due.", At(9.0), At(5.0)),)
    good = script(START, replace(LATER, noise="dryer", snr_db=10), learned=learned, expect=want)
    assert script_problems(good) == []


def test_a_time_is_minutes_and_seconds() -> None:
    assert At.parse(" 75:04 ") == At(75 * 60.0 + 4)
    assert str(At(75 * 60.0 + 4)) == "75:04"
    with pytest.raises(ValueError, match="write minutes and seconds like 12:30"):
        At.parse("half past")
