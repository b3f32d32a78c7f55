"""A picture as a list of plain shapes, written as SVG with nothing but the standard library.

Hatching and dashes are made of lines here, so that every way of painting shows them alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from html import escape
from pathlib import Path
from typing import Literal

from assistant.edges import whole_files

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]
INK = "#1a1a1a"
FONT = "Helvetica, Arial, 'DejaVu Sans', sans-serif"


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle."""

    x: float
    y: float
    width: float
    height: float
    fill: str = "none"
    line: str = "none"
    thick: float = 1.0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    line: str = INK
    thick: float = 1.0


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed outline. `hint` is shown when the pointer rests on it."""

    points: tuple[Point, ...]
    fill: str = INK
    line: str = "none"
    thick: float = 1.0
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Dot:
    """A circle. `hint` is shown when the pointer rests on it."""

    x: float
    y: float
    radius: float
    fill: str = INK
    line: str = "none"
    thick: float = 1.0
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text; `y` is its baseline."""

    x: float
    y: float
    text: str
    size: float = 12.0
    anchor: Anchor = "start"
    bold: bool = False
    colour: str = INK


Part = Box | Stroke | Shape | Dot | Words


@dataclass(frozen=True, slots=True)
class Picture:
    """Parts on white paper, the first at the bottom. `about` says in words what it shows."""

    width: float
    height: float
    parts: tuple[Part, ...]
    title: str
    about: str = ""


def width_of(text: str, size: float) -> float:
    """Room that a text needs at most, in the widest of the usual fonts."""
    return 0.62 * size * len(text)


def fitting(words: Words, room: float) -> Words:
    """The same words, smaller if they would not fit."""
    needed = width_of(words.text, words.size)
    return words if needed <= room else replace(words, size=round(words.size * room / needed, 1))


def dashed(stroke: Stroke, dash: float = 5.0, gap: float = 4.0) -> Iterator[Stroke]:
    """A line cut into dashes."""
    run_x, run_y = stroke.x2 - stroke.x1, stroke.y2 - stroke.y1
    length = (run_x**2 + run_y**2) ** 0.5
    place = 0.0
    while place < length:
        a, b = place / length, min(place + dash, length) / length
        yield Stroke(
            stroke.x1 + a * run_x,
            stroke.y1 + a * run_y,
            stroke.x1 + b * run_x,
            stroke.y1 + b * run_y,
            stroke.line,
            stroke.thick,
        )
        place += dash + gap


def hatched(box: Box, apart: float, line: str, *, falling: bool = False) -> Iterator[Stroke]:
    """Slanted lines that fill a box, rising to the right (or falling)."""
    place = apart / 2
    while place < box.width + box.height:
        x1, x2 = max(0.0, place - box.height), min(place, box.width)
        y1, y2 = place - x1, place - x2  # from the upper edge; from the lower one if falling
        if falling:
            y1, y2 = box.height - y1, box.height - y2
        yield Stroke(box.x + x1, box.y + y1, box.x + x2, box.y + y2, line)
        place += apart


def svg(picture: Picture) -> str:
    """The whole picture as an SVG file."""
    size = f"{picture.width:g} {picture.height:g}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}" width="{picture.width:g}" '
        f'height="{picture.height:g}" role="img" font-family="{escape(FONT)}">'
    )
    lines = [
        head,
        f"<title>{escape(picture.title)}</title>",
        f"<desc>{escape(picture.about)}</desc>",
        f'<rect width="{picture.width:g}" height="{picture.height:g}" fill="white"/>',
        *(_svg(part) for part in picture.parts),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def save_svg(picture: Picture, path: Path) -> None:
    """Write the picture as SVG, whole or not at all; `StoreError` if the disk refuses."""
    whole_files.write(path, svg(picture))


def _svg(part: Part) -> str:
    match part:
        case Box(x, y, width, height):
            place = f'x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"'
            return f"<rect {place} {_look(part)}/>"
        case Stroke(x1, y1, x2, y2, line, thick):
            place = f'x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"'
            return f'<line {place} stroke="{line}" stroke-width="{thick:g}"/>'
        case Shape(points):
            place = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
            return f'<polygon points="{place}" {_look(part)}>{_hint(part.hint)}</polygon>'
        case Dot(x, y, radius):
            place = f'cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}"'
            return f"<circle {place} {_look(part)}>{_hint(part.hint)}</circle>"
        case Words(x, y, text, text_size, anchor, bold, colour):
            weight = ' font-weight="bold"' if bold else ""
            return (
                f'<text x="{x:.1f}" y="{y:.1f}" font-size="{text_size:g}" fill="{colour}" '
                f'text-anchor="{anchor}"{weight}>{escape(text)}</text>'
            )


def _look(part: Box | Shape | Dot) -> str:
    stroke = f' stroke="{part.line}" stroke-width="{part.thick:g}"' if part.line != "none" else ""
    return f'fill="{part.fill}"{stroke}'


def _hint(text: str) -> str:
    return f"<title>{escape(text)}</title>" if text else ""
