"""The board in plain characters: rows per chair, bars with check, target and limit, for a terminal.

`C` is the check, `T` the target, `L` the limit, `#` the time that has run. Colour only repeats
what is written.
"""

from __future__ import annotations

import os
import textwrap
from collections.abc import Callable, Iterator, Mapping

from assistant.core.board_frame import Frame
from assistant.core.snapshot import DueView, HeadView, ZoneView

STALE_SECONDS = 5.0
LEAST_WIDTH = 40
_OVER = 8  # cells beyond the limit
_STYLES = {"alarm": "\x1b[1;7m", "bold": "\x1b[1m", "soft": "\x1b[2m"}
_PLAIN = "\x1b[0m"
Line = tuple[str, str]  # style ("" for none) and text


def drawn(frame: Frame | None, age: float, width: int = 80) -> list[Line]:
    """The whole board as lines, `age` seconds of the wall after the frame was made."""
    width = max(width, LEAST_WIDTH)
    if frame is None:
        return [("bold", "Waiting for the first news of the session.")]
    now = frame.view.at + age * frame.speed
    lines = [*_stale(frame, age), *_due(frame, now)]
    for head in frame.view.heads:
        lines += ["", *_head(head, now, width)]  # type: ignore[list-item]
    lines += ["", *_foot(frame, now, width)]  # type: ignore[list-item]
    return [(one[0], one[1][:width]) if one else ("", "") for one in lines]


def colours(environment: Mapping[str, str] = os.environ) -> bool:
    """Whether styles are wanted (NO_COLOR: any value but an empty one says no)."""
    return not environment.get("NO_COLOR") and environment.get("TERM", "") != "dumb"


class Screen:
    """Redraws in place with one write: no flicker, no scrolling; leaves the terminal as it was."""

    def __init__(self, write: Callable[[str], object], *, colour: bool) -> None:
        """`write` puts text on the terminal at once."""
        self._write = write
        self._colour = colour

    def __enter__(self) -> Screen:
        """The other screen, without a cursor."""
        self._write("\x1b[?1049h\x1b[?25l\x1b[2J")
        return self

    def __exit__(self, *error: object) -> None:
        """Back to what was there before."""
        self._write("\x1b[?25h\x1b[?1049l")

    def show(self, lines: list[Line], rows: int) -> None:
        """Draw over what is there; what does not fit is said, not scrolled away."""
        if len(lines) > rows:
            lines = [*lines[: rows - 1], ("alarm", f"{len(lines) - rows + 1} more lines below")]
        text = "\x1b[K\r\n".join(self._styled(style, line) for style, line in lines)
        self._write(f"\x1b[H{text}\x1b[K\x1b[J")

    def _styled(self, style: str, line: str) -> str:
        return f"{_STYLES[style]}{line}{_PLAIN}" if style and self._colour else line


def clock_text(seconds: float) -> str:
    """ "12:05", whatever the sign."""
    whole = int(abs(seconds))
    return f"{whole // 60}:{whole % 60:02d}"


def _in(at: float, now: float) -> str:
    return f"in {clock_text(at - now)}" if at >= now else f"{clock_text(now - at)} ago"


def _stale(frame: Frame, age: float) -> Iterator[Line]:
    if frame.over:
        yield "alarm", "THE SESSION HAS ENDED."
    elif age > STALE_SECONDS:
        yield "alarm", f"STALE: no news for {clock_text(age)}. Do not trust this board."


def _due(frame: Frame, now: float) -> Iterator[Line]:
    due = frame.view.due
    if not due:
        yield "bold", "Nothing is due."
    for first in due[:1]:
        yield (
            ("alarm" if first.up else "bold"),
            ("NOW   " if first.up else "NEXT  ") + _one(first, now),
        )
    for then in due[1:2]:
        yield "", ("NOW   " if then.up else "then  ") + _one(then, now)


def _one(due: DueView, now: float) -> str:
    where = "" if due.chair is None else f"chair {due.chair} {due.subject}: "
    return f"{where}{due.todo if due.up else due.words} {_in(due.at, now)}"


def _head(head: HeadView, now: float, width: int) -> Iterator[Line]:
    yield "bold", f"CHAIR {head.chair}  {head.recipe}  -  {head.doing}"
    for zone in head.zones:
        if zone.on_at is not None and zone.state != "off":
            yield from _zone(zone, now, width)
    rest: dict[str, list[str]] = {}
    for zone in head.zones:
        if zone.on_at is None or zone.state == "off":
            rest.setdefault(zone.state, []).append(zone.name)
    if rest:
        yield "soft", "  " + "; ".join(f"{state}: {', '.join(z)}" for state, z in rest.items())
    if head.window_opens is not None and head.window_closes is not None:
        yield "", "  " + _window(head.window_opens, head.window_closes, now)


def _window(opens: float, closes: float, now: float) -> str:
    if opens > closes:
        return "no single rinse serves all zones"
    if now > closes:
        return f"rinse window closed {_in(closes, now)}"
    opened = f"opens {_in(opens, now)}" if now < opens else "is open"
    return f"rinse window {opened}, closes {_in(closes, now)}"


def _zone(zone: ZoneView, now: float, width: int) -> Iterator[Line]:
    on, check, target, limit = (
        at or 0.0 for at in (zone.on_at, zone.check_at, zone.target_at, zone.limit_at)
    )
    late = now >= limit and zone.state != "rinsing"
    words = f"  {zone.name[:14]:<14} {zone.state:<8}"
    yield "", words + bar((on, check, target, limit), now, max(16, width - len(words)))
    mark = "  !! LIMIT " if late else "     limit "
    rest = f"check {_in(check, now)}, target {_in(target, now)},"
    yield ("alarm" if late else ""), f"{mark}{_in(limit, now)}; {rest} on {clock_text(now - on)}"


def bar(moments: tuple[float, float, float, float], now: float, cells: int) -> str:
    """The bar of a zone from its start to a little beyond its limit; marks over the time run."""
    on, check, target, limit = moments
    scale = (cells - 2 - _OVER) / max(1.0, limit - on)

    def cell(at: float) -> int:
        return min(cells - 3, max(0, round((at - on) * scale)))

    signs = ["#" if at < cell(now) else "-" for at in range(cells - 2)]
    for at, sign in ((check, "C"), (target, "T"), (limit, "L")):
        signs[cell(at)] = sign
    return f"[{''.join(signs)}]"


def _foot(frame: Frame, now: float, width: int) -> Iterator[Line]:
    view = frame.view
    if view.lost:
        yield "alarm", "LOST: " + ", ".join(view.lost) + " (the clocks go on)"
    else:
        yield "", "microphone and sound are there"
    if view.quiet_until > now:
        yield "", f"calls are quiet for {clock_text(view.quiet_until - now)}, never a limit"
    for label, text in (("heard: ", frame.heard or "-"), ("said:  ", frame.said or "-")):
        for line in textwrap.wrap(text, width - 7, initial_indent=label, subsequent_indent=" " * 7):
            yield "soft", line
