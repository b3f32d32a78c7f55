"""What has to be mixed for a whole recipe, bowl by bowl, and what is wrong with the plan?

Plain values and sentences for `swatchword plan --mix`; nothing here draws or prints.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assistant.core.amounts import NEW_HOUSE, Need, ZoneSize, need, partings_across
from assistant.core.dilute import Blend, Stock, alligate
from assistant.core.figures import checked_above_zero, counted, decimal_text, number_words, sentence
from assistant.core.mix import JUST_COLOUR, BowlMix, Portion, mix_total
from assistant.core.peroxide import OnHead, on_head
from assistant.core.recipe import Bowl, Recipe, Stage, Zone
from assistant.core.shades import Shade
from assistant.errors import SumError

# Up to here a painted band is a root; further down the same hand leaves less on a square
# centimetre. Common practice: a stretch is two to three centimetres and still a root.
_ROOT_CM = 3.0


@dataclass(frozen=True, slots=True)
class Extent:
    """A zone as measured on the head: how far its partings reach across, and how long one is."""

    across_cm: float
    parting_cm: float
    hair_cm: float  # how long the hair is, for zones that take its whole length

    def __post_init__(self) -> None:
        checked_above_zero(self.across_cm, "the part of the head")
        checked_above_zero(self.parting_cm, "the length of a parting")
        checked_above_zero(self.hair_cm, "the length of the hair")


@dataclass(frozen=True, slots=True)
class BowlSheet:
    """One bowl of one stage."""

    stage: str
    bowl: str
    product: str
    mix: BowlMix
    strength: OnHead | None  # None where the bowl takes no peroxide
    developer: Blend | None  # how to make the developer, where it is not on the shelf
    need: Need | None  # None where no zone was measured and the recipe's grams are used
    zones: tuple[str, ...]
    pass_minutes: float
    use_within_minutes: float

    @property
    def outlasted(self) -> bool:
        """True when the bowl is past its time before its last zone is on."""
        return self.pass_minutes >= self.use_within_minutes

    def warnings(self) -> tuple[str, ...]:
        """What to mend before mixing; empty when nothing is."""
        found = []
        if self.strength is not None and self.strength.over_limit:
            found.append(self.strength.spoken())
        if self.outlasted:
            found.append(
                f"Applying takes {counted(self.pass_minutes, 'minute')}, but the bowl lasts "
                f"{number_words(self.use_within_minutes)}. Mix two smaller bowls."
            )
        return tuple(found)

    def sentences(self) -> tuple[str, ...]:
        """Everything about the bowl, what to weigh first."""
        said = [f"{sentence(self.bowl)[:-1]}, {self.product}. {self.mix.spoken()}"]
        if self.need is not None:
            said.append(self.need.spoken())
        if self.developer is not None:
            said.append(f"Developer first. {self.developer.spoken()}")
        if self.strength is not None and not self.strength.over_limit:
            said.append(self.strength.spoken())
        return (*said, *self.warnings())


def mix_sheet(
    recipe: Recipe,
    *,
    extents: Mapping[str, Extent] | None = None,
    shelf: Sequence[Stock] = (),
    step_grams: float = 1.0,
) -> tuple[BowlSheet, ...]:
    """Every bowl in the order of mixing.

    `extents` are measured zones by name: a bowl whose zones are all measured is sized from
    them, any other from the recipe. `shelf` are the developers at hand, in percent: where the
    recipe's is missing, a blend of the two nearest is given.
    """
    measured = extents or {}
    _check_known(recipe, measured)
    return tuple(
        _sheet(stage, bowl, measured, shelf, step_grams)
        for stage in recipe.stages
        for bowl in stage.bowls
    )


def _check_known(recipe: Recipe, measured: Mapping[str, Extent]) -> None:
    known = {zone.name for _, zone in recipe.zones()}
    for name in measured:
        if name not in known:
            raise SumError(f"{recipe.name} has no zone {name!r}: use {', '.join(sorted(known))}")


def _sheet(
    stage: Stage,
    bowl: Bowl,
    measured: Mapping[str, Extent],
    shelf: Sequence[Stock],
    step_grams: float,
) -> BowlSheet:
    zones = [zone for zone in stage.zones if zone.bowl == bowl.name]
    needed = None
    if zones and all(zone.name in measured for zone in zones):
        sizes = [zone_size(zone, measured[zone.name]) for zone in zones]
        needed = need(NEW_HOUSE, sizes, step_grams=step_grams)
    total = needed.grams if needed is not None else bowl.grams
    mix = mix_total(
        total, bowl.ratio, portions_of(bowl), step_grams=step_grams, never_short=needed is not None
    )
    percent = bowl.developer_percent
    return BowlSheet(
        stage.name,
        bowl.name,
        bowl.product,
        mix,
        on_head(percent, bowl.ratio) if percent else None,
        developer_from(shelf, percent, mix.developer.grams, step_grams) if percent else None,
        needed,
        tuple(zone.name for zone in zones),
        sum(zone.apply_minutes for zone in zones),
        bowl.use_within_minutes,
    )


def portions_of(bowl: Bowl) -> tuple[Portion, ...]:
    """The bowl's shade as its digits are spoken, or plain "colour" where it has none."""
    if not bowl.shade:
        return JUST_COLOUR
    return (Portion(Shade.parse(bowl.shade).spoken()),)


def zone_size(zone: Zone, extent: Extent) -> ZoneSize:
    """A recipe's zone on this head; depth 0 takes the hair's whole length."""
    depth = zone.depth_cm or extent.hair_cm
    return ZoneSize(
        _kind(zone, depth),
        partings_across(extent.across_cm, zone.section_mm),
        extent.parting_cm,
        min(depth, extent.hair_cm),
    )


def _kind(zone: Zone, depth_cm: float) -> str:
    if "foil" in f"{zone.name} {zone.tools} {zone.technique}".lower():
        return "foil"
    return "root" if depth_cm <= _ROOT_CM else "lengths"


def developer_from(
    shelf: Sequence[Stock], percent: float, grams: float, step_grams: float = 1.0
) -> Blend | None:
    """None where the developer is on the shelf or no shelf is given; else the two nearest."""
    if not shelf or any(stock.strength == percent for stock in shelf):
        return None
    stronger = [stock for stock in shelf if stock.strength > percent]
    weaker = [stock for stock in shelf if stock.strength < percent]
    if not stronger or not weaker:
        have = ", ".join(f"{decimal_text(stock.strength)} %" for stock in shelf)
        raise SumError(
            f"{decimal_text(percent)} % cannot be made from {have}: put a "
            f"{'stronger' if not stronger else 'weaker'} developer on the shelf"
        )
    pair = [min(stronger, key=_strength), max(weaker, key=_strength)]
    return alligate(pair, percent, grams, step_grams=step_grams)


def _strength(stock: Stock) -> float:
    return stock.strength
