"""A picture of a service for somebody who would rather look than read: time runs to the right.

Every zone is a bar from the moment it is on until it is rinsed, with its clock times, strand
checks and the common rinse window behind it; below each head what was called and heard.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

from assistant.core.clocks import MINUTE
from assistant.core.events import Priority
from assistant.core.script import mmss
from assistant.core.timeline import HeadLane, HeardMark, SaidMark, StageBand, Timeline
from assistant.edges import drawing, drawing_png
from assistant.edges import timeline_marks as marks
from assistant.edges.drawing import Box, Part, Picture, Stroke, Words, fitting, width_of
from assistant.edges.timeline_legend import legend
from assistant.edges.timeline_zones import EDGE, LEFT, RIGHT, WIDTH, Scale, outcome, zone_row

ROW = 34.0
LINE = 22.0
TOGETHER = 17.0  # calls closer than this share one mark


def picture(timeline: Timeline) -> Picture:
    """The whole timeline as a drawing."""
    scale = _scale(timeline)
    y = EDGE + 22
    top: list[Part] = [
        fitting(Words(EDGE, y, timeline.title, 21, bold=True), 0.7 * WIDTH),
        Words(WIDTH - EDGE, y, _sum(timeline), 13, "end", colour="#444444"),
    ]
    y += 40
    first = y
    lanes: list[Part] = []
    for head in timeline.heads:
        parts, y = _head(timeline, head, scale, y)
        lanes += parts
    parts, y = _room(timeline, scale, y)
    lanes += parts
    axis = [*_axis(scale, first - 8, y)]
    for event in timeline.happenings:  # behind everything but the grid
        axis += marks.happening(scale.x(event.at), first - 6, y - 4)
    y += 34
    key, y = legend(EDGE, y, WIDTH - 2 * EDGE)
    return Picture(WIDTH, y + EDGE, (*top, *axis, *lanes, *key), timeline.title, _about(timeline))


def save_svg(timeline: Timeline, path: Path) -> None:
    """Write the picture as SVG; `StoreError` if the disk refuses."""
    drawing.save_svg(picture(timeline), path)


def save_png(timeline: Timeline, path: Path) -> None:
    """Write the picture as PNG; `ConfigError` says what to install if Pillow is missing."""
    drawing_png.save(picture(timeline), path)


def _about(timeline: Timeline) -> str:
    """The picture in words, for who cannot see it."""
    lines = [_sum(timeline)]
    for head in timeline.heads:
        bars = [bar for band in head.stages for bar in band.zones]
        zones = ", ".join(f"{bar.zone} {outcome(bar, timeline.ends_at)}" for bar in bars)
        lines.append(f"chair {head.chair}, {head.recipe}: {zones}, {_end_of(head)}")
    return ". ".join(lines)


def _sum(timeline: Timeline) -> str:
    calls = sum(mark.priority != Priority.GUIDE for mark in timeline.said)
    return f"{timeline.ends_at / MINUTE:.0f} minutes, {calls} call{'s' * (calls != 1)}"


def _scale(timeline: Timeline) -> Scale:
    """Long enough for every limit, in whole steps of the grid."""
    bars = [bar for head in timeline.heads for band in head.stages for bar in band.zones]
    last = max([timeline.ends_at, *(bar.limit_at for bar in bars if bar.limit_at is not None)])
    step = next((s for s in (5, 10, 15, 30) if last / MINUTE <= 14 * s), 60)
    minutes = max(step, math.ceil(last / MINUTE / step) * step)
    return Scale(minutes, step, timeline.ends_at)


def _axis(scale: Scale, top: float, bottom: float) -> Iterator[Part]:
    for minute in range(0, scale.minutes + 1, scale.step):
        x = scale.x(minute * MINUTE)
        yield Stroke(x, top, x, bottom, marks.PALE)
        for y in (top - 6, bottom + 15):
            yield Words(x, y, str(minute), 12, "middle", colour="#444444")
    for y in (top - 6, bottom + 15):
        yield Words(EDGE, y, "minutes", 12, colour="#444444")


# ------------------------------------------------------------------ heads


def _head(timeline: Timeline, head: HeadLane, scale: Scale, y: float) -> tuple[list[Part], float]:
    parts: list[Part] = [
        Box(EDGE, y, WIDTH - 2 * EDGE, LINE + 2, "#efefef"),
        Words(EDGE + 8, y + 17, f"Chair {head.chair}", 15, bold=True),
        fitting(Words(LEFT, y + 17, head.recipe, 15, bold=True), 0.6 * (RIGHT - LEFT)),
        Words(WIDTH - EDGE - 8, y + 17, _end_of(head), 13, "end"),
    ]
    y += LINE + 2
    for band in head.stages:
        band_parts, y = _stage(head, band, scale, y)
        parts += band_parts
    said = [mark for mark in timeline.said if _belongs(mark, head)]
    heard = [mark for mark in timeline.heard if _belongs(mark, head)]
    if len(timeline.heads) == 1:  # then whatever was said was said about this head
        talk, words = _of_nobody(timeline)
        said, heard = said + talk, heard + words
    speech, y = _speech(said, heard, scale, y + 2)
    return [*parts, *speech], y + 16


def _of_nobody(timeline: Timeline) -> tuple[list[SaidMark], list[HeardMark]]:
    """Guidance and what was heard without a chair's name; calls of the room stay the room's."""
    talk = [m for m in timeline.said if m.chair is None and m.priority == Priority.GUIDE]
    return talk, [m for m in timeline.heard if m.chair is None]


def _belongs(mark: SaidMark | HeardMark, head: HeadLane) -> bool:
    ends = math.inf if head.ended_at is None else head.ended_at + MINUTE
    return mark.chair == head.chair and head.opened_at - MINUTE <= mark.at <= ends


def _end_of(head: HeadLane) -> str:
    if head.burns_at is not None:
        return f"it burned at {mmss(head.burns_at)}: stopped"
    if head.stopped_why:
        return f"stopped: {head.stopped_why}"
    return f"ended {mmss(head.ended_at)}" if head.ended_at is not None else "going on"


def _stage(head: HeadLane, band: StageBand, scale: Scale, y: float) -> tuple[list[Part], float]:
    """A line that tells the rinse window, then one row for each zone."""
    y += LINE
    parts: list[Part] = [*_on_white(Words(LEFT, y - 5, _window_words(band), 12))]
    if len(head.stages) > 1:
        name = Words(EDGE + 8, y - 5, band.stage, 12, bold=True, colour="#444444")
        parts.append(fitting(name, LEFT - EDGE - 14))
    bottom = y + ROW * len(band.zones)
    if band.fits and band.opens_at is not None and band.closes_at is not None:
        parts += marks.window(scale.x(band.opens_at), scale.x(band.closes_at), y, bottom)
    for bar in band.zones:
        parts += zone_row(bar, scale, y + ROW / 2)
        y += ROW
    return parts, y


def _on_white(words: Words) -> Iterator[Part]:
    """A text that no line runs through."""
    room = width_of(words.text, words.size)
    yield Box(words.x - 3, words.y - words.size, room + 6, words.size + 4, "white")
    yield words


def _window_words(band: StageBand) -> str:
    if band.opens_at is None or band.closes_at is None:
        return "no zone was put on"
    if not band.fits:
        return f"no single rinse fits: {band.closed_by} comes off first, by {mmss(band.closes_at)}"
    return (
        f"rinse window {mmss(band.opens_at)} to {mmss(band.closes_at)}, "
        f"closed by the limit of {band.closed_by}"
    )


# ----------------------------------------------------------------- speech


def _speech(
    said: list[SaidMark], heard: list[HeardMark], scale: Scale, y: float
) -> tuple[list[Part], float]:
    parts: list[Part] = []
    if said:
        y += LINE + 4
        parts += _row("it says", y)
        for mark in said:
            if mark.priority == Priority.GUIDE:
                parts += marks.call(scale.x(mark.at), y, mark.priority, "")
        parts += _calls([mark for mark in said if mark.priority != Priority.GUIDE], scale, y)
    if heard:
        y += LINE
        parts += _row("it hears", y)
        for spoken in heard:
            hint = f"{mmss(spoken.at)} {spoken.text}"
            parts += marks.heard(scale.x(spoken.at), y, hint, understood=spoken.understood)
    return parts, y + 8


def _row(name: str, y: float) -> Iterator[Part]:
    yield Words(EDGE + 8, y + 4, name, 13, colour="#444444")
    yield Stroke(LEFT, y, RIGHT, y, marks.PALE)


def _calls(calls: list[SaidMark], scale: Scale, y: float) -> Iterator[Part]:
    """Calls too close to be drawn apart share the mark of the most urgent."""
    groups: list[list[SaidMark]] = []
    for mark in sorted(calls, key=lambda call: call.at):
        if groups and scale.x(mark.at) - scale.x(groups[-1][0].at) < TOGETHER:
            groups[-1].append(mark)
        else:
            groups.append([mark])
    for group in groups:
        hint = "\n".join(f"{mmss(call.at)} {call.text}" for call in group)
        most = min(call.priority for call in group)
        yield from marks.call(scale.x(group[0].at), y, most, hint)


def _room(timeline: Timeline, scale: Scale, y: float) -> tuple[list[Part], float]:
    """What was said and heard by nobody's chair in particular, and what befell the room."""
    said = [m for m in timeline.said if m.chair is None and m.priority != Priority.GUIDE]
    heard: list[HeardMark] = []
    if len(timeline.heads) != 1:
        talk, heard = _of_nobody(timeline)
        said += talk
    if not (said or heard or timeline.happenings):
        return [], y
    parts: list[Part] = [
        Box(EDGE, y, WIDTH - 2 * EDGE, LINE + 2, "#efefef"),
        Words(EDGE + 8, y + 17, "The room", 15, bold=True),
    ]
    speech, y = _speech(said, heard, scale, y + LINE)
    parts += speech
    free: list[float] = []  # where each line of labels has room again
    for event in timeline.happenings:
        text = f"{mmss(event.at)} {event.text}"
        x = min(scale.x(event.at) + 6, WIDTH - EDGE - width_of(text, 12))
        line = next((i for i, end in enumerate(free) if end <= x), len(free))
        if line == len(free):
            free.append(0.0)
        free[line] = x + width_of(text, 12) + 12
        parts += _on_white(Words(x, y + 18 + 17 * line, text, 12))
    return parts, y + 18 + 17 * len(free)
