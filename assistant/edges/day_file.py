"""A day file -> the day to be planned, or every problem with its line and its mend."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from assistant.core import plan_day
from assistant.core.plan_day import MIDNIGHT, Booking, Break, Day, Facts, House, Person, TimeOfDay
from assistant.core.recipe import Recipe
from assistant.edges import yaml_reader
from assistant.edges.yaml_reader import KeyPath, nearest
from assistant.edges.yaml_scalars import CONVERTERS
from assistant.errors import ConfigError

VERSION = 1
MOST_HEADS, MOST_HANDS = 16, 8
Told = tuple[KeyPath, str, str]
NO_PRESENT = TimeOfDay(0.0)
CONVERTERS[TimeOfDay] = TimeOfDay.parse


@dataclass(frozen=True, slots=True)
class BreakEntry:
    """A break as it is written."""

    begins: TimeOfDay
    ends: TimeOfDay


@dataclass(frozen=True, slots=True)
class PersonEntry:
    """A person as written."""

    name: str
    skills: tuple[plan_day.Skill, ...]
    breaks: tuple[BreakEntry, ...] = ()


@dataclass(frozen=True, slots=True)
class HeadEntry:
    """A head as written. `on` are zones that have their product already, with the time."""

    chair: int
    recipe: str
    arrives: TimeOfDay
    by: str = ""
    leave_out: tuple[str, ...] = ()
    stage: str = ""  # the present one, where earlier ones are rinsed
    on: dict[str, TimeOfDay] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class HouseEntry:
    """What this salon takes for granted; minutes."""

    prepare_minutes: float = House().prepare_minutes
    begin_within_minutes: float = House().begin_within_minutes
    check_minutes: float = House().check_minutes
    rinse_minutes: float = House().rinse_minutes
    finish_minutes: float = House().finish_minutes
    tone_within_minutes: float = House().tone_within_minutes
    wait_minutes: float = House().wait_minutes


@dataclass(frozen=True, slots=True)
class DayFile:
    """The schema of a day file."""

    version: int
    title: str
    basins: int
    people: tuple[PersonEntry, ...]
    heads: tuple[HeadEntry, ...]
    now: TimeOfDay = NO_PRESENT
    house: HouseEntry = HouseEntry()


def default_folder() -> Path:
    """The days that ship with the program: the installed package's, or the checkout's."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "audio_fixtures", package.parent / "audio_fixtures"):
        if (folder / "days").is_dir():
            return folder / "days"
    raise ConfigError("the shipped days are missing: reinstall the package")


def names() -> list[str]:
    """The days that ship."""
    return sorted(path.stem for path in default_folder().glob("*.yaml"))


def find(name: str) -> Path | None:
    """A day by name, or by the path of a file of one's own; None if it is neither."""
    if name.endswith((".yaml", ".yml")):
        return Path(name)
    return default_folder() / f"{name}.yaml" if name in names() else None


def load(path: Path, recipes: Mapping[str, Recipe]) -> tuple[str, Day]:
    """Title and day; `ConfigError` lists every problem, one line each."""

    def rules(file: DayFile) -> list[Told]:
        own = [*_numbers(file), *_names(file, recipes)]
        return own or [*plan_day.problems(_day(file, recipes))]

    file = yaml_reader.load(DayFile, path, rules)
    return file.title, _day(file, recipes)


def _numbers(file: DayFile) -> Iterator[Told]:
    if file.version != VERSION:
        yield ("version",), f"version {file.version} is not known", f"write version: {VERSION}"
    for name in HouseEntry.__dataclass_fields__:
        minutes = getattr(file.house, name)
        if not 0 <= minutes <= MIDNIGHT:
            yield ("house", name), f"{minutes:g} minutes cannot be", "write minutes from 0 up"
    for name in ("check_minutes", "rinse_minutes"):
        if getattr(file.house, name) == 0:
            yield ("house", name), "this takes some time", "write minutes above 0"
    for name, most in (("heads", MOST_HEADS), ("people", MOST_HANDS)):
        if len(getattr(file, name)) > most:
            yield (name,), f"more than {most} {name}", "plan one room at a time"
    if file.basins > MOST_HANDS:
        yield ("basins",), f"more than {MOST_HANDS} basins", "plan one room at a time"


def _names(file: DayFile, recipes: Mapping[str, Recipe]) -> Iterator[Told]:
    for index, head in enumerate(file.heads):
        at: KeyPath = ("heads", index)
        if head.recipe not in recipes:
            near = nearest(head.recipe, list(recipes))
            mend = f"did you mean {near!r}?" if near else f"recipes are {', '.join(recipes)}"
            yield (*at, "recipe"), f"there is no recipe {head.recipe!r}", mend
            continue
        stages = [stage.name for stage in recipes[head.recipe].stages]
        if head.stage and head.stage not in stages:
            yield (*at, "stage"), f"no stage {head.stage!r}", f"stages are {', '.join(stages)}"
        if head.on and not file.now.minutes:
            yield (*at, "on"), "a zone is on, but the day has no present", "write now: above"


def _day(file: DayFile, recipes: Mapping[str, Recipe]) -> Day:
    people = tuple(
        Person(p.name, p.skills, tuple(Break(b.begins.minutes, b.ends.minutes) for b in p.breaks))
        for p in file.people
    )
    bookings = tuple(_booking(head, recipes[head.recipe]) for head in file.heads)
    house = House(**{name: getattr(file.house, name) for name in HouseEntry.__dataclass_fields__})
    return Day(bookings, people, file.basins, file.now.minutes, house)


def _booking(head: HeadEntry, recipe: Recipe) -> Booking:
    stages = [stage.name for stage in recipe.stages]
    stage = stages.index(head.stage) if head.stage else 0
    on = {name: at.minutes for name, at in head.on.items()}
    facts = Facts(stage, on, prepared=bool(on) or stage > 0)
    return Booking(head.chair, recipe, head.arrives.minutes, head.leave_out, head.by, facts)
