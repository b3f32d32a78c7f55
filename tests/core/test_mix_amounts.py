"""Does a house learn from its bowls, and does it say how unsure it is?"""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from assistant.core.amounts import (
    LEAST_BOWL_GRAMS,
    NEW_HOUSE,
    BowlRecord,
    House,
    ZoneSize,
    as_used,
    house_from,
    learn,
    need,
    partings_across,
    with_own_noise,
)
from assistant.errors import SumError

calm = settings(deadline=None)
zones = st.builds(
    ZoneSize,
    kind=st.sampled_from(NEW_HOUSE.kinds),
    partings=st.integers(1, 60),
    length_cm=st.floats(2, 20),
    depth_cm=st.floats(0.5, 10),
)
records = st.builds(
    lambda zones, mixed, left: BowlRecord(tuple(zones), mixed, mixed * left),
    st.lists(zones, min_size=1, max_size=3),
    st.floats(20, 200),
    st.floats(0, 1),
)


def numpy_answer(prior: House, bowls: Sequence[BowlRecord]) -> tuple[np.ndarray, np.ndarray]:
    """The same least squares by numpy: the prior is one more line of the system for each load."""
    spreads = np.array([prior.spread(kind) for kind in prior.kinds])
    areas = np.array([prior.areas(bowl.zones) for bowl in bowls]) / prior.noise_grams
    used = np.array([bowl.used_grams for bowl in bowls]) / prior.noise_grams
    system = np.vstack([areas, np.diag(1 / spreads)])
    answer = np.concatenate([used, np.array(prior.loads) / spreads])
    loads, *_ = np.linalg.lstsq(system, answer, rcond=None)
    return loads, np.linalg.inv(system.T @ system)


@calm
@given(st.lists(records, min_size=1, max_size=8))
def test_learning_agrees_with_numpy_least_squares(bowls: list[BowlRecord]) -> None:
    loads, covariance = numpy_answer(NEW_HOUSE, bowls)
    learned = learn(NEW_HOUSE, bowls)
    assert np.array(learned.loads) == pytest.approx(loads, rel=1e-5, abs=1e-8)
    assert np.array(learned.covariance) == pytest.approx(covariance, rel=1e-4, abs=1e-12)
    assert learned.bowls == len(bowls)


def test_learning_agrees_with_scipy_when_the_prior_is_weak() -> None:
    vague = house_from({"root": (0.04, 50.0), "lengths": (0.02, 50.0)})
    bowls = [
        BowlRecord((ZoneSize("root", 40, 15, 1.5),), 60, 8),
        BowlRecord((ZoneSize("root", 36, 15, 2.0), ZoneSize("lengths", 36, 15, 4)), 120, 15),
        BowlRecord((ZoneSize("lengths", 30, 15, 8),), 90, 5),
        BowlRecord((ZoneSize("root", 44, 16, 1.2),), 55, 12),
    ]
    areas = np.array([vague.areas(bowl.zones) for bowl in bowls])
    used = np.array([bowl.used_grams for bowl in bowls])
    plain = lsq_linear(areas, used).x
    assert np.array(learn(vague, bowls).loads) == pytest.approx(plain, rel=1e-4)


@calm
@given(st.lists(records, min_size=2, max_size=6), st.randoms())
def test_the_order_of_the_records_does_not_matter(
    bowls: list[BowlRecord], shuffle: "np.random.Generator"
) -> None:
    mixed = list(bowls)
    shuffle.shuffle(mixed)
    assert learn(NEW_HOUSE, mixed).loads == pytest.approx(learn(NEW_HOUSE, bowls).loads, abs=1e-9)


@calm
@given(st.lists(records, min_size=1, max_size=6))
def test_every_bowl_makes_it_surer(bowls: list[BowlRecord]) -> None:
    before, after = NEW_HOUSE, learn(NEW_HOUSE, bowls)
    for kind in before.kinds:
        assert after.spread(kind) <= before.spread(kind) + 1e-12


@calm
@given(st.floats(0.02, 0.06))
def test_it_finds_the_load_of_a_steady_hand(load: float) -> None:
    sizes = [ZoneSize("root", partings, 15, 1.5) for partings in range(25, 65)]
    bowls = [BowlRecord((size,), 100, 100 - load * size.size) for size in sizes]
    learned = learn(NEW_HOUSE, bowls)
    assert learned.loads[0] == pytest.approx(load, rel=0.03)
    assert abs(learned.loads[0] - load) <= 3 * learned.spread("root")


