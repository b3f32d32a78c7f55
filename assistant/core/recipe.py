"""What a colour service is made of: Recipe, Stage, Bowl, Zone, Window, and the rules they keep.

A recipe is an *example to be replaced by the leaflet of the product in hand*: every time in it
carries its source and a grade (A law or standard seen ... C trade page, P common practice,
M from memory). The dataclasses below are the schema of `recipes/*.yaml`: field names are the
keys, units are in the names, and `assistant/edges/recipe_files.py` converts each scalar by the
type of its field. `problems(recipe)` holds the rules that need more than one field.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal, TypeVar

from assistant.core.asked_mix import SAYABLE
from assistant.core.mix import Ratio
from assistant.core.numbers import LARGEST
from assistant.core.peroxide import volume_from_percent
from assistant.core.shades import Shade
from assistant.errors import SumError

SCHEMA_VERSION = 1
HairState = Literal["dry", "damp"]
Place = Literal["basin", "chair"]
CountsFrom = Literal["own", "shared"]
Grade = Literal["A", "B", "C", "P", "M"]
# What a trainee is asked at a step. The right answer is never written down a second time: it is
# read from the field that the question is about.
BowlChallenge = Literal["ratio", "volume"]
ZoneChallenge = Literal["check", "target", "limit"]
T = TypeVar("T", "Bowl", "Zone")


@dataclass(frozen=True, slots=True)
class Window:
    """How long a zone's product may stay on: `check_from <= target <= limit`, in minutes.

    `check_every_minutes` is the rhythm of strand checks once the first one is due.
    """

    check_from_minutes: float
    target_minutes: float
    limit_minutes: float
    check_every_minutes: float
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class Bowl:
    """One mixed bowl. `grams` is colour and developer together, as weighed into the bowl."""

    name: str
    product: str
    ratio: Ratio
    developer_percent: float
    grams: float
    use_within_minutes: float  # the age at which mixed product is no longer to be trusted
    source: str
    grade: Grade
    shade: str = ""  # digits only, e.g. "7.1"; the tone's name differs between makers
    why: str = ""
    challenge: BowlChallenge = "ratio"

    def challenged(self) -> Ratio | int | None:
        """The right answer to this bowl's question; None if no voice could give it."""
        if self.challenge == "ratio":
            return self.ratio if self.ratio in SAYABLE else None
        told = 0 < self.developer_percent <= 12
        return _whole(volume_from_percent(self.developer_percent)) if told else None


@dataclass(frozen=True, slots=True)
class Zone:
    """One part of the head that is coloured in one go and runs one clock."""

    name: str
    bowl: str
    depth_cm: float  # how far from the scalp the product goes; 0 = the whole length
    section_mm: float
    apply_minutes: float  # planned minutes of the pass, replaced by measured ones as they come
    window: Window
    tools: str
    technique: str
    watch: str
    why: str
    comb: str = ""
    optional: bool = False  # may be left out by saying so (a face frame, ends that need nothing)
    wait_for_start: bool = False  # starts late so that one rinse serves all (a toner on the ends)
    start_after_minutes: float = 0  # shared total only: on so long after the first zone (hot roots)
    challenge: ZoneChallenge = "check"

    def challenged(self) -> int | None:
        """The minutes that answer this zone's question; None if no voice could give them."""
        minutes: dict[ZoneChallenge, float] = {
            "check": self.window.check_from_minutes,
            "target": self.window.target_minutes,
            "limit": self.window.limit_minutes,
        }
        return _whole(minutes[self.challenge])


@dataclass(frozen=True, slots=True)
class Stage:
    """Zones that develop together and are rinsed before the next stage begins.

    `counts_from: own` counts every zone from its own start; `shared` counts one total from the
    first zone of the stage, so a later zone gets the total minus its delay.
    """

    name: str
    counts_from: CountsFrom
    bowls: tuple[Bowl, ...]
    zones: tuple[Zone, ...]
    rinse_order: tuple[str, ...]
    rinse: str  # how to rinse, in one sentence
    rinse_why: str = ""

    def zone(self, name: str) -> Zone:
        """The zone of that name; `KeyError` if this stage has none."""
        return _named(self.zones, name)

    def bowl(self, name: str) -> Bowl:
        """The bowl of that name; `KeyError` if this stage has none."""
        return _named(self.bowls, name)


@dataclass(frozen=True, slots=True)
class Recipe:
    """A whole service as data."""

    version: int
    name: str  # how it is said: "root tap"
    title: str
    why: str
    choose_when: tuple[str, ...]
    speaks_against: tuple[str, ...]
    hair: HairState
    place: Place
    stages: tuple[Stage, ...]
    finish: tuple[str, ...]  # finishing steps, one action each
    cautions: tuple[str, ...]
    home_care: tuple[str, ...] = field(default=())
    finish_why: tuple[str, ...] = ()  # a reason for each finishing step, in their order

    def zones(self) -> Iterator[tuple[int, Zone]]:
        """Every zone with the index of its stage, in order of application."""
        for index, stage in enumerate(self.stages):
            for zone in stage.zones:
                yield index, zone


@dataclass(frozen=True, slots=True)
class Problem:
    """A rule that a recipe breaks: where (a path of keys and list indices), what, and the mend."""

    path: tuple[str | int, ...]
    what: str
    mend: str


