"""A picture as PNG, if the optional extra `pictures` (Pillow) is installed."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Any

from assistant.edges.drawing import Box, Dot, Part, Picture, Shape, Stroke, Words
from assistant.errors import ConfigError, StoreError

SHARP = 2  # pixels of the file for one unit of the picture
FINER = 2  # painted that much larger first, so that slanted lines come out smooth
_ANCHORS = {"start": "ls", "middle": "ms", "end": "rs"}


def available() -> bool:
    """Whether Pillow is installed."""
    try:
        import PIL.ImageFont  # noqa: F401 - only asked for
    except ImportError:
        return False
    return True


def save(picture: Picture, path: Path) -> None:
    """Write the PNG; `ConfigError` without Pillow, `StoreError` if the disk refuses."""
    if not available():
        raise ConfigError(f"{path}: no PNG without Pillow: 'pip install swatchword[pictures]'")
    from PIL import Image, ImageDraw

    scale = SHARP * FINER
    size = (round(picture.width * scale), round(picture.height * scale))
    paper = Image.new("RGB", size, "white")
    brush = ImageDraw.Draw(paper)
    for part in picture.parts:
        _paint(brush, part, scale)
    part_file = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        paper.reduce(FINER).save(part_file, format="PNG", optimize=True)
        part_file.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            part_file.unlink(missing_ok=True)
        raise StoreError(
            f"{path}: not written: {error.strerror}: free space, or name another place"
        ) from error


def _paint(brush: Any, part: Part, scale: int) -> None:
    match part:
        case Box(x, y, width, height):
            corners = [(x * scale, y * scale), ((x + width) * scale - 1, (y + height) * scale - 1)]
            if width > 0 and height > 0:
                brush.rectangle(corners, **_look(part, scale))
        case Stroke(x1, y1, x2, y2, line, thick):
            ends = [(x1 * scale, y1 * scale), (x2 * scale, y2 * scale)]
            brush.line(ends, fill=line, width=max(1, round(thick * scale)))
        case Shape(points):
            brush.polygon([(x * scale, y * scale) for x, y in points], **_look(part, scale))
        case Dot(x, y, radius):
            corners = [((x - radius) * scale, (y - radius) * scale),
                       ((x + radius) * scale, (y + radius) * scale)]  # fmt: skip
            brush.ellipse(corners, **_look(part, scale))
        case Words():
            _write(brush, part, scale)


def _look(part: Box | Shape | Dot, scale: int) -> dict[str, Any]:
    fill = None if part.fill == "none" else part.fill
    if part.line == "none":
        return {"fill": fill}
    return {"fill": fill, "outline": part.line, "width": max(1, round(part.thick * scale))}


def _write(brush: Any, words: Words, scale: int) -> None:
    from PIL import ImageFont

    font = ImageFont.load_default(size=words.size * scale)
    brush.text(
        (words.x * scale, words.y * scale),
        words.text,
        font=font,
        fill=words.colour,
        anchor=_ANCHORS[words.anchor],
        stroke_width=scale // 4 if words.bold else 0,
    )
