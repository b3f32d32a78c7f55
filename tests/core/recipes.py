"""Small recipes for tests. Their times are round numbers of ours, not advice."""

from __future__ import annotations

from dataclasses import replace

from assistant.core.mix import Ratio
from assistant.core.recipe import Bowl, Recipe, Stage, Window, Zone


def window(check: float = 5, target: float = 10, limit: float = 20, every: float = 5) -> Window:
    return Window(check, target, limit, every, "test", "M")


def zone(name: str, bowl: str = "root bowl", **fields: object) -> Zone:
    plain = Zone(
        name=name,
        bowl=bowl,
        depth_cm=0.5,
        section_mm=6,
        apply_minutes=4,
        window=window(),
        tools="small brush",
        technique="press, do not drag",
        watch="no gaps",
        why="a test",
    )
    return replace(plain, **fields)  # type: ignore[arg-type] # fields of Zone by name


def bowl(name: str = "root bowl", use_within: float = 30) -> Bowl:
    return Bowl(name, "demi-permanent", Ratio.parse("1:2"), 3, 60, use_within, "test", "M")


def stage(*zones: Zone, counts_from: str = "own", bowls: tuple[Bowl, ...] = ()) -> Stage:
    names = tuple(z.name for z in zones)
    return Stage("colour", counts_from, bowls or (bowl(),), zones, names, "rinse until clear")  # type: ignore[arg-type]


def recipe(*stages: Stage, name: str = "test tap") -> Recipe:
    return Recipe(
        version=1,
        name=name,
        title="Test tap",
        why="softens the line",
        choose_when=("a test",),
        speaks_against=("nothing",),
        hair="damp",
        place="basin",
        stages=stages,
        finish=("cool rinse", "dry"),
        cautions=("read the leaflet",),
    )


TWO_ZONES = recipe(stage(zone("nape"), zone("crown")))
