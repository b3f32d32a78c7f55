"""A picture of a planned day: a lane per head with its zones, below it the people and basins.

The marks are those of the timeline of a service, so whoever reads one reads both. Here every
bar is what is planned, not what happened.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path

from assistant.core import clocks
from assistant.core.clocks import MINUTE, ZoneClock
from assistant.core.plan import Placed, Plan
from assistant.core.plan_day import Booking, Day, TimeOfDay
from assistant.edges import drawing, drawing_png
from assistant.edges import timeline_marks as marks
from assistant.edges.drawing import (
    INK,
    Box,
    Dot,
    Part,
    Picture,
    Stroke,
    Words,
    dashed,
    fitting,
    hatched,
)

WIDTH, EDGE = 1240.0, 28.0
LEFT, RIGHT = 190.0, 1200.0
ROW, LANE, HEAD = 30.0, 26.0, 26.0
SHADE = "#efefef"


class Scale:
    """Where a minute since midnight lies on the paper."""

    def __init__(self, first: float, last: float) -> None:
        """Whole half hours around the day."""
        self.first = math.floor(first / 30) * 30
        self.last = max(self.first + 30, math.ceil(last / 30) * 30)
        self.step = next((s for s in (10, 15, 30) if (self.last - self.first) / s <= 16), 60)

    def x(self, minutes: float) -> float:
        """Never beside the axis."""
        part = (minutes - self.first) / (self.last - self.first)
        return LEFT + min(max(part, 0.0), 1.0) * (RIGHT - LEFT)


def picture(title: str, day: Day, plan: Plan) -> Picture:
    """The whole day as a drawing."""
    lanes = [_clocks(booking, plan.of(head)) for head, booking in enumerate(day.bookings)]
    limits = [c.limit_at / MINUTE for clocks_ in lanes for _, c in clocks_]
    scale = Scale(
        min(p.begins for p in plan.placed), max([*limits, *(p.ends for p in plan.placed)])
    )
    y = EDGE + 22
    top: list[Part] = [
        fitting(Words(EDGE, y, title, 21, bold=True), 700),
        Words(WIDTH - EDGE, y, f"planned by {plan.by}; advice only", 13, "end", colour="#444444"),
    ]
    first = y = y + 40
    parts: list[Part] = []
    for head, booking in enumerate(day.bookings):
        made, y = _head(booking, plan.of(head), lanes[head], scale, y)
        parts += made
    made, y = _people(day, plan, scale, y)
    parts += made
    made, y = _basins(day, plan, scale, y)
    parts += made
    axis = [*_axis(scale, first - 8, y)]
    key, y = _legend(y + 30)
    return Picture(WIDTH, y + EDGE, (*top, *axis, *parts, *key), title, _about(day, plan))


def save_svg(title: str, day: Day, plan: Plan, path: Path) -> None:
    """Write the picture as SVG; `StoreError` if the disk refuses."""
    drawing.save_svg(picture(title, day, plan), path)


def save_png(title: str, day: Day, plan: Plan, path: Path) -> None:
    """Write it as PNG; `ConfigError` says what to install if Pillow is missing."""
    drawing_png.save(picture(title, day, plan), path)


def _about(day: Day, plan: Plan) -> str:
    """The picture in words, for who cannot see it."""
    told = []
    for head, booking in enumerate(day.bookings):
        rinses = [p for p in plan.of(head) if p.key.kind == "rinse"]
        times = ", ".join(f"{TimeOfDay(p.begins)} {p.person}" for p in rinses)
        told.append(f"chair {booking.chair}, {booking.recipe.title}: rinsed at {times}")
    return ". ".join(told)


def _axis(scale: Scale, top: float, bottom: float) -> Iterator[Part]:
    for minute in range(int(scale.first), int(scale.last) + 1, scale.step):
        x = scale.x(minute)
        yield Stroke(x, top, x, bottom, marks.PALE)
        for y in (top - 6, bottom + 15):
            yield Words(x, y, str(TimeOfDay(minute)), 12, "middle", colour="#444444")


# ------------------------------------------------------------------ heads


def _clocks(booking: Booking, placed: Sequence[Placed]) -> list[tuple[int, ZoneClock]]:
    """The clock of every zone that is on or planned, with its stage."""
    found: list[tuple[int, ZoneClock]] = []
    for index in range(booking.facts.stage, len(booking.recipe.stages)):
        stage = booking.recipe.stages[index]
        on = dict(booking.facts.on) if index == booking.facts.stage else {}
        on |= {
            p.key.subject: p.ends for p in placed if p.key.kind == "apply" and p.key.stage == index
        }
        if on:
            first = min(on.values()) * MINUTE
            found += [(index, clocks.clock(stage, z, at * MINUTE, first)) for z, at in on.items()]
    return found


def _head(
    booking: Booking,
    placed: Sequence[Placed],
    zones: Sequence[tuple[int, ZoneClock]],
    scale: Scale,
    y: float,
) -> tuple[list[Part], float]:
    recipe = booking.recipe
    parts: list[Part] = [
        Box(EDGE, y, WIDTH - 2 * EDGE, HEAD, SHADE),
        Words(EDGE + 8, y + 18, f"Chair {booking.chair}", 15, bold=True),
        fitting(Words(LEFT, y + 18, f"{recipe.name}: {recipe.title}", 14), 620),
        Words(WIDTH - EDGE - 8, y + 18, _stay(booking, placed), 13, "end"),
    ]
    y += HEAD + 4
    others = [p for p in placed if p.key.kind in ("prepare", "check", "finish")]
    parts.append(Words(EDGE + 8, y + ROW / 2 + 5, "around it", 13, colour="#444444"))
    for task in others:
        parts += _task(task, scale, y + ROW / 2)
    y += ROW
    for stage, clock in zones:
        parts += _zone(stage, clock, placed, scale, y + ROW / 2)
        y += ROW
    return parts, y + 14


def _stay(booking: Booking, placed: Sequence[Placed]) -> str:
    arrives = f"arrives {TimeOfDay(booking.arrives)}"
    return f"{arrives}, leaves {TimeOfDay(max(p.ends for p in placed))}" if placed else arrives


def _zone(
    stage: int, clock: ZoneClock, placed: Sequence[Placed], scale: Scale, y: float
) -> Iterator[Part]:
    yield fitting(Words(EDGE + 8, y + 5, clock.zone, 14), LEFT - EDGE - 14)
    mine = [p for p in placed if p.key.stage == stage]
    passed = next((p for p in mine if p.key[2:] == ("apply", clock.zone)), None)
    rinse = next((p for p in mine if _rinses(p, clock.zone)), None)
    if passed is not None:
        yield from marks.pass_bar(scale.x(passed.begins), scale.x(passed.ends), y)
    limit = scale.x(clock.limit_at / MINUTE)
    off = scale.x(rinse.begins) if rinse is not None else limit
    if off < limit:
        yield from marks.whisker(off, limit, y)
    yield from marks.on_bar(scale.x(clock.started_at / MINUTE), min(off, limit), y)
    if rinse is not None:
        yield from marks.rinse_bar(off, scale.x(rinse.ends), y)
    yield from marks.limit(limit, y)
    yield from marks.first_check(scale.x(clock.check_from_at / MINUTE), y)
    yield from marks.target(scale.x(clock.target_at / MINUTE), y)


def _rinses(placed: Placed, zone: str) -> bool:
    return placed.key.kind == "rinse" and zone in placed.key.subject.split(", ")


def _task(task: Placed, scale: Scale, y: float) -> Iterator[Part]:
    """Prepare, look and finish: white boxes that say what they are."""
    x1, x2 = scale.x(task.begins), scale.x(task.ends)
    if task.key.kind == "check":
        yield from marks.strand_check(
            (x1 + x2) / 2, y, "not ready", f"{TimeOfDay(task.begins)} look"
        )
        return
    yield Box(x1, y - marks.BAR / 2, max(2.0, x2 - x1), marks.BAR, "white", marks.GREY, 1.2)
    words = Words((x1 + x2) / 2, y + 4, task.key.kind, 11, "middle")
    yield fitting(words, max(8.0, x2 - x1 - 4))


# ------------------------------------------------------------------ people and basins


def _people(day: Day, plan: Plan, scale: Scale, y: float) -> tuple[list[Part], float]:
    parts, y = _banner("People (the number is the chair)", y)
    for person in day.people:
        middle = y + LANE / 2
        parts.append(fitting(Words(EDGE + 8, middle + 5, person.name, 14), LEFT - EDGE - 14))
        parts.append(Stroke(LEFT, middle, RIGHT, middle, marks.PALE))
        for pause in person.breaks:
            parts += _break(scale.x(pause.begins), scale.x(pause.ends), middle)
        for task in (p for p in plan.placed if p.person == person.name):
            parts += _busy(day, task, scale, middle)
        y += LANE
    return parts, y + 10


def _basins(day: Day, plan: Plan, scale: Scale, y: float) -> tuple[list[Part], float]:
    parts, y = _banner("Basins", y)
    for basin in range(day.basins):
        middle = y + LANE / 2
        parts.append(Words(EDGE + 8, middle + 5, f"basin {basin + 1}", 14))
        parts.append(Stroke(LEFT, middle, RIGHT, middle, marks.PALE))
        for head, booking in enumerate(day.bookings):
            mine = [p for p in plan.of(head) if p.basin == basin]
            if mine and booking.recipe.place == "basin":
                passes = [p.begins for p in plan.of(head) if p.key.kind == "apply"]
                x1 = scale.x(min(passes, default=mine[0].begins))
                x2 = scale.x(mine[-1].ends)
                parts += _kept(x1, x2, middle)
            for task in mine:
                parts += _busy(day, task, scale, middle)
        y += LANE
    return parts, y + 10


def _banner(text: str, y: float) -> tuple[list[Part], float]:
    box = Box(EDGE, y, WIDTH - 2 * EDGE, HEAD - 4, SHADE)
    return [box, Words(EDGE + 8, y + 16, text, 13, bold=True)], y + HEAD


def _busy(day: Day, task: Placed, scale: Scale, y: float) -> Iterator[Part]:
    """A box with the chair's number; passes hatched, rinses dotted, as above."""
    x1, x2 = scale.x(task.begins), scale.x(task.ends)
    if task.key.kind == "apply":
        yield from marks.pass_bar(x1, x2, y)
    elif task.key.kind == "rinse":
        yield from marks.rinse_bar(x1, x2, y)
    elif task.key.kind == "check":
        yield Dot((x1 + x2) / 2, y, marks.MARK, "white", INK, 1.6)
    else:
        yield Box(x1, y - marks.BAR / 2, max(2.0, x2 - x1), marks.BAR, "white", marks.GREY, 1.2)
    chair = str(day.bookings[task.key.head].chair)
    middle = (x1 + x2) / 2
    if task.key.kind != "check":
        yield Box(middle - 5, y - 6, 10, 12, "white")
    size = 10 if task.key.kind == "check" else 12
    yield Words(middle, y + 4, chair, size, "middle", bold=True)


