"""What the marks of a timeline mean: the key under the picture."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from assistant.core.events import Priority
from assistant.edges import timeline_marks as marks
from assistant.edges.drawing import Part, Stroke, Words

COLUMNS = 4
ROW = 25.0
Sample = Callable[[float, float], Iterable[Part]]

KEY: tuple[tuple[str, Sample], ...] = (
    ("being put on", lambda x, y: marks.pass_bar(x - 14, x + 14, y)),
    ("on, working", lambda x, y: marks.on_bar(x - 14, x + 14, y)),
    ("being rinsed", lambda x, y: marks.rinse_bar(x - 14, x + 14, y)),
    ("on beyond the limit", lambda x, y: marks.over_bar(x - 14, x + 14, y)),
    ("first check due", lambda x, y: marks.first_check(x, y - marks.BAR / 2)),
    ("target", lambda x, y: marks.target(x, y - marks.BAR / 2)),
    ("limit, and time left to it", lambda x, y: [
        *marks.whisker(x - 14, x + 12, y), *marks.limit(x + 12, y)]),
    ("one rinse serves all zones", lambda x, y: marks.window(x - 14, x + 14, y - 9, y + 9)),
    ("strand: ready", lambda x, y: marks.strand_check(x, y, "ready", "")),
    ("strand: not yet, +5 = five more", lambda x, y: marks.strand_check(x, y, "not ready", "")),
    ("more time refused", lambda x, y: marks.strand_check(x, y, "refused", "")),
    ("clock stopped by hand", lambda x, y: marks.stopped(x - 2, y)),
    ("call 1: limit, burning", lambda x, y: marks.call(x, y, Priority.LIMIT, "")),
    ("call 2: due, trouble", lambda x, y: marks.call(x, y, Priority.DUE, "")),
    ("call 3: check, window open", lambda x, y: marks.call(x, y, Priority.CHECK, "")),
    ("guidance or answer", lambda x, y: marks.call(x, y, Priority.GUIDE, "")),
    ("heard and understood", lambda x, y: marks.heard(x, y, "", understood=True)),
    ("heard, not understood", lambda x, y: marks.heard(x, y, "", understood=False)),
    ("something befell the room", lambda x, y: marks.happening(x, y - 10, y + 10)),
)  # fmt: skip


def legend(x: float, y: float, width: float) -> tuple[list[Part], float]:
    """The key as a table from (x, y) down; returns also where it ends."""
    parts: list[Part] = [Stroke(x, y, x + width, y, marks.GREY, 0.8)]
    across = width / COLUMNS
    for place, (words, sample) in enumerate(KEY):
        row, column = divmod(place, COLUMNS)
        left, middle = x + column * across, y + 22 + row * ROW
        parts += sample(left + 22, middle)
        parts.append(Words(left + 46, middle + 4.5, words, 12.5))
    return parts, y + 22 + (len(KEY) - 1) // COLUMNS * ROW + 8
