"""How each mark of a timeline looks: bars, clocks, checks, calls. Every one differs in form.

Colour only helps: a pass is hatched, product that works is filled, a rinse is dotted, too long
is cross-hatched, and clock times, checks and calls have shapes of their own.
"""

from __future__ import annotations

from collections.abc import Iterator

from assistant.core.events import Priority
from assistant.edges.drawing import (
    INK,
    Box,
    Dot,
    Part,
    Shape,
    Stroke,
    Words,
    dashed,
    hatched,
)

ON = "#b9b3d6"
ON_EDGE = "#5c5486"
PASS = "#b06a1e"
RINSE = "#2f6f94"
OVER = "#9c1c12"
WINDOW = "#e6efe2"
WINDOW_EDGE = "#4f7a45"
GREY = "#777777"
PALE = "#dddddd"
BAR = 15.0  # height of a bar
MARK = 7.5  # half the size of a call


def pass_bar(x1: float, x2: float, y: float) -> Iterator[Part]:
    """Product is being put on."""
    box = Box(x1, y - BAR / 2, max(2.0, x2 - x1), BAR, "white", PASS, 1.2)
    yield box
    yield from hatched(box, 5.0, PASS)


def on_bar(x1: float, x2: float, y: float) -> Iterator[Part]:
    """Product works."""
    yield Box(x1, y - BAR / 2, max(2.0, x2 - x1), BAR, ON, ON_EDGE, 1.2)


def over_bar(x1: float, x2: float, y: float) -> Iterator[Part]:
    """Product is on beyond its limit."""
    box = Box(x1, y - BAR / 2, max(2.0, x2 - x1), BAR, "white", OVER, 1.6)
    yield box
    yield from hatched(box, 4.0, OVER)
    yield from hatched(box, 4.0, OVER, falling=True)


def rinse_bar(x1: float, x2: float, y: float) -> Iterator[Part]:
    """Product is being rinsed."""
    width = max(4.0, x2 - x1)
    yield Box(x1, y - BAR / 2, width, BAR, "white", RINSE, 1.2)
    place = 2.5
    while place < width - 1:
        for down in (-4.0, 0.0, 4.0):
            yield Dot(x1 + place + (1.5 if not down else 0.0), y + down, 0.9, RINSE)
        place += 4.0


def whisker(x1: float, x2: float, y: float) -> Iterator[Part]:
    """The time that was left until the limit."""
    yield from dashed(Stroke(x1, y, x2, y, GREY, 1.2), 3.0, 3.0)


def limit(x: float, y: float) -> Iterator[Part]:
    """The moment when product must be off."""
    yield Stroke(x, y - BAR / 2 - 3.5, x, y + BAR / 2 + 3.5, INK, 3.0)


def target(x: float, y: float) -> Iterator[Part]:
    """The moment when a zone is due: a full triangle under the bar."""
    foot = y + BAR / 2
    yield Shape(((x, foot - 3), (x - 4.5, foot + 5), (x + 4.5, foot + 5)), INK)


def first_check(x: float, y: float) -> Iterator[Part]:
    """The moment of the first strand check: an open triangle under the bar."""
    foot = y + BAR / 2
    points = ((x, foot - 3), (x - 4.5, foot + 5), (x + 4.5, foot + 5))
    yield Shape(points, "white", INK, 1.2)


def strand_check(x: float, y: float, answer: str, hint: str) -> Iterator[Part]:
    """A strand was looked at: full = ready, open = not yet, crossed = more was refused."""
    yield Dot(x, y, 5.2, INK if answer == "ready" else "white", INK, 1.6, hint)
    if "refused" in answer:
        yield Stroke(x - 3.2, y + 3.2, x + 3.2, y - 3.2, INK, 1.8)


def stopped(x: float, y: float) -> Iterator[Part]:
    """The clock was stopped by hand."""
    yield Stroke(x, y - BAR / 2, x, y + BAR / 2, INK, 2.0)
    yield Stroke(x + 4, y - BAR / 2, x + 4, y + BAR / 2, INK, 2.0)


def window(x1: float, x2: float, y1: float, y2: float) -> Iterator[Part]:
    """The time in which one rinse serves every zone, behind their bars."""
    yield Box(x1, y1, x2 - x1, y2 - y1, WINDOW)
    for x in (x1, x2):
        yield from dashed(Stroke(x, y1, x, y2, WINDOW_EDGE, 1.4))


def call(x: float, y: float, priority: Priority, hint: str) -> Iterator[Part]:
    """A call: black diamond 1, grey square 2, white circle 3; guidance is a thin tick."""
    match priority:
        case Priority.LIMIT:
            r = MARK + 1.5
            yield Shape(((x, y - r), (x + r, y), (x, y + r), (x - r, y)), INK, hint=hint)
            yield Words(x, y + 4, "1", 11, "middle", bold=True, colour="white")
        case Priority.DUE:
            r = MARK - 0.5
            corners = ((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r))
            yield Shape(corners, "#c8c8c8", INK, 1.2, hint)
            yield Words(x, y + 4, "2", 11, "middle", bold=True)
        case Priority.CHECK:
            yield Dot(x, y, MARK, "white", INK, 1.3, hint)
            yield Words(x, y + 4, "3", 11, "middle")
        case Priority.GUIDE:
            yield Stroke(x, y - 4.5, x, y + 4.5, "#555555", 1.2)


def heard(x: float, y: float, hint: str, *, understood: bool) -> Iterator[Part]:
    """Something said to the assistant: a point, or a cross if it was not understood."""
    if understood:
        yield Dot(x, y, 2.2, INK, hint=hint)
        return
    yield Stroke(x - 3.5, y - 3.5, x + 3.5, y + 3.5, INK, 1.5)
    yield Stroke(x - 3.5, y + 3.5, x + 3.5, y - 3.5, INK, 1.5)


def happening(x: float, y1: float, y2: float) -> Iterator[Part]:
    """Something that befell the room, through every head."""
    yield from dashed(Stroke(x, y1, x, y2, OVER, 1.3), 2.0, 4.0)