@calm
@given(st.lists(records, max_size=5), st.lists(zones, min_size=1, max_size=3), zones)
def test_more_hair_never_needs_less(
    bowls: list[BowlRecord], few: list[ZoneSize], extra: ZoneSize
) -> None:
    house = learn(NEW_HOUSE, bowls)
    try:
        large = need(house, [*few, extra])
    except SumError:
        return  # past what a bowl can hold: refused in a test below
    assert need(house, few).expected_grams <= large.expected_grams


@calm
@given(st.lists(records, max_size=5), zones)
def test_never_below_the_minimum_nor_below_the_expectation(
    bowls: list[BowlRecord], zone: ZoneSize
) -> None:
    try:
        found = need(learn(NEW_HOUSE, bowls), [zone], step_grams=5)
    except SumError:
        return
    assert found.grams >= LEAST_BOWL_GRAMS
    assert found.grams >= found.expected_grams + found.spread_grams - 1e-9
    assert found.grams % 5 == 0
    assert found.expected_grams > 0


def test_about_five_bowls_in_six_do_not_run_out() -> None:
    """Houses drawn from the prior, bowls from their noise: the spread that is said must be real.

    Synthetic by design; it shows that the sum is honest about its own model, not how any real
    salon behaves.
    """
    rng = np.random.default_rng(2026)
    sizes = [ZoneSize("root", partings, 15, 1.5) for partings in (30, 36, 40, 44, 50, 56)]
    enough = 0
    for _ in range(2000):
        load = rng.normal(NEW_HOUSE.loads[0], NEW_HOUSE.spread("root"))
        used = [load * size.size + rng.normal(0, NEW_HOUSE.noise_grams) for size in sizes]
        if min(used) <= 0:
            used = [max(0.0, grams) for grams in used]
        seen = [BowlRecord((size,), 300, 300 - u) for size, u in zip(sizes[:5], used, strict=False)]
        asked = need(learn(NEW_HOUSE, seen), sizes[5:], step_grams=0.1, minimum_grams=0)
        enough += used[5] <= asked.grams
    assert enough / 2000 == pytest.approx(0.841, abs=0.025)  # a normal's share below one spread


def test_a_single_parting_is_a_zone_and_none_needs_nothing_but_the_minimum() -> None:
    assert need(NEW_HOUSE, [ZoneSize("root", 0, 15, 1)]).at_minimum
    assert ZoneSize("root", 1, 15, 2).size == 30


def test_the_minimum_is_said_only_where_it_decides() -> None:
    size = ZoneSize("root", 40, 15, 1.5)
    free = need(NEW_HOUSE, [size], step_grams=1)
    above = need(NEW_HOUSE, [size], minimum_grams=free.grams + 1)
    below = need(NEW_HOUSE, [size], minimum_grams=free.expected_grams)
    assert (free.at_minimum, above.at_minimum, below.at_minimum) == (False, True, False)
    assert (above.grams, below.grams) == (free.grams + 1, free.grams)


def test_odd_records_cannot_teach_that_product_weighs_nothing() -> None:
    nothing_used = BowlRecord((ZoneSize("root", 60, 20, 5),), 80, 80)
    house = learn(NEW_HOUSE, [nothing_used] * 50)
    found = need(house, [ZoneSize("root", 40, 15, 1.5)])
    assert found.grams == LEAST_BOWL_GRAMS
    assert found.at_minimum
    assert found.spoken() == "Mix twenty grams, the least that can be weighed well."


def test_the_noise_is_learned_from_scatter() -> None:
    size = ZoneSize("root", 40, 15, 1.5)
    steady = [BowlRecord((size,), 60, 24.0)] * 12
    unsteady = [BowlRecord((size,), 80, 80 - used) for used in (10, 62) * 6]
    calm_house, wild_house = with_own_noise(NEW_HOUSE, steady), with_own_noise(NEW_HOUSE, unsteady)
    assert calm_house.noise_grams < NEW_HOUSE.noise_grams < wild_house.noise_grams
    assert with_own_noise(NEW_HOUSE, []) == NEW_HOUSE


