"""The state of a salon as plain frozen data: what a board shows. Times are salon seconds."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from assistant.core import board_words
from assistant.core.due import Alarm
from assistant.core.events import Mode, Priority
from assistant.core.head import Head
from assistant.core.head_file import ZoneRun
from assistant.core.salon import Salon

AHEAD = 2  # alarms to come that are shown of each chair


@dataclass(frozen=True, slots=True)
class ZoneView:
    """One zone: its state in a word, and its clock if it has one."""

    name: str
    state: str  # waiting, being put on, on, ready, rinsing, off, left out
    on_at: float | None
    check_at: float | None
    target_at: float | None
    limit_at: float | None


@dataclass(frozen=True, slots=True)
class HeadView:
    """One head: the recipe, the step, its zones and its rinse window."""

    chair: int
    number: int
    recipe: str
    state: str
    step: str
    doing: str  # both in words: "being put on: crown"
    zones: tuple[ZoneView, ...]
    window_opens: float | None
    window_closes: float | None


@dataclass(frozen=True, slots=True)
class DueView:
    """Something due: now (`at` in the past) or to come. `up` = being called out."""

    chair: int | None
    kind: str
    words: str  # what it is called while it is to come
    todo: str  # what it is called once it is there
    subject: str
    priority: int
    at: float
    up: bool


@dataclass(frozen=True, slots=True)
class SalonView:
    """Everything a board shows at one moment."""

    at: float
    mode: Mode
    heads: tuple[HeadView, ...]
    due: tuple[DueView, ...]  # most urgent first
    lost: tuple[str, ...]  # devices that are away
    quiet_until: float


def snapshot(salon: Salon) -> SalonView:
    """The salon as it is at its present moment."""
    heads = tuple(
        _head(salon.heads[chair]) for chair in sorted(salon.heads) if _shown(salon.heads[chair])
    )
    return SalonView(
        salon.now,
        salon.mode,
        heads,
        tuple(_due(salon)),
        tuple(sorted(salon.lost)),
        salon.calls.quiet_until,
    )


def _shown(head: Head) -> bool:
    return head.active or head.state == "stopped"


def _head(head: Head) -> HeadView:
    window, subject = head.rinse_window(), head.step().subject
    return HeadView(
        head.chair,
        head.number,
        head.recipe.name,
        head.state,
        subject,
        board_words.doing(head.state, subject),
        tuple(_zone(head, run) for run in head.zones()),
        window.opens if window else None,
        window.closes if window else None,
    )


def _zone(head: Head, run: ZoneRun) -> ZoneView:
    if run.on_at is None:
        return ZoneView(run.zone.name, _state(run), None, None, None, None)
    clock = head.clock(run)
    look = clock.check_from_at if run.look_at is None else run.look_at
    return ZoneView(run.zone.name, _state(run), run.on_at, look, clock.target_at, clock.limit_at)


def _state(run: ZoneRun) -> str:
    if run.left_out:
        return "left out"
    if run.rinsed_at is not None or run.stopped_at is not None:
        return "off"
    if run.rinsing_at is not None:
        return "rinsing"
    if run.ready_at is not None:
        return "ready"
    if run.on_at is not None:
        return "on"
    return "being put on" if run.pass_began_at is not None else "waiting"


def _due(salon: Salon) -> list[DueView]:
    """Everything that is up, and of each chair what comes next: nobody reads further ahead."""
    up, silent = {alarm.key for alarm in salon.calls.up()}, salon.calls.silent()
    alarms = sorted(salon.alarms(), key=lambda alarm: alarm.at)
    shown = [
        # what somebody has answered is still true, but no longer the first thing to do
        _due_view(alarm, Priority.GUIDE if alarm.key in silent else alarm.priority, up=True)
        for alarm in alarms
        if alarm.key in up
    ]
    shown.sort(key=lambda view: (view.priority, view.at))
    ahead: Counter[int | None] = Counter()
    for alarm in alarms:
        later = alarm.key not in up and salon.now < alarm.at < float("inf")
        if later and ahead[alarm.chair] < AHEAD:
            ahead[alarm.chair] += 1
            shown.append(_due_view(alarm, alarm.priority, up=False))
    return shown


def _due_view(alarm: Alarm, priority: Priority, *, up: bool) -> DueView:
    words, todo = board_words.due_words(alarm.kind)
    subject, when = alarm.subject, alarm.at
    return DueView(alarm.chair, alarm.kind, words, todo, subject, int(priority), when, up)
