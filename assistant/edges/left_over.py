"""How much was left in the bowls of earlier services? Read from the field "left over".

People write "root bowl 15, toner bowl 8": grams as they stand on the scale, without the brush.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from assistant.edges.record_rows import Stored
from assistant.errors import ConfigError

FIELD = "left over"
_ONE = re.compile(r"\s*(?P<bowl>[^\d,]*[^\d,\s])\s*:?\s+(?P<grams>\d+(?:\.\d+)?)\s*g?\s*")
Bowl = tuple[str, str]  # stage and bowl


def read(text: str, service: dict[str, Any]) -> dict[Bowl, float]:
    """Grams left by stage and bowl; `ConfigError` for what this service's bowls cannot have."""
    found: dict[Bowl, float] = {}
    for part in text.split(","):
        said = _ONE.fullmatch(part)
        if said is None:
            raise ConfigError(
                f"{part.strip()!r} cannot be read: write each bowl and its grams, "
                f'for example "root bowl 15, toner bowl 8"'
            )
        name, grams = said["bowl"].rstrip(" :").lower(), float(said["grams"])
        bowl = _bowl(name, service)
        key = (bowl["stage"], bowl["name"])
        if key in found:
            raise ConfigError(f"{name} is given twice: give it once")
        if grams > bowl["grams"]:
            raise ConfigError(
                f"{grams:g} grams cannot be left in the {name}: {bowl['grams']:g} were mixed; "
                "weigh again, without the brush"
            )
        found[key] = grams
    return found


def _bowl(name: str, service: dict[str, Any]) -> dict[str, Any]:
    """The bowl of that name; one that was never mixed holds nothing."""
    bowls: list[dict[str, Any]] = [b for b in service["bowls"] if b["mixed_at"] is not None]
    named = [bowl for bowl in bowls if bowl["name"] == name]
    if not named:
        known = ", ".join(bowl["name"] for bowl in bowls) or "none"
        raise ConfigError(f"no bowl {name!r} was mixed at this service: {known}")
    return named[0]


def weighed(records: Iterable[Stored], recipe: str) -> dict[Bowl, list[tuple[float, float]]]:
    """(grams mixed, grams left) of every weighed bowl of a recipe, the oldest first."""
    found: dict[Bowl, list[tuple[float, float]]] = {}
    for record in records:
        text = record.written().get(FIELD)
        if text is None or record.service["recipe"] != recipe:
            continue
        mixed = {(b["stage"], b["name"]): float(b["grams"]) for b in record.service["bowls"]}
        for bowl, left in read(text, record.service).items():
            found.setdefault(bowl, []).append((mixed[bowl], left))
    return found
