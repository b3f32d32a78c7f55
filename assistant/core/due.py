"""What is due on a head, and from when: every alarm as a moment, derived from the facts.

An alarm is true from `at` on, for as long as the facts that made it stay. Nothing is armed or
cancelled: after a restart, an undo or a long sleep the same facts give the same alarms, and
those whose moment has passed are true at once. An alarm hides the milder ones of its zone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from assistant.core import clocks
from assistant.core.clocks import MINUTE, Waiting
from assistant.core.events import Priority
from assistant.core.head import Head
from assistant.core.head_file import ZoneRun

BEFORE_LIMIT = 3 * MINUTE  # "three minutes to a limit"
RINSE_TAKES = 5 * MINUTE  # a rinse announced and not reported done by then is asked after
AT_LIMIT_ASK = 2 * MINUTE  # and as soon as this if the limit has come: "rinsing" may be misheard

Kind = Literal[
    "burns", "limit", "left_in", "uncertain", "broken", "near", "due", "start", "bowl", "pace",
    "rinsing", "stylist", "window", "check", "microphone", "loudspeaker", "disk",
]  # fmt: skip

PRIORITY: dict[Kind, Priority] = {
    "burns": Priority.LIMIT,
    "limit": Priority.LIMIT,
    "left_in": Priority.LIMIT,
    "broken": Priority.LIMIT,
    "uncertain": Priority.LIMIT,
    "loudspeaker": Priority.LIMIT,
    "near": Priority.DUE,
    "due": Priority.DUE,
    "start": Priority.DUE,
    "bowl": Priority.DUE,
    "pace": Priority.DUE,
    "rinsing": Priority.DUE,
    "stylist": Priority.DUE,
    "microphone": Priority.DUE,
    "disk": Priority.DUE,
    "window": Priority.CHECK,
    "check": Priority.CHECK,
}
# Advice: once heard it is settled. Everything else of priority 1 and 2 comes back.
FORESEEN = frozenset({"pace", "bowl"})  # said twice, then left to the board
ONCE = frozenset({"pace"})  # nothing can be done about it but to know it
ADVICE = frozenset({"pace", "bowl", "start", "stylist", "check", "window", "disk", "microphone"})

# strongest first
_EACH_TIME: tuple[Kind, ...] = ("check", "window", "due", "stylist")  # again is a new call
_OF_A_ZONE: tuple[Kind, ...] = ("limit", "left_in", "rinsing", "near", "due", "window", "check")


@dataclass(frozen=True, slots=True)
class Alarm:
    """One thing that becomes true at `at`. `limit_at` orders heads by slack."""

    kind: Kind
    chair: int | None
    head: int
    subject: str  # zone, bowl or device
    at: float
    limit_at: float = float("inf")

    @property
    def key(self) -> str:
        """Names this alarm, in one word. A strand check that is re-armed is a new call."""
        moment = f"/{self.at:.3f}" if self.kind in _EACH_TIME else ""
        subject = self.subject.replace(" ", "_")  # a sentence of several calls holds their names
        return f"{self.kind}/{self.chair or 0}/{self.head}/{subject}{moment}"

    @property
    def priority(self) -> Priority:
        """How urgent it is."""
        return PRIORITY[self.kind]


def alarms(head: Head) -> list[Alarm]:
    """Every alarm of a head, past and to come."""
    found = [alarm for run in head.zones() for alarm in _zone_alarms(head, run)]
    if head.state not in ("closed", "stopped"):
        found += [*_bowl_alarms(head), *_pace_alarms(head), *_start_alarms(head)]
    file = head.file
    unrinsed = any(z.running and z.rinsing_at is None for z in file.zones)
    if file.burns_at is not None and unrinsed:
        found.append(Alarm("burns", head.chair, head.number, "", file.burns_at, file.burns_at))
    if file.asked_at is not None and head.state != "closed":
        found.append(Alarm("stylist", head.chair, head.number, "", file.asked_at))
    return [*found, *_doubts(head)]


def bare_limits(head: Head) -> list[Alarm]:
    """The limits alone, and that the rest of this head could not be worked out.

    For a head whose alarms raise an error: the other chairs, and its own limits, must not fall
    silent for it.
    """
    since = head.file.opened_at
    found = [Alarm("broken", head.chair, head.number, "", since, since)]
    shared = {n for n, stage in enumerate(head.recipe.stages) if stage.counts_from == "shared"}
    starts = [(z.stage, z.on_at) for z in head.file.zones if z.on_at is not None]
    for run in head.file.zones:
        if run.running and run.on_at is not None:
            first = min(at for n, at in starts if n == run.stage)
            began = first if run.stage in shared else run.on_at
            at = began + run.zone.window.limit_minutes * MINUTE
            found.append(Alarm("limit", head.chair, head.number, run.zone.name, at, at))
    return found


def true_now(found: list[Alarm], now: float) -> list[Alarm]:
    """The alarms that are true, each zone's milder ones hidden by its strongest."""
    true = [alarm for alarm in found if alarm.at <= now]
    strongest: dict[tuple[int, str], Alarm] = {}
    for alarm in true:
        if alarm.kind in _OF_A_ZONE:
            known = strongest.get((alarm.head, alarm.subject))
            if known is None or _rank(alarm) < _rank(known):
                strongest[alarm.head, alarm.subject] = alarm
    burning = {a.head for a in true if a.kind == "burns"}
    return [
        a
        for a in true
        if (a.kind not in _OF_A_ZONE or strongest[a.head, a.subject] == a)
        and (a.kind == "burns" or a.head not in burning)
    ]