def _break(x1: float, x2: float, y: float) -> Iterator[Part]:
    box = Box(x1, y - marks.BAR / 2, x2 - x1, marks.BAR, SHADE, marks.GREY, 1.0)
    yield box
    yield from hatched(box, 9.0, marks.GREY, falling=True)


# ------------------------------------------------------------------ key


KEY: tuple[tuple[str, Callable[[float, float], Iterable[Part]]], ...] = (
    ("being put on", lambda x, y: marks.pass_bar(x, x + 28, y)),
    ("on, working", lambda x, y: marks.on_bar(x, x + 28, y)),
    ("being rinsed", lambda x, y: marks.rinse_bar(x, x + 28, y)),
    ("look at a strand", lambda x, y: marks.strand_check(x + 14, y, "not ready", "")),
    ("first check", lambda x, y: marks.first_check(x + 14, y - marks.BAR / 2)),
    ("target", lambda x, y: marks.target(x + 14, y - marks.BAR / 2)),
    ("limit, and time left to it", lambda x, y: [
        *marks.whisker(x, x + 24, y), *marks.limit(x + 26, y)]),
    ("break", lambda x, y: _break(x, x + 28, y)),
    ("basin kept while it develops", lambda x, y: _kept(x, x + 28, y)),
)  # fmt: skip


def _kept(x1: float, x2: float, y: float) -> Iterator[Part]:
    return dashed(Stroke(x1, y, x2, y, marks.GREY, 2.0), 6.0, 3.0)


def _legend(y: float) -> tuple[list[Part], float]:
    parts: list[Part] = [Stroke(EDGE, y, WIDTH - EDGE, y, marks.GREY, 0.8)]
    across = (WIDTH - 2 * EDGE) / 5
    for place, (words, sample) in enumerate(KEY):
        row, column = divmod(place, 5)
        x, middle = EDGE + column * across + 6, y + 22 + row * 25
        parts += sample(x, middle)
        parts.append(Words(x + 40, middle + 4.5, words, 12.5))
    return parts, y + 22 + 25 + 8
