"""Timing of one head and of several against published examples. The source is beside each check.

Minutes from trade pages are examples there as here; what is checked is the sum, not the advice.
"""

from __future__ import annotations

import pytest

from assistant.core import clocks, plan_head
from assistant.core.clocks import MINUTE
from assistant.core.plan_order import RESISTANT, best_order
from assistant.core.recipe import Stage
from tests.core.days import shipped
from tests.core.recipes import recipe, stage, window, zone
from tests.core.service import Service


def two_halves(limit: float = 40) -> Stage:
    """Foils on two halves, each counted from its own start, target thirty minutes."""
    wide = window(20, 30, limit)
    return stage(zone("left half", window=wide), zone("right half", window=wide))


@pytest.mark.parametrize(("total", "root"), [(30, 10), (35, 15), (45, 25)])
def test_hot_roots_share_one_total(total: int, root: int) -> None:
    """Lengths first, the root 20 minutes later, and the recommended time counts those 20
    (black-hair-news.blogspot.com, November 2011): the root gets 10, 15 or 25."""
    made = stage(
        zone("lengths", window=window(1, total, total)),
        zone("roots", window=window(1, total, total), wait_for_start=True, start_after_minutes=20),
        counts_from="shared",
    )
    lengths, roots = (p.clock for p in plan_head.passes(made, made.zones))
    assert roots.started_at - lengths.started_at == 20 * MINUTE
    assert (roots.target_at - roots.started_at) / MINUTE == root
    assert roots.limit_at == lengths.limit_at == lengths.started_at + total * MINUTE


def test_foils_ten_minutes_apart_are_due_ten_minutes_apart() -> None:
    """A client's account (erstwhilelibrarian.blogspot.com, April 2007): one half ten minutes
    later, all rinsed together. Target 30: due at 30 and 40; one rinse at 40 leaves the first 40."""
    made = two_halves()
    first = clocks.clock(made, "left half", 0, 0)
    second = clocks.clock(made, "right half", 10 * MINUTE, 0)
    assert (first.target_at / MINUTE, second.target_at / MINUTE) == (30, 40)
    assert second.target_at - first.started_at == 40 * MINUTE


def test_the_first_half_is_called_at_thirty() -> None:
    """The same account: it must be warned of at 30, not found at 40."""
    service = Service(recipe(two_halves())).at("00:00")
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    service.hear("left half is on")
    service.at("10:00").hear("right half is on")
    service.at("31:00")
    assert next(at for at, text in service.said if "Left half" in text and "Due" in text) == 1800


def test_with_a_limit_of_thirty_five_the_halves_need_two_rinses() -> None:
    """The same account with a limit: 20 to 28 and 30 to 38 have no common moment."""
    tight = window(20, 24, 28)
    made = stage(zone("left half", window=tight), zone("right half", window=tight))
    halves = [
        clocks.clock(made, name, at * MINUTE, 0)
        for name, at in (("left half", 0), ("right half", 10))
    ]
    assert [g.zones for g in clocks.rinses(halves)] == [("left half",), ("right half",)]


@pytest.mark.parametrize(("every", "looks"), [(5, [5, 10, 15]), (7, [7, 14])])
def test_toner_is_looked_at_every_five_to_seven_minutes(every: int, looks: list[int]) -> None:
    """Toner usually 15, looked at every 5 to 7 (educator's page on colour consistency)."""
    made = stage(zone("lengths", window=window(every, 15, 20, every=every)))
    service = Service(recipe(made)).at("00:00")
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    service.hear("lengths is on")
    called = []
    for look in looks:
        service.at(f"{look:02d}:01")
        called.append(
            [at / 60 for at, text in service.said if "Lengths" in text and "heck" in text][-1]
        )
        service.hear("lengths is not ready")
    assert called == pytest.approx(looks, abs=0.05)


def test_resistant_areas_are_hairline_and_temples() -> None:
    """Textbook question set (quizlet.com/6005402): hairline and temples resist colour."""
    assert set(RESISTANT) == {"hairline", "temples"}
    made = stage(zone("crown"), zone("temples"), zone("hairline"), counts_from="shared")
    assert set(best_order(made).zones[:2]) == {"hairline", "temples"}


def test_lightener_starts_in_the_darkest_sections() -> None:
    """Open textbook (Magtiza, BCcampus 2021, section 4.5): the darkest, usually the back, first."""
    foils = shipped()["quarter foils"].stages[0]
    assert [z.name for z in foils.zones][:2] == ["back left", "back right"]
    assert best_order(foils).zones[:2] == ("back left", "back right")


def test_lightener_never_past_forty_five_minutes() -> None:
    """Product help page title and hairsurban.com p=19616: lightener 15 to 45, never past 45."""
    foils = shipped()["quarter foils"]
    for zone_plan in plan_head.service_plan(foils)[0].zones:
        assert zone_plan.clock.limit_at - zone_plan.clock.started_at == 45 * MINUTE


def test_toner_never_past_twenty_minutes() -> None:
    """Educator's page: usually 15, "never over 20"."""
    for name in ("root melt", "quarter foils"):
        for plan in plan_head.service_plan(shipped()[name]):
            for z in plan.zones:
                if z.zone.bowl == "toner bowl":
                    assert z.clock.limit_at - z.clock.started_at <= 20 * MINUTE


def test_the_planned_rinse_of_every_shipped_recipe_keeps_the_published_maximum() -> None:
    """Grades differ, the recipe's own limit is its source's longest time: no plan is past it."""
    for made in shipped().values():
        for plan in plan_head.service_plan(made):
            for z in plan.zones:
                at = next(
                    at
                    for r, at in zip(plan.rinses, plan.rinse_at, strict=True)
                    if z.zone.name in r.zones
                )
                assert at <= z.clock.limit_at