def test_it_says_how_unsure_it_is() -> None:
    root = ZoneSize("root", partings_across(40, 6.35), 16, 1.5)
    assert need(NEW_HOUSE, [root]).spoken() == (
        "Mix ninety two grams: sixty expected, give or take thirty two, a first guess: weigh "
        "what is left."
    )
    house = learn(NEW_HOUSE, [BowlRecord((root,), 70, 12)] * 5)
    assert need(house, [root]).spoken() == (
        "Mix sixty seven grams: fifty eight expected, give or take nine, from five bowls weighed "
        "here."
    )


@pytest.mark.parametrize(
    ("extent", "section", "partings"), [(40, 6.35, 63), (10, 10, 10), (10, 9, 12), (0.4, 5, 1)]
)
def test_partings_across(extent: float, section: float, partings: int) -> None:
    assert partings_across(extent, section) == partings


def test_sizes_and_records_that_cannot_be_are_refused() -> None:
    good = ZoneSize("root", 10, 10, 1)
    for bad in ((-1, 10.0, 1.0), (10, 0.0, 1.0), (10, 10.0, -1.0), (10, math.nan, 1.0)):
        with pytest.raises(SumError):
            ZoneSize("root", *bad)
    with pytest.raises(SumError, match="cannot be left of"):
        BowlRecord((good,), 50, 60)
    for mixed, left in ((-1, -2), (50, -1), (math.nan, 5)):
        with pytest.raises(SumError):
            BowlRecord((good,), mixed, left)
    with pytest.raises(SumError, match="no load is known"):
        need(NEW_HOUSE, [ZoneSize("beard", 10, 10, 1)])
    with pytest.raises(SumError, match="no zone"):
        need(NEW_HOUSE, [])
    with pytest.raises(SumError, match="is a point missing"):
        need(NEW_HOUSE, [ZoneSize("lengths", 1000, 50, 50)])
    with pytest.raises(SumError):
        partings_across(40, 0)
    for load, spread in ((0.04, 0), (0, 0.02)):
        with pytest.raises(SumError):
            house_from({"root": (load, spread)})


def test_a_house_begins_with_what_it_was_told_and_one_kind_teaches_nothing_of_another() -> None:
    house = house_from({"root": (0.04, 0.02), "foil": (0.02, 0.01)})
    assert house.spread("root") == pytest.approx(0.02)
    taught = learn(house, [BowlRecord((ZoneSize("root", 10, 10, 10),), 60, 10)])
    assert taught.loads[0] > 0.04
    assert (taught.loads[1], taught.spread("foil")) == (0.02, pytest.approx(0.01))


def test_the_doubt_is_that_of_the_load_and_of_the_bowl_together() -> None:
    """A thousand square centimetres: 1000 x 0.003 = 3 grams of doubt, with 4 of noise 5."""
    zone = ZoneSize("root", 10, 10, 10)
    told = need(house_from({"root": (0.04, 0.003)}, noise_grams=4), [zone])
    assert (told.expected_grams, told.spread_grams) == (pytest.approx(40), pytest.approx(5))
    sure = need(house_from({"root": (0.04, 1e-6)}, noise_grams=0.3), [zone])
    assert sure.spread_grams == pytest.approx(0.3, abs=1e-4)
    assert "forty expected, give or take one," in sure.spoken()


@pytest.mark.parametrize(
    ("kind", "grams", "spread"), [("root", 40, 20), ("lengths", 20, 10), ("foil", 20, 10)]
)
def test_first_guesses_are_wide(kind: str, grams: float, spread: float) -> None:
    """For a thousand square centimetres; the sources stand beside the guesses."""
    told = need(NEW_HOUSE, [ZoneSize(kind, 10, 10, 10)])
    assert told.expected_grams == pytest.approx(grams)
    assert told.spread_grams == pytest.approx(math.hypot(spread, 8))  # a bowl strays by eight


def test_a_recipe_that_nobody_has_weighed_is_taken_at_its_word_give_or_take_a_third() -> None:
    told = as_used(60, [])
    assert told.expected_grams == pytest.approx(60)
    assert told.spread_grams == pytest.approx(math.hypot(20, 8))
