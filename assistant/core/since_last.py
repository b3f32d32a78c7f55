"""What was different last time? The recipe then and now, times planned and real, notes."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.core import numbers
from assistant.core.client_card import PastBowl, PastVisit, PastZone
from assistant.core.mix import Ratio
from assistant.core.recipe import Bowl, Recipe, Zone
from assistant.core.replies import Reply, reply

WORTH_SAYING = 2.0  # minutes between planned and real
MOST_SAID = 2  # differences of one kind; the sheet has them all


def differences(last: PastVisit, recipe: Recipe) -> list[Reply]:
    """What to know before it is done again, the first of each kind."""
    changed = [*_bowls(last, recipe), *_zones(last, recipe)]
    said = changed[:MOST_SAID] or [reply("same_recipe")]
    if len(changed) > MOST_SAID:
        said.append(reply("same_more", count=len(changed) - MOST_SAID))
    said += [*_times(last)][:MOST_SAID]
    left_out = tuple(zone.name for zone in last.zones if zone.left_out)
    if left_out:
        said.append(reply("same_left_out", zones=left_out))
    if last.outcome:
        said.append(reply("same_outcome", outcome=", ".join(last.outcome)))
    if last.notes:
        said.append(reply("same_notes", notes=", ".join(last.notes)))
    return said


def _bowls(last: PastVisit, recipe: Recipe) -> Iterator[Reply]:
    now = {(stage.name, bowl.name): bowl for stage in recipe.stages for bowl in stage.bowls}
    for bowl in last.bowls:
        today = now.pop((bowl.stage, bowl.name), None)
        if today is None:
            yield reply("same_gone", subject=bowl.name)
        elif (was := _mix_then(bowl)) != (becomes := _mix_now(today)):
            yield reply("same_bowl", bowl=bowl.name, then=was, today=becomes)
        elif bowl.shade != today.shade:
            yield reply("same_shade", bowl=bowl.name)
    yield from (reply("same_new", subject=name) for _, name in now)


def _zones(last: PastVisit, recipe: Recipe) -> Iterator[Reply]:
    now = {(recipe.stages[index].name, zone.name): zone for index, zone in recipe.zones()}
    for zone in last.zones:
        today = now.pop((zone.stage, zone.name), None)
        if today is None:
            yield reply("same_gone", subject=zone.name)
        elif (was := _window_then(zone)) != (becomes := _window_now(today)):
            yield reply("same_window", zone=zone.name, then=was, today=becomes)
    yield from (reply("same_new", subject=name) for _, name in now)


def _times(last: PastVisit) -> Iterator[Reply]:
    """Zones that were on for other than the planned minutes, the furthest first."""
    off = [
        (abs(zone.minutes_on - zone.target_minutes), zone)
        for zone in last.zones
        if zone.minutes_on is not None
    ]
    for far, zone in sorted(off, key=lambda pair: -pair[0]):
        if far >= WORTH_SAYING and zone.minutes_on is not None:
            yield reply(
                "same_time",
                zone=zone.name,
                real=round(zone.minutes_on),
                planned=round(zone.target_minutes),
            )


def _window_then(zone: PastZone) -> str:
    return _window(zone.target_minutes, zone.limit_minutes)


def _window_now(zone: Zone) -> str:
    return _window(zone.window.target_minutes, zone.window.limit_minutes)


def _window(target: float, limit: float) -> str:
    return f"target {numbers.decimal(target)}, limit {numbers.decimal(limit)}"


def _mix_then(bowl: PastBowl) -> str:
    return _mix(bowl.grams, Ratio.parse(bowl.ratio), bowl.developer_percent)


def _mix_now(bowl: Bowl) -> str:
    return _mix(bowl.grams, bowl.ratio, bowl.developer_percent)


def _mix(grams: float, ratio: Ratio, percent: float) -> str:
    strength = numbers.decimal(percent)
    return f"{numbers.decimal(grams)} grams at {ratio.spoken()}, {strength} percent"
