"""What `swatchword plan` says of bowls: one to weigh, a strength to make, those of a recipe."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path

from assistant.cli import salon_records
from assistant.core.amounts import as_used
from assistant.core.dilute import Stock, alligate
from assistant.core.figures import listed, number_given
from assistant.core.mix import BowlMix, Ratio, mix_for_colour, mix_total
from assistant.core.mix_sheet import Extent, mix_sheet
from assistant.core.peroxide import both_ways, on_head, percent_from_volume
from assistant.core.recipe import Recipe
from assistant.edges import left_over
from assistant.errors import ConfigError, SumError

_MEASURED = re.compile(r"(?P<zone>[^=]+)=(?P<across>[\d.]+)x(?P<parting>[\d.]+)")


def of_total(grams: str, ratio: str, developer: str | None) -> list[str]:
    """One bowl of so many grams in all."""
    parts = Ratio.parse(ratio)
    return _bowl(mix_total(number_given(grams, "the bowl"), parts), parts, developer)


def of_colour(grams: str, ratio: str, developer: str | None) -> list[str]:
    """The bowl for so many grams of colour that are squeezed out already."""
    parts = Ratio.parse(ratio)
    return _bowl(mix_for_colour(number_given(grams, "the colour"), parts), parts, developer)


def _bowl(mix: BowlMix, ratio: Ratio, developer: str | None) -> list[str]:
    lines = [mix.spoken()]
    if developer is not None:
        percent = _percent(developer)
        lines += [both_ways(percent), on_head(percent, ratio).spoken()]
    return lines


def _percent(text: str) -> float:
    """ "6" is percent, "20vol" volume."""
    if text.endswith("vol"):
        return percent_from_volume(number_given(text.removesuffix("vol"), "the volume"))
    return number_given(text.removesuffix("%"), "the developer")


def strength(grams: str, percent: str, stocks: str | None) -> list[str]:
    """A developer that is not on the shelf."""
    if not stocks:
        raise SumError("dilute from what? Give the strengths at hand: --from 12,3 (0 is water)")
    blend = alligate(_shelf(stocks), _percent(percent), number_given(grams, "the blend"))
    return [blend.spoken()]


def _shelf(text: str | None) -> list[Stock]:
    """Developers by their strength; 0 is water."""
    strengths = [_percent(part.strip()) for part in text.split(",")] if text else []
    return [Stock(f"{s:g} percent" if s else "water", s) for s in strengths]


def of_recipe(
    recipe: Recipe, shelf: str | None, measured: Sequence[str], hair: str | None
) -> Iterator[str]:
    """Every bowl of a recipe; zones that were measured decide on its grams."""
    extents = _extents(measured, hair)
    for sheet in mix_sheet(recipe, shelf=_shelf(shelf), extents=extents):
        yield from sheet.sentences()
        missing = [zone for zone in sheet.zones if zone not in extents]
        if extents and missing:
            yield f"From the recipe: {listed(missing)} not measured."


def _extents(measured: Sequence[str], hair: str | None) -> dict[str, Extent]:
    """ "nape=14x12": its partings reach 14 cm across the head, one is 12 cm long."""
    if measured and hair is None:
        raise SumError("how long is the hair? Give it in centimetres: --hair 30")
    found = {}
    for text in measured:
        said = _MEASURED.fullmatch(text)
        if said is None:
            raise SumError(
                f"{text!r} cannot be read: write ZONE=ACROSSxPARTING in centimetres, "
                "for example nape=14x12"
            )
        across, parting = (number_given(said[part], text) for part in ("across", "parting"))
        name = said["zone"].strip().replace("-", " ")
        found[name] = Extent(across, parting, number_given(hair or "", "the hair"))
    return found


def as_used_here(recipe: Recipe, store: Path | None) -> Iterator[str]:
    """What earlier bowls of this recipe really took, from the records."""
    weighed = {}
    if store is not None or salon_records.path_of(store).is_file():
        with closing(salon_records.opened(store)) as records:
            weighed = left_over.weighed(records.all(), recipe.name)
    if not weighed:
        raise ConfigError(
            f"no bowl of {recipe.name} was weighed yet: after a service write down what is "
            f"left, `swatchword records correct ID '{left_over.FIELD}' 'root bowl 15'`"
        )
    for stage in recipe.stages:
        for bowl in stage.bowls:
            if found := weighed.get((stage.name, bowl.name)):
                yield f"{bowl.name.capitalize()}. {as_used(bowl.grams, found).spoken()}"
