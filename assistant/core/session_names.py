"""The closed sets of a session: the zones, bowls and recipes that may be named in it."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.core.intents import Names, Words
from assistant.core.recipe import Recipe


def names_of(words: Words, recipes: Mapping[str, Recipe], chairs: int) -> Names:
    """The closed sets of a session: what its recipes name."""
    zones, bowls = {}, {}
    for recipe in recipes.values():
        for stage in recipe.stages:
            zones.update(dict.fromkeys(zone.name for zone in stage.zones))
            bowls.update(dict.fromkeys(bowl.name for bowl in stage.bowls))
    return Names(
        chairs, tuple(zones), tuple(bowls), tuple(recipes), words.notes, words.outcomes, words.feels
    )
