"""How many grams does this head need, and what has this house learned from its own bowls?

Grams = size x load. Of a head that was measured the size is partings x length x depth, the load
grams on a square centimetre; of any other the size is what the recipe mixes, the load the share
that is used up. Both depend on the hand and the hair, so a load starts from a wide guess and is
learned from what bowls weighed when mixed and when they were put down: least squares with a
prior, one bowl at a time.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar, Protocol

from assistant.core.figures import (
    checked_above_zero,
    checked_grams,
    counted,
    exact,
    number_words,
    sentence,
    steps_for,
)
from assistant.errors import SumError

# Below this no scale with whole grams keeps a ratio.
LEAST_BOWL_GRAMS = 20.0
# A few odd records must not teach that product weighs nothing.
_LEAST_LOAD = 0.004
# How many bowls the guess at the noise is worth when the house's own scatter is measured.
_NOISE_GUESS_BOWLS = 4


class Size(Protocol):
    """Something that takes product: its kind has a load, its size is in the load's unit."""

    @property
    def kind(self) -> str:
        """Which load it is multiplied by."""

    @property
    def size(self) -> float:
        """Square centimetres, or grams of a recipe."""


@dataclass(frozen=True, slots=True)
class ZoneSize:
    """A zone as it is worked: how many partings, how long each is, how far down it is painted."""

    kind: str
    partings: int
    length_cm: float
    depth_cm: float

    def __post_init__(self) -> None:
        if self.partings < 0:
            raise SumError(f"{self.partings} partings cannot be: give a number from zero up")
        checked_above_zero(self.length_cm, "the length of a parting")
        checked_above_zero(self.depth_cm, "the depth of a zone")

    @property
    def size(self) -> float:
        """Square centimetres, all partings laid side by side."""
        return self.partings * self.length_cm * self.depth_cm


@dataclass(frozen=True, slots=True)
class Planned:
    """A bowl by the grams that its recipe mixes."""

    grams: float
    kind: ClassVar[str] = "recipe"

    @property
    def size(self) -> float:
        """The grams."""
        return self.grams


def partings_across(extent_cm: float, section_mm: float) -> int:
    """How many partings of a thickness cross a part of the head, the last one counted whole."""
    extent = exact(checked_above_zero(extent_cm, "the part of the head"))
    return math.ceil(extent * 10 / exact(checked_above_zero(section_mm, "a section")))


@dataclass(frozen=True, slots=True)
class BowlRecord:
    """A bowl of an earlier service: what it fed, and its weight before and after."""

    zones: tuple[Size, ...]
    mixed_grams: float
    left_grams: float

    def __post_init__(self) -> None:
        checked_grams(self.mixed_grams, "the bowl as mixed")
        checked_grams(self.left_grams, "the bowl as put down")
        if self.left_grams > self.mixed_grams:
            raise SumError(
                f"{self.left_grams:g} grams cannot be left of {self.mixed_grams:g} mixed: "
                "weigh again, without the brush"
            )

    @property
    def used_grams(self) -> float:
        """What went onto hair, foil and towel."""
        return self.mixed_grams - self.left_grams


@dataclass(frozen=True, slots=True)
class House:
    """What is believed about the loads of one house, and how firmly."""

    kinds: tuple[str, ...]
    loads: tuple[float, ...]  # grams used for each unit of size, one for each kind
    covariance: tuple[tuple[float, ...], ...]
    noise_grams: float  # how far one bowl strays from the rule, for no reason that is known
    bowls: int = 0

    def spread(self, kind: str) -> float:
        """The uncertainty of one load, as a standard deviation."""
        i = self._index(kind)
        return math.sqrt(max(0.0, self.covariance[i][i]))

    def areas(self, zones: Iterable[Size]) -> tuple[float, ...]:
        """How much there is of each kind."""
        sums = [0.0] * len(self.kinds)
        for zone in zones:
            sums[self._index(zone.kind)] += zone.size
        return tuple(sums)

    def _index(self, kind: str) -> int:
        if kind not in self.kinds:
            raise SumError(f"no load is known for {kind!r}: use one of {', '.join(self.kinds)}")
        return self.kinds.index(kind)


def house_from(guesses: dict[str, tuple[float, float]], noise_grams: float = 8.0) -> House:
    """A house that has recorded nothing: for each kind of work a load and its spread."""
    for kind, (load, spread) in guesses.items():
        checked_above_zero(load, f"the load of {kind}")
        checked_above_zero(spread, f"the spread of {kind}")
    spreads = [spread for _, spread in guesses.values()]
    size = range(len(spreads))
    return House(
        tuple(guesses),
        tuple(load for load, _ in guesses.values()),
        tuple(tuple(spreads[i] ** 2 if i == j else 0.0 for j in size) for i in size),
        checked_above_zero(noise_grams, "the noise"),
    )


