"""What does the record of one service contain? Planned and real, in the order units ask for it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from assistant.core.debrief import debrief
from assistant.core.head import Head
from assistant.core.head_file import ZoneRun
from assistant.core.mix import mix_total
from assistant.core.recipe import Bowl, Recipe

# What only people know; everything else comes from the service itself. A later write of the
# same service (a restart replays its journal) never touches what people wrote.
WRITTEN = (
    "client",  # a pseudonym or first name
    "alert test",  # date, product line, result, who
    "analysis",
    "contra-indications",
    "colour problem",
    "left over",  # grams left in each bowl: "root bowl 15, toner bowl 8"
    "outcome",
    "home care",
    "notes",
)


@dataclass(frozen=True, slots=True)
class BowlRecord:
    """One bowl as planned, and when it was mixed (salon seconds, None = never)."""

    stage: str
    name: str
    product: str
    shade: str
    ratio: str
    developer_percent: float
    grams: float
    mixed_at: float | None
    colour_grams: float = 0
    developer_grams: float = 0
    source: str = ""


@dataclass(frozen=True, slots=True)
class ZoneRecord:
    """One zone: its technique, its times as planned (minutes) and as they were (seconds)."""

    stage: str
    name: str
    technique: str
    check_minutes: float
    target_minutes: float
    limit_minutes: float
    source: str
    pass_at: float | None
    on_at: float | None
    rinsing_at: float | None
    off_at: float | None
    left_out: bool
    checks: tuple[tuple[float, str], ...]
    bowl: str = ""
    apply_minutes: float = 0  # planned for the pass
    depth_cm: float = 0
    section_mm: float = 0
    tools: str = ""


@dataclass(frozen=True, slots=True)
class LessonRecord:
    """What a trainee's progress is made of; spans in seconds. Levels are derived from `runs`."""

    trainee: str
    runs: tuple[tuple[str, str, str], ...]  # step, how it went, why if it was not clean
    answers_right: int
    answers_asked: int
    early_zones: int
    looks: int
    looks_late: int
    zones_over: int
    pass_real: float
    pass_planned: float
    spread: float
    silences: int


@dataclass(frozen=True, slots=True)
class ServiceRecord:
    """One service on one head."""

    chair: int
    head: int
    recipe: str
    state: str
    stopped_why: str
    opened_at: float
    ended_at: float | None
    burns_at: float | None
    incidents: tuple[tuple[float, str], ...]  # what was said of burning, and when
    gate: tuple[tuple[str, str], ...]
    bowls: tuple[BowlRecord, ...]
    zones: tuple[ZoneRecord, ...]  # in the order they were put on
    notes: tuple[str, ...]
    home_care: tuple[str, ...]
    lesson: LessonRecord | None = None  # a trainee followed it
    client: str = ""  # a pseudonym or a number, as it was said
    comfort: tuple[float, ...] = ()  # when the client was asked and felt fine
    outcome: tuple[tuple[str, str], ...] = ()  # of the colour and of the hair
    home_care_at: float | None = None  # when it was explained

    def as_dict(self) -> dict[str, Any]:
        """Plain data, ready for JSON."""
        return asdict(self)


def record_of(head: Head) -> ServiceRecord:
    """The record of a head as it is now."""
    file = head.file
    zones = sorted(file.zones, key=lambda run: (run.stage, run.on_at is None, run.on_at or 0))
    return ServiceRecord(
        head.chair,
        head.number,
        head.recipe.name,
        head.state,
        file.stopped_why,
        file.opened_at,
        file.ended_at,
        file.burns_at,
        tuple(file.incidents),
        tuple(file.gate.items()),
        _bowls(head),
        tuple(_zone(head.recipe, run) for run in zones),
        tuple(file.notes),
        head.recipe.home_care,
        _lesson(head),
        file.client.name if file.client else "",
        tuple(file.comfort),
        tuple(file.outcome.items()),
        file.home_care_at,
    )


def _lesson(head: Head) -> LessonRecord | None:
    if head.file.lesson is None:
        return None
    of = debrief(head)
    return LessonRecord(
        of.trainee,
        tuple((str(went.step), went.outcome, went.why) for went in of.steps),
        *of.answers,
        len(of.early),
        len(of.looks),
        len(of.late),
        len(of.over),
        *of.pass_seconds,
        max((spread.real for spread in of.spreads), default=0.0),
        len(of.silences),
    )


def _bowls(head: Head) -> tuple[BowlRecord, ...]:
    return tuple(
        _bowl(stage.name, bowl, head.file.mixed.get((index, bowl.name)))
        for index, stage in enumerate(head.recipe.stages)
        for bowl in stage.bowls
    )


def _bowl(stage: str, bowl: Bowl, mixed_at: float | None) -> BowlRecord:
    weighed = mix_total(bowl.grams, bowl.ratio)
    return BowlRecord(
        stage,
        bowl.name,
        bowl.product,
        bowl.shade,
        str(bowl.ratio),
        bowl.developer_percent,
        bowl.grams,
        mixed_at,
        weighed.colour_grams,
        weighed.developer.grams,
        f"{bowl.source}, grade {bowl.grade}",
    )


def _zone(recipe: Recipe, run: ZoneRun) -> ZoneRecord:
    window = run.zone.window
    return ZoneRecord(
        recipe.stages[run.stage].name,
        run.zone.name,
        run.zone.technique,
        window.check_from_minutes,
        window.target_minutes,
        window.limit_minutes,
        f"{window.source}, grade {window.grade}",
        run.pass_began_at,
        run.on_at,
        run.rinsing_at,
        run.rinsed_at if run.rinsed_at is not None else run.stopped_at,
        run.left_out,
        tuple(run.checks),
        run.zone.bowl,
        run.zone.apply_minutes,
        run.zone.depth_cm,
        run.zone.section_mm,
        run.zone.tools,
    )