def next_moment(found: list[Alarm], now: float) -> float | None:
    """When the next alarm becomes true."""
    return min((alarm.at for alarm in found if alarm.at > now), default=None)


def _rank(alarm: Alarm) -> tuple[int, int]:
    return alarm.priority, _OF_A_ZONE.index(alarm.kind)


def _zone_alarms(head: Head, run: ZoneRun) -> Iterator[Alarm]:
    if not run.running:
        return
    clock, name = head.clock(run), run.zone.name

    def alarm(kind: Kind, at: float) -> Alarm:
        return Alarm(kind, head.chair, head.number, name, at, clock.limit_at)

    if run.rinsing_at is not None:
        asked = run.rinsing_at + RINSE_TAKES
        yield alarm("left_in", max(asked, clock.limit_at))
        yield alarm("rinsing", min(asked, max(run.rinsing_at + AT_LIMIT_ASK, clock.limit_at)))
        return
    yield alarm("limit", clock.limit_at)
    if clock.limit_at - BEFORE_LIMIT > clock.started_at:
        yield alarm("near", clock.limit_at - BEFORE_LIMIT)
    if run.ready_at is not None:
        return
    look = clock.check_from_at if run.look_at is None else run.look_at
    yield alarm("due", max(look, clock.target_at))
    if look < clock.target_at:
        yield alarm("window" if _opens_window(head, run) else "check", look)


def _doubts(head: Head) -> Iterator[Alarm]:
    since = head.file.uncertain_since
    for run in head.file.zones:
        if since is not None and head.in_doubt(run):
            yield Alarm("uncertain", head.chair, head.number, run.zone.name, since)


def _opens_window(head: Head, run: ZoneRun) -> bool:
    """Whether this zone's first check is also the moment the head's rinse window opens."""
    zones = [z for z in head.zones(run.stage) if not z.settled]
    if run.look_at is not None or len(zones) < 2 or any(z.waiting for z in zones):
        return False
    window = head.rinse_window(run.stage)
    return window is not None and window.fits and window.opened_by == run.zone.name


def _bowl_alarms(head: Head) -> Iterator[Alarm]:
    stage = head.stage()
    for bowl in stage.bowls:
        mixed_at = head.file.mixed.get((head.step().stage, bowl.name))
        waits = any(z.waiting and z.zone.bowl == bowl.name for z in head.zones())
        if mixed_at is not None and waits:
            at = mixed_at + bowl.use_within_minutes * MINUTE
            yield Alarm("bowl", head.chair, head.number, bowl.name, at)


def waiting(head: Head) -> list[Waiting]:
    """The zones still to come with the minutes their passes are expected to take.

    A pace measured on this head replaces the planned one: the same factor for every zone.
    """
    factor = pace(head)
    found = []
    for run in head.zones():
        if run.waiting and (not run.zone.optional or run.pass_began_at is not None):
            minutes = run.zone.apply_minutes * factor
            after = run.zone.start_after_minutes
            found.append(Waiting(run.zone.name, minutes, run.zone.window, after))
    return found


def pace(head: Head) -> float:
    """Measured minutes of a pass over planned ones on this head, 1 before the first pass."""
    done = [
        (z.on_at - z.pass_began_at, z.zone.apply_minutes * MINUTE)
        for z in head.file.zones
        if z.on_at is not None and z.pass_began_at is not None
    ]
    return sum(m for m, _ in done) / sum(p for _, p in done) if done else 1.0


def _pace_alarms(head: Head) -> Iterator[Alarm]:
    """One rinse will no longer serve all: true from the last moment the next pass could begin."""
    running = head.running()
    on = [head.clock(z) for z in running]
    still = waiting(head)
    moment = clocks.last_moment(head.stage(), on, still)
    if moment is None or moment == float("inf"):
        return
    for run in head.zones():
        if run.waiting and run.pass_began_at is not None and run.pass_began_at <= moment:
            # the pass began in time: it is late only once it has overrun its planned minutes
            moment += run.zone.apply_minutes * pace(head) * MINUTE
    first = min(on, key=lambda c: c.limit_at)
    yield Alarm("pace", head.chair, head.number, first.zone, moment, first.limit_at)


def _start_alarms(head: Head) -> Iterator[Alarm]:
    step = head.step()
    run = head.zone(step.subject) if step.kind == "place" else None
    if run is None or not run.zone.wait_for_start or run.pass_began_at is not None:
        return
    on = [head.clock(z) for z in head.running()]
    own = head.stage().counts_from == "own"
    zone, takes = run.zone, run.zone.apply_minutes * pace(head)
    ahead = Waiting(zone.name, takes, zone.window, zone.start_after_minutes)
    at = clocks.planned_start(on, ahead, own)
    if at is not None:
        yield Alarm("start", head.chair, head.number, run.zone.name, at)
