"""In which order would the zones of a stage best be put on, and why?

A proposal with its reason: the recipe's own order stands until somebody decides otherwise.
Resistant zones want the most time, warm zones near the scalp the least when hair is lightened.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.core import plan_head
from assistant.core.figures import counted, listed, sentence
from assistant.core.recipe import Stage, Zone

# Hairline and temples take colour slowest (textbook question set, quizlet 6005402).
RESISTANT = ("hairline", "temples")
# Lightener starts half an inch off the scalp and the scalp follows (open textbook, BCcampus 2021,
# section 4.5): within this depth a zone is near the scalp.
NEAR_SCALP_CM = 1.9
_LIGHTENS = ("lighten", "bleach", "high lift", "high-lift")


@dataclass(frozen=True, slots=True)
class Order:
    """A proposed order, what speaks for it, and whether it differs from the recipe's."""

    zones: tuple[str, ...]
    reasons: tuple[str, ...]
    changed: bool
    apart_minutes: float  # from the first target to the last, in this order
    apart_before: float  # the same in the recipe's order

    def sentences(self) -> tuple[str, ...]:
        """The proposal as it is read."""
        if not self.changed:
            return ("The order of the recipe stands.", *self.reasons)
        told = f"a better order may be {listed(self.zones)}"
        return (sentence(told), *self.reasons)


def best_order(stage: Stage, resistant: Sequence[str] = RESISTANT) -> Order:
    """The order in which targets come closest together, warm zones last where hair is lightened.

    Zones that wait for their start keep their place at the end.
    """
    at_once = [zone for zone in stage.zones if not zone.wait_for_start]
    waiting = [zone for zone in stage.zones if zone.wait_for_start]
    lightens = _lightens(stage)
    ranked = sorted(at_once, key=lambda zone: _rank(stage, zone, resistant, lightens))
    zones = tuple(zone.name for zone in (*ranked, *waiting))
    changed = ranked != at_once
    reasons = tuple(_reasons(stage, ranked, resistant, lightens)) if changed else ()
    apart, before = _apart(stage, (*ranked, *waiting)), _apart(stage, stage.zones)
    if changed and apart < before:
        nearer = counted(round(before - apart), "minute")
        reasons = (*reasons, f"The targets then lie {nearer} closer together.")
    return Order(zones, reasons, changed, apart, before)


def _rank(
    stage: Stage, zone: Zone, resistant: Sequence[str], lightens: bool
) -> tuple[bool, bool, float]:
    """Last: the warm scalp. First: what resists, then the longest target of its own clock."""
    warm = lightens and _near_scalp(zone)
    own = -zone.window.target_minutes if stage.counts_from == "own" else 0.0
    return warm, zone.name not in resistant, own


def _lightens(stage: Stage) -> bool:
    return any(word in bowl.product.lower() for bowl in stage.bowls for word in _LIGHTENS)


def _near_scalp(zone: Zone) -> bool:
    return 0 < zone.depth_cm <= NEAR_SCALP_CM


def _reasons(
    stage: Stage, ranked: Sequence[Zone], resistant: Sequence[str], lightens: bool
) -> list[str]:
    told = []
    slow = [zone.name for zone in ranked if zone.name in resistant]
    if slow:
        told.append(sentence(f"{listed(slow)} resists, so it gets the most time"))
    warm = [zone.name for zone in ranked if lightens and _near_scalp(zone)]
    if warm and len(warm) < len(ranked):
        told.append(sentence(f"{listed(warm)} is warm at the scalp and lifts fast, so it is last"))
    if stage.counts_from == "own" and not slow:
        first = ranked[0]
        minutes = counted(first.window.target_minutes, "minute")
        told.append(sentence(f"{first.name} needs longest, {minutes}, so it goes first"))
    return told


def _apart(stage: Stage, zones: Sequence[Zone]) -> float:
    """Minutes between the first and the last target, passes one after another."""
    planned = plan_head.passes(stage, zones)
    targets = [plan.clock.target_at for plan in planned]
    return (max(targets) - min(targets)) / 60