def problems(recipe: Recipe) -> list[Problem]:
    """Every rule the recipe breaks that needs more than one field to see."""
    found: list[Problem] = []
    if recipe.version != SCHEMA_VERSION:
        found.append(
            Problem(("version",), f"version {recipe.version} is not known", "write version: 1")
        )
    if not recipe.stages:
        found.append(Problem(("stages",), "the recipe has no stage", "add at least one stage"))
    if recipe.finish_why and len(recipe.finish_why) != len(recipe.finish):
        what = f"{len(recipe.finish_why)} reasons for {len(recipe.finish)} finishing steps"
        found.append(Problem(("finish_why",), what, "write one for each step, or none at all"))
    for index, stage in enumerate(recipe.stages):
        found.extend(_stage_problems(("stages", index), stage))
    return found


def _stage_problems(at: tuple[str | int, ...], stage: Stage) -> Iterator[Problem]:
    bowls = [bowl.name for bowl in stage.bowls]
    zones = [zone.name for zone in stage.zones]
    if not zones:
        yield Problem((*at, "zones"), "the stage has no zone", "add at least one zone")
    for kind, names in (("bowls", bowls), ("zones", zones)):
        for i, name in enumerate(names):
            if name in names[:i]:
                yield Problem((*at, kind, i, "name"), f"{name!r} is named twice", "rename one")
    for i, bowl in enumerate(stage.bowls):
        yield from _bowl_problems((*at, "bowls", i), bowl)
        if all(zone.bowl != bowl.name for zone in stage.zones):
            yield Problem(
                (*at, "bowls", i), f"no zone uses bowl {bowl.name!r}", "use it or remove it"
            )
    for i, zone in enumerate(stage.zones):
        yield from _zone_problems((*at, "zones", i), zone, bowls)
        if bool(zone.start_after_minutes) != (
            zone.wait_for_start and stage.counts_from == "shared"
        ):
            yield Problem(
                (*at, "zones", i),
                "start_after_minutes goes with wait_for_start under a shared total, and only there",
                "counts_from: own finds the time by itself; shared needs the minutes",
            )
    if sorted(stage.rinse_order) != sorted(zones):
        yield Problem(
            (*at, "rinse_order"),
            "rinse_order does not name every zone of the stage exactly once",
            f"list these: {', '.join(zones)}",
        )


def _bowl_problems(at: tuple[str | int, ...], bowl: Bowl) -> Iterator[Problem]:
    if bowl.grams <= 0:
        yield Problem((*at, "grams"), "a bowl weighs more than nothing", "write the grams mixed")
    if not 0 <= bowl.developer_percent <= 12:
        yield Problem(
            (*at, "developer_percent"),
            f"{bowl.developer_percent:g} % is outside 0 to 12 %",
            "write the developer's peroxide percentage (20 volume is 6)",
        )
    if bowl.challenge == "volume" and bowl.challenged() is None:
        what = f"{bowl.developer_percent:g} % is no whole volume, so nobody can answer it"
        yield Problem((*at, "challenge"), what, "write challenge: ratio")
    if bowl.shade and (told := _shade_problem(bowl.shade)) is not None:
        yield Problem((*at, "shade"), *told)
    if bowl.use_within_minutes <= 0:
        yield Problem((*at, "use_within_minutes"), "must be above 0", "read the leaflet")


def _shade_problem(shade: str) -> tuple[str, str] | None:
    try:
        Shade.parse(shade)
    except SumError as error:
        what, _, mend = str(error).partition(": ")
        return what, mend
    return None


def _zone_problems(at: tuple[str | int, ...], zone: Zone, bowls: list[str]) -> Iterator[Problem]:
    window = zone.window
    if zone.bowl not in bowls:
        yield Problem(
            (*at, "bowl"),
            f"zone {zone.name!r} has no bowl {zone.bowl!r} in its stage",
            f"use one of: {', '.join(bowls) or 'none is defined'}",
        )
    if window.limit_minutes < window.target_minutes:
        yield Problem(
            (*at, "window", "limit_minutes"),
            f"the limit ({window.limit_minutes:g}) is below the target ({window.target_minutes:g})",
            "the limit is the leaflet's longest time: it is at or above the target",
        )
    if window.target_minutes < window.check_from_minutes:
        yield Problem(
            (*at, "window", "check_from_minutes"),
            f"checks begin ({window.check_from_minutes:g}) after the target "
            f"({window.target_minutes:g})",
            "the first strand check comes at or before the target",
        )
    for name in ("check_from_minutes", "check_every_minutes"):
        if getattr(window, name) <= 0:
            yield Problem((*at, "window", name), "must be above 0", "write minutes above 0")
    if zone.challenge != "check" and zone.challenged() is None:
        what = f"the {zone.challenge} is no whole number of minutes, so nobody can answer it"
        yield Problem((*at, "challenge"), what, "ask for another one: check, target or limit")
    if zone.apply_minutes <= 0:
        yield Problem((*at, "apply_minutes"), "must be above 0", "write the minutes of a pass")
    if zone.depth_cm < 0:
        yield Problem((*at, "depth_cm"), "a depth is not negative", "0 means the whole length")
    if zone.section_mm <= 0:
        yield Problem((*at, "section_mm"), "must be above 0", "write the thickness of a section")


def _whole(number: float) -> int | None:
    """A number that can be said as an answer."""
    if not 0.5 < number < LARGEST + 0.5:  # neither is one that is no number at all
        return None
    near = round(number)
    return near if abs(number - near) < 1e-6 else None


def _named(items: tuple[T, ...], name: str) -> T:
    for item in items:
        if item.name == name:
            return item
    raise KeyError(name)
