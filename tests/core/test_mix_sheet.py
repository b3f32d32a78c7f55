"""Does the sheet of a recipe weigh every bowl, size it from the head, and see what is wrong?"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.amounts import NEW_HOUSE, BowlRecord, learn, need
from assistant.core.dilute import Stock
from assistant.core.mix import Ratio
from assistant.core.mix_sheet import Extent, developer_from, mix_sheet, zone_size
from assistant.core.recipe import Bowl, Recipe, Stage, Window, Zone
from assistant.errors import SumError

calm = settings(deadline=None)
WINDOW = Window(10, 20, 30, 5, "invented for this test", "M")
ROOT_BOWL = Bowl("root bowl", "demi colour", Ratio.parse("1:2"), 3, 45, 30, "test", "M", "7.1")
TONER = Bowl("toner", "toner", Ratio.parse("1:1"), 1.5, 60, 30, "test", "M")


def zone(name: str, bowl: str, depth: float, minutes: float = 8) -> Zone:
    return Zone(name, bowl, depth, 6, minutes, WINDOW, "brush", "paint", "edges", "why")


RECIPE = Recipe(
    1,
    "root melt",
    "Root melt",
    "why",
    (),
    (),
    "damp",
    "basin",
    (
        Stage(
            "melt",
            "own",
            (ROOT_BOWL, TONER),
            (zone("crown", "root bowl", 1), zone("nape", "root bowl", 1), zone("ends", "toner", 0)),
            ("crown", "nape", "ends"),
            "cool",
        ),
    ),
    (),
    (),
)


def changed(bowl: Bowl) -> Recipe:
    stage = RECIPE.stages[0]
    bowls = tuple(bowl if old.name == bowl.name else old for old in stage.bowls)
    return replace(RECIPE, stages=(replace(stage, bowls=bowls),))


def test_every_bowl_is_weighed_from_the_recipe() -> None:
    root, toner = mix_sheet(RECIPE)
    assert root.zones == ("crown", "nape")
    assert root.pass_minutes == 16
    assert root.sentences() == (
        "Root bowl, demi colour. One to two: fifteen grams of seven point one and thirty grams "
        "of developer, forty five together.",
        "Two percent peroxide on the head.",
    )
    assert toner.sentences()[0].startswith("Toner, toner. One to one: thirty grams of colour")
    assert root.warnings() == toner.warnings() == ()


def test_a_measured_head_sizes_its_bowls() -> None:
    extents = {"crown": Extent(20, 16, 30), "nape": Extent(14, 14, 30)}
    root, toner = mix_sheet(RECIPE, extents=extents)
    assert toner.need is None  # its zone was not measured
    sizes = [zone_size(z, extents[z.name]) for z in RECIPE.stages[0].zones[:2]]
    assert root.need == need(NEW_HOUSE, sizes)
    assert root.mix.total_grams >= root.need.grams


def test_a_house_that_weighs_what_is_left_is_surer() -> None:
    extents = {"crown": Extent(20, 16, 30), "nape": Extent(14, 14, 30)}
    sizes = tuple(zone_size(z, extents[z.name]) for z in RECIPE.stages[0].zones[:2])
    learned = need(learn(NEW_HOUSE, [BowlRecord(sizes, 60, 12)] * 6), sizes)
    assert learned.spread_grams < need(NEW_HOUSE, sizes).spread_grams
    assert abs(learned.expected_grams - 48) < 6


def test_depth_nought_takes_the_whole_length_and_short_hair_caps_a_depth() -> None:
    ends = RECIPE.stages[0].zones[2]
    assert zone_size(ends, Extent(20, 16, 30)).depth_cm == 30
    assert zone_size(ends, Extent(20, 16, 30)).kind == "lengths"
    assert zone_size(zone("root", "b", 3), Extent(20, 16, 2)).depth_cm == 2
    kinds = [zone_size(zone("z", "b", cm), Extent(20, 16, 30)).kind for cm in (0.5, 3, 3.5, 12)]
    assert kinds == ["root", "root", "lengths", "lengths"]
    assert zone_size(zone("foils", "b", 0), Extent(20, 16, 30)).kind == "foil"


def test_a_pass_that_outlasts_its_bowl_is_warned_about() -> None:
    root, _ = mix_sheet(changed(replace(ROOT_BOWL, use_within_minutes=16)))
    assert root.outlasted
    assert root.warnings() == (
        "Applying takes sixteen minutes, but the bowl lasts sixteen. Mix two smaller bowls.",
    )


def test_too_strong_on_the_head_is_flagged() -> None:
    root, _ = mix_sheet(changed(replace(ROOT_BOWL, developer_percent=21)))
    assert "over twelve" in root.warnings()[0]
    assert sum("over twelve" in said for said in root.sentences()) == 1


def test_without_peroxide_there_is_no_strength() -> None:
    root, _ = mix_sheet(changed(replace(ROOT_BOWL, developer_percent=0)))
    assert root.strength is None
    assert len(root.sentences()) == 1


def test_a_missing_developer_is_made_from_the_two_nearest() -> None:
    shelf = [Stock(f"{p} percent", p) for p in (12, 6, 1.5)]
    root, toner = mix_sheet(RECIPE, shelf=shelf)
    assert root.developer is not None
    assert [(pour.what, pour.grams) for pour in root.developer.pours] == [
        ("6 percent", 10),
        ("1.5 percent", 20),
    ]
    assert toner.developer is None  # 1.5 % is on the shelf
    assert root.sentences()[1].startswith("Developer first. Three percent: ten grams of 6 percent")


@calm
@given(
    st.lists(st.integers(1, 12).map(float), min_size=2, max_size=5, unique=True), st.floats(1, 12)
)
def test_a_developer_is_on_the_shelf_or_made_or_refused(shelf: list[float], wish: float) -> None:
    stocks = [Stock(f"bottle {p}", p) for p in shelf]
    if min(shelf) <= wish <= max(shelf):
        blend = developer_from(stocks, wish, 60, 0.1)
        assert (blend is None) == (wish in shelf)
        if blend is not None:
            assert blend.total_grams == pytest.approx(60)
            assert blend.strength == pytest.approx(wish, abs=0.03)
    else:
        with pytest.raises(SumError, match=r"put a (stronger|weaker) developer"):
            developer_from(stocks, wish, 60, 0.1)


def test_a_zone_that_is_not_in_the_recipe_is_refused() -> None:
    with pytest.raises(SumError, match="root melt has no zone 'fringe': use crown, ends, nape"):
        mix_sheet(RECIPE, extents={"fringe": Extent(1, 1, 1)})