# First guesses, wide on purpose. Root: about 60 g of mix for a regrowth (predprofil.ru) over
# quarter-inch partings of a head of some 650 cm2 (area from memory), painted 1.5 cm deep.
# Lengths: 2-3 oz of colour at 1:1 on short hair (theapricots.com) over the same partings, 8 cm
# long. Foil: from memory.
NEW_HOUSE = house_from({"root": (0.04, 0.02), "lengths": (0.02, 0.01), "foil": (0.02, 0.01)})
# A recipe that nobody has weighed is taken at its word, give or take a third (a guess).
BY_RECIPE = house_from({Planned.kind: (1.0, 1 / 3)})


def learn(house: House, records: Iterable[BowlRecord]) -> House:
    """The house after these bowls; the order of the bowls does not matter."""
    for record in records:
        house = _learn_one(house, record)
    return house


def _learn_one(house: House, record: BowlRecord) -> House:
    """One step of least squares: move each load by its share in the surprise, and be surer."""
    areas = house.areas(record.zones)
    pull = [_dot(row, areas) for row in house.covariance]
    scatter = _dot(areas, pull) + house.noise_grams**2
    surprise = record.used_grams - _dot(house.loads, areas)
    size = range(len(areas))
    return replace(
        house,
        loads=tuple(house.loads[i] + pull[i] * surprise / scatter for i in size),
        covariance=tuple(
            tuple(house.covariance[i][j] - pull[i] * pull[j] / scatter for j in size) for i in size
        ),
        bowls=house.bowls + 1,
    )


def with_own_noise(prior: House, records: Sequence[BowlRecord]) -> House:
    """The prior with its noise set by how far this house's bowls really stray."""
    learned = learn(prior, records)
    misses = (
        record.used_grams - _dot(learned.loads, learned.areas(record.zones)) for record in records
    )
    squares = math.fsum(miss**2 for miss in misses) + _NOISE_GUESS_BOWLS * prior.noise_grams**2
    return replace(prior, noise_grams=math.sqrt(squares / (len(records) + _NOISE_GUESS_BOWLS)))


@dataclass(frozen=True, slots=True)
class Need:
    """How much to mix, beside what is expected to be used and how unsure that is."""

    grams: float
    expected_grams: float
    spread_grams: float
    at_minimum: bool
    bowls_learned_from: int

    def spoken(self) -> str:
        """The amount first, its reason after it."""
        said = f"mix {counted(self.grams, 'gram')}"
        if self.at_minimum:
            return sentence(f"{said}, the least that can be weighed well")
        said += (
            f": {number_words(round(self.expected_grams))} expected, give or take "
            f"{number_words(max(1, math.ceil(self.spread_grams)))}"
        )
        if self.bowls_learned_from:
            return sentence(f"{said}, from {counted(self.bowls_learned_from, 'bowl')} weighed here")
        return sentence(f"{said}, a first guess: weigh what is left")


def need(
    house: House,
    zones: Sequence[Size],
    *,
    step_grams: float = 1.0,
    minimum_grams: float = LEAST_BOWL_GRAMS,
) -> Need:
    """One spread above the expectation, so that about five bowls in six do not run out."""
    if not zones:
        raise SumError("no zone was named: say which zones this bowl is for")
    areas = house.areas(zones)
    loads = [max(load, _LEAST_LOAD) for load in house.loads]
    expected = _dot(loads, areas)
    doubt = _dot(areas, [_dot(row, areas) for row in house.covariance])
    spread = math.sqrt(max(0.0, doubt) + house.noise_grams**2)
    least = checked_grams(minimum_grams, "the least bowl")
    wanted = checked_grams(max(expected + spread, least), "the bowl")
    step = exact(checked_above_zero(step_grams, "the step of the scale"))
    grams = float(steps_for(exact(wanted), step, never_short=True) * step)
    return Need(grams, expected, spread, expected + spread <= least, house.bowls)


def as_used(planned_grams: float, bowls: Sequence[tuple[float, float]]) -> Need:
    """What to mix of a recipe's bowl, from (grams mixed, grams left) of earlier ones."""
    records = [BowlRecord((Planned(mixed),), mixed, left) for mixed, left in bowls]
    house = learn(with_own_noise(BY_RECIPE, records), records)
    return need(house, [Planned(planned_grams)])


def _dot(left: Iterable[float], right: Iterable[float]) -> float:
    return math.fsum(a * b for a, b in zip(left, right, strict=True))
