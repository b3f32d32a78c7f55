"""How did a finished service go? Facts only: each figure says what it is made of, no score.

What counts as late or silent is our own choice, named here and printed on the page.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.core import teaching
from assistant.core.clocks import MINUTE
from assistant.core.head import Head, Step
from assistant.core.head_file import ZoneRun
from assistant.core.levels import Asked, Outcome, StepName

LATE = 2 * MINUTE  # a first look that comes so long after it was due is late
SILENT = 3 * MINUTE  # so long beyond what was planned with nothing reported is a silence


@dataclass(frozen=True, slots=True)
class Pass:
    """One zone being put on: planned, and measured from "starting" to "is on" (else None)."""

    stage: str
    zone: str
    planned: float
    real: float | None


@dataclass(frozen=True, slots=True)
class Early:
    """A zone that went on before one that the recipe puts first."""

    zone: str
    first: str


@dataclass(frozen=True, slots=True)
class Spread:
    """From the first clock of a stage to its last. `planned`: the passes in between, as planned."""

    stage: str
    first: str
    last: str
    planned: float
    real: float


@dataclass(frozen=True, slots=True)
class Silence:
    """A stretch of the application in which nothing was reported for too long."""

    zone: str  # being put on, or to be put on next
    began_at: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Look:
    """The first look at a zone: when it was due (after the pass in hand), when it came."""

    zone: str
    due_at: float
    at: float

    @property
    def late(self) -> float:
        """Seconds after it was due, 0 if before."""
        return max(0.0, self.at - self.due_at)


@dataclass(frozen=True, slots=True)
class Over:
    """A zone whose rinse began after its limit."""

    zone: str
    seconds: float


@dataclass(frozen=True, slots=True)
class StepWent:
    """How one step went, for its level; `why` says what it was if it was not clean."""

    step: StepName
    outcome: Outcome
    why: str = ""


@dataclass(frozen=True, slots=True)
class Debrief:
    """Everything about one head. Times are salon seconds, spans are seconds."""

    chair: int
    number: int
    recipe: str
    trainee: str
    planned_order: tuple[str, ...]
    order: tuple[str, ...]
    early: tuple[Early, ...]
    passes: tuple[Pass, ...]
    spreads: tuple[Spread, ...]
    silences: tuple[Silence, ...]
    looks: tuple[Look, ...]
    over: tuple[Over, ...]
    questions: tuple[tuple[StepName, Asked], ...]
    steps: tuple[StepWent, ...]

    @property
    def late(self) -> tuple[Look, ...]:
        """First looks that came late, the latest first."""
        found = [look for look in self.looks if look.late > LATE]
        return tuple(sorted(found, key=lambda look: -look.late))

    @property
    def pass_seconds(self) -> tuple[float, float]:
        """Measured and planned, of the passes that were measured."""
        done = [(p.real, p.planned) for p in self.passes if p.real is not None]
        return sum(real for real, _ in done), sum(planned for _, planned in done)

    @property
    def answers(self) -> tuple[int, int]:
        """Answers that were right at once, and questions asked."""
        right = sum(asked.came == "right" for _, asked in self.questions)
        return right, len(self.questions)


def debrief(head: Head) -> Debrief:
    """The debrief of a head, from its facts."""
    lesson = head.file.lesson
    asked = lesson.asked if lesson is not None else {}
    on = sorted(_on(head), key=lambda run: run.on_at or 0)
    return Debrief(
        head.chair,
        head.number,
        head.recipe.name,
        lesson.trainee if lesson is not None else "",
        tuple(run.zone.name for run in head.file.zones if run.on_at is not None),
        tuple(run.zone.name for run in on),
        tuple(_early(head)),
        tuple(_passes(head)),
        tuple(_spreads(head)),
        tuple(_silences(head)),
        tuple(look for run in on if (look := first_look(head, run)) is not None),
        tuple(_over(head)),
        tuple((StepName.parse(step), question) for step, question in asked.items()),
        tuple(_steps(head)),
    )


# ------------------------------------------------------------------ the facts


def _on(head: Head, stage: int | None = None) -> list[ZoneRun]:
    """Zones that were put on, in the recipe's order."""
    runs = head.file.zones if stage is None else head.zones(stage)
    return [run for run in runs if run.on_at is not None]


def _early(head: Head) -> Iterator[Early]:
    for run in _on(head):
        stage = head.zones(run.stage)
        for first in stage[: stage.index(run)]:
            free = first.zone.optional or first.zone.wait_for_start or first.left_out
            later = first.on_at is None or (run.on_at is not None and first.on_at > run.on_at)
            if later and not free:
                yield Early(run.zone.name, first.zone.name)
                break


