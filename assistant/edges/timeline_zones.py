"""One row of a timeline: what happened to a zone, as a bar with its clock, and in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.core.clocks import MINUTE
from assistant.core.script import mmss
from assistant.core.timeline import StrandCheck, ZoneBar
from assistant.edges import timeline_marks as marks
from assistant.edges.drawing import Part, Words, fitting, width_of

WIDTH = 1240.0
EDGE = 28.0  # paper around everything
LEFT, RIGHT = 170.0, 1060.0  # where the time axis begins and ends
APART = 12.0  # at least, from one strand check to the next


@dataclass(frozen=True, slots=True)
class Scale:
    """Where a moment lies on the paper; `ends_at` is when the picture was taken."""

    minutes: int
    step: int
    ends_at: float

    def x(self, at: float) -> float:
        """From salon seconds to the paper, never beside the axis."""
        part = min(max(at / MINUTE / self.minutes, 0.0), 1.0)
        return LEFT + part * (RIGHT - LEFT)


def zone_row(bar: ZoneBar, scale: Scale, y: float) -> Iterator[Part]:
    """The row whose middle is at `y`."""
    over = minutes_over(bar, scale.ends_at) > 0
    yield fitting(Words(EDGE + 8, y + 5, bar.zone, 14), LEFT - EDGE - 14)
    words = Words(RIGHT + 14, y + 5, outcome(bar, scale.ends_at), 13, bold=over)
    yield fitting(words, WIDTH - EDGE - RIGHT - 14)
    if bar.pass_began_at is not None and bar.on_at is not None:
        yield from marks.pass_bar(scale.x(bar.pass_began_at), scale.x(bar.on_at), y)
    if bar.on_at is None or bar.limit_at is None:
        return
    off = _off_at(bar)
    end = scale.x(scale.ends_at if off is None else off)
    limit = scale.x(bar.limit_at)
    if end < limit:
        yield from marks.whisker(end, limit, y)
    yield from marks.on_bar(scale.x(bar.on_at), min(end, limit), y)
    if end > limit:
        yield from marks.over_bar(limit, end, y)
    if bar.rinsing_at is not None and bar.rinsed_at is not None:
        yield from marks.rinse_bar(scale.x(bar.rinsing_at), scale.x(bar.rinsed_at), y)
    yield from _clock(bar, scale, y)
    yield from _checks(bar.checks, scale, y)


def _clock(bar: ZoneBar, scale: Scale, y: float) -> Iterator[Part]:
    if bar.limit_at is not None:
        yield from marks.limit(scale.x(bar.limit_at), y)
    if bar.check_at is not None:
        yield from marks.first_check(scale.x(bar.check_at), y)
    if bar.target_at is not None:
        yield from marks.target(scale.x(bar.target_at), y)
    if bar.stopped_at is not None:
        yield from marks.stopped(scale.x(bar.stopped_at), y)


def _checks(checks: Sequence[StrandCheck], scale: Scale, y: float) -> Iterator[Part]:
    """Each check side by side, and how many more minutes were given where there is room."""
    places: list[float] = []
    for check in checks:
        places.append(max(scale.x(check.at), places[-1] + APART if places else 0.0))
    for check, x, following in zip(checks, places, [*places, math.inf][1:], strict=True):
        yield from marks.strand_check(x, y, check.answer, f"{mmss(check.at)} {check.answer}")
        words = check.answer.removeprefix("give it ")
        label = Words(x + 8, y + 4.5, f"+{words}", 11, bold=True)
        if words.isdigit() and label.x + width_of(label.text, label.size) < following - APART / 2:
            yield label


def _off_at(bar: ZoneBar) -> float | None:
    return bar.rinsed_at if bar.rinsed_at is not None else bar.stopped_at


def minutes_over(bar: ZoneBar, ends_at: float) -> float:
    """Minutes beyond the limit until the rinse began (or the zone was off, or until now)."""
    if bar.on_at is None or bar.limit_at is None:
        return 0.0
    return max(0.0, (_worked_until(bar, ends_at) - bar.limit_at) / MINUTE)


def outcome(bar: ZoneBar, ends_at: float) -> str:
    """ "24 min on", "39 min on, 4 over", "left out"."""
    if bar.left_out:
        return "left out"
    if bar.on_at is None:
        return "not put on"
    words = f"{(_worked_until(bar, ends_at) - bar.on_at) / MINUTE:.0f} min on"
    if _off_at(bar) is None and bar.rinsing_at is None:
        words = "still on"
    over = minutes_over(bar, ends_at)
    if over > 0:
        return f"{words}, {math.ceil(over)} over"
    return f"{words}, stopped" if bar.stopped_at is not None else words


def _worked_until(bar: ZoneBar, ends_at: float) -> float:
    off = bar.rinsing_at if bar.rinsing_at is not None else _off_at(bar)
    return ends_at if off is None else off