def _passes(head: Head) -> Iterator[Pass]:
    for run in _on(head):
        real = None
        if run.pass_began_at is not None and run.on_at is not None:
            real = run.on_at - run.pass_began_at
        stage = head.recipe.stages[run.stage].name
        yield Pass(stage, run.zone.name, run.zone.apply_minutes * MINUTE, real)


def _spreads(head: Head) -> Iterator[Spread]:
    """Zones that start late on purpose are no part of it."""
    for index, stage in enumerate(head.recipe.stages):
        runs = [run for run in _on(head, index) if not run.zone.wait_for_start]
        runs.sort(key=lambda run: run.on_at or 0)
        if len(runs) > 1:
            planned = sum(run.zone.apply_minutes for run in runs[1:]) * MINUTE
            first, last = runs[0], runs[-1]
            real = (last.on_at or 0) - (first.on_at or 0)
            yield Spread(stage.name, first.zone.name, last.zone.name, planned, real)


def _silences(head: Head) -> Iterator[Silence]:
    """A pass may take its planned minutes, the way to it none. Zones that wait are left out."""
    for index in range(len(head.recipe.stages)):
        before: float | None = None
        for run in sorted(_on(head, index), key=lambda run: run.on_at or 0):
            assert run.on_at is not None  # _on() gives nothing else
            began, planned = run.pass_began_at, run.zone.apply_minutes * MINUTE
            waits = run.zone.wait_for_start
            if before is not None and not waits:
                gap = (began if began is not None else run.on_at) - before
                if gap > SILENT + (planned if began is None else 0):
                    yield Silence(run.zone.name, before, gap)
            if began is not None and run.on_at - began > SILENT + planned:
                yield Silence(run.zone.name, began, run.on_at - began)
            before = run.on_at


def first_look(head: Head, run: ZoneRun) -> Look | None:
    """When a zone that was on was first to be looked at, and when it was (a rinse is a look)."""
    looked = [at for at, _ in run.checks]
    looked += [at for at in (run.ready_at, run.rinsing_at) if at is not None]
    if not looked:
        return None
    due = head.clock(run).check_from_at
    for other in _on(head):  # nobody looks in the middle of a pass
        if other.pass_began_at is not None and other.on_at is not None:
            due = other.on_at if other.pass_began_at < due < other.on_at else due
    return Look(run.zone.name, due, min(looked))


def _over(head: Head) -> Iterator[Over]:
    for run in _on(head):
        off = next((t for t in (run.rinsing_at, run.stopped_at) if t is not None), None)
        if off is not None and off > head.clock(run).limit_at:
            yield Over(run.zone.name, off - head.clock(run).limit_at)


# ------------------------------------------------------------ for the levels


def _steps(head: Head) -> Iterator[StepWent]:
    """Every step that was done. The gate is none of them: it never fades."""
    early = {(e.zone) for e in _early(head)}
    for step in head.steps:
        name = teaching.step_name(head, step)
        zones = [run for run in head.zones(step.stage) if run.on_at is not None]
        settled = bool(zones) and all(run.rinsed_at is not None for run in zones)
        if step.kind == "mix" and (step.stage, step.subject) in head.file.mixed:
            yield _by_answer(head, name)
        elif step.kind == "place" and any(run.zone.name == step.subject for run in zones):
            if step.subject in early:
                yield StepWent(name, "error", "went on before its turn")
            else:
                yield _by_answer(head, name)
        elif step.kind == "develop" and settled:
            yield _looks_went(head, name, zones)
        elif step.kind == "rinse" and settled:
            late = [over for over in _over(head) if any(over.zone == z.zone.name for z in zones)]
            why = ", ".join(f"{over.zone} over its limit" for over in late)
            yield StepWent(name, "error" if late else "clean", why)
        elif step.kind == "finish" and _finished(head, step):
            yield StepWent(name, "clean")


def _by_answer(head: Head, name: StepName) -> StepWent:
    lesson = head.file.lesson
    asked = lesson.asked.get(str(name)) if lesson is not None else None
    if asked is None or asked.came == "right":
        return StepWent(name, "clean")
    if asked.came == "wrong":
        return StepWent(name, "error", f"said {asked.given}, it is {asked.right}")
    why = "not answered" if asked.came == "open" else asked.came
    return StepWent(name, "untidy", f"question {why}")


def _looks_went(head: Head, name: StepName, zones: Sequence[ZoneRun]) -> StepWent:
    looks = [look for run in zones if (look := first_look(head, run)) is not None]
    late = [f"{look.zone} looked at late" for look in looks if look.late > LATE]
    return StepWent(name, "untidy" if late else "clean", ", ".join(late))


def _finished(head: Head, step: Step) -> bool:
    return head.recipe.finish.index(step.subject) < head.file.finished
