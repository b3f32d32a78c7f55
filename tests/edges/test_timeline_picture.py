"""The picture of a service: complete, nothing on top of anything else, readable without colour."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest

from assistant.core.timeline import Timeline
from assistant.edges import drawing_png, timeline_picture
from assistant.edges import timeline_marks as marks
from assistant.edges.drawing import Box, Dot, Part, Picture, Shape, Stroke, Words, width_of
from assistant.edges.timeline_legend import KEY
from assistant.edges.timeline_zones import outcome
from assistant.errors import ConfigError, StoreError
from tests.edges import drawn_services
from tests.edges.drawn_services import M, bar

SERVICES = [
    drawn_services.one_head,
    drawn_services.long_day,
    drawn_services.four_heads,
    drawn_services.amiss,
]
services = pytest.mark.parametrize("service", SERVICES)
Service = Callable[[], Timeline]


def texts(picture: Picture) -> list[Words]:
    return [part for part in picture.parts if isinstance(part, Words)]


def room(words: Words) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of a text in the widest usual font."""
    wide = width_of(words.text, words.size)
    left = words.x - {"start": 0.0, "middle": wide / 2, "end": wide}[words.anchor]
    return left, words.y - 0.75 * words.size, left + wide, words.y + 0.22 * words.size


def corners(part: Part) -> list[tuple[float, float]]:
    match part:
        case Box(x, y, width, height):
            return [(x, y), (x + width, y + height)]
        case Stroke(x1, y1, x2, y2):
            return [(x1, y1), (x2, y2)]
        case Shape(points):
            return list(points)
        case Dot(x, y, radius):
            return [(x - radius, y - radius), (x + radius, y + radius)]
        case Words():
            left, top, right, bottom = room(part)
            return [(left, top), (right, bottom)]


@services
def test_no_two_texts_overlap(service: Service) -> None:
    for a, b in combinations(texts(timeline_picture.picture(service())), 2):
        (l1, t1, r1, b1), (l2, t2, r2, b2) = room(a), room(b)
        assert r1 <= l2 or r2 <= l1 or b1 <= t2 or b2 <= t1, f"{a.text!r} on {b.text!r}"


@services
def test_no_strand_check_hides_another_or_its_minutes(service: Service) -> None:
    parts = timeline_picture.picture(service()).parts
    checks = [part for part in parts if isinstance(part, Dot) and part.radius == 5.2]
    for a, b in combinations(checks, 2):
        assert abs(a.x - b.x) >= 2 * a.radius or abs(a.y - b.y) >= 2 * a.radius
    for words in (w for w in texts(timeline_picture.picture(service())) if w.text[0] == "+"):
        left, top, right, bottom = room(words)
        for dot in checks:
            beside = dot.x + dot.radius <= left or right <= dot.x - dot.radius
            assert beside or dot.y < top or bottom < dot.y, words


@services
def test_everything_is_on_the_paper(service: Service) -> None:
    picture = timeline_picture.picture(service())
    for part in picture.parts:
        for x, y in corners(part):
            assert 0 <= x <= picture.width, part
            assert 0 <= y <= picture.height, part


@services
def test_every_head_zone_and_end_is_named(service: Service) -> None:
    timeline = service()
    written = [words.text for words in texts(timeline_picture.picture(timeline))]
    for head in timeline.heads:
        assert f"Chair {head.chair}" in written
        assert head.recipe in written
        for band in head.stages:
            assert all(zone.zone in written for zone in band.zones)
    for event in timeline.happenings:
        assert any(event.text in text for text in written)


@services
def test_every_mark_used_is_in_the_key(service: Service) -> None:
    """Whatever kind and colour of bar, dot or shape occurs, the key has the like."""

    def look(part: Part) -> tuple[str, str, str]:
        fill = getattr(part, "fill", "")
        return type(part).__name__, fill, getattr(part, "line", "")

    key = {look(part) for _, sample in KEY for part in sample(0.0, 0.0)}
    paper = {("Box", "#efefef", "none"), ("Box", "white", "none"), ("Stroke", "", marks.PALE)}
    paper.add(("Stroke", "", marks.GREY))
    drawn = timeline_picture.picture(service()).parts
    used = {look(part) for part in drawn if not isinstance(part, Words)}
    assert used - key - paper == set()


def lightness(colour: str) -> float:
    """Relative luminance, WCAG 2.1."""
    if colour == "white":
        return 1.0
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(a: str, b: str) -> float:
    light, dark = sorted((lightness(a), lightness(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@services
def test_texts_and_marks_stand_out_from_white(service: Service) -> None:
    """WCAG 2.1: 4.5 to 1 for text (success criterion 1.4.3), 3 to 1 for marks (1.4.11)."""
    for words in texts(timeline_picture.picture(service())):
        ground = marks.INK if words.colour == "white" else "#efefef"
        assert contrast(words.colour, ground) >= 4.5, words
    edges = (marks.ON_EDGE, marks.PASS, marks.RINSE, marks.OVER, marks.WINDOW_EDGE, marks.GREY)
    assert all(contrast(edge, "white") >= 3 for edge in edges)


def test_bars_differ_without_any_colour() -> None:
    """The same bars drawn in one ink have different parts: hatching, dots, filling."""

    def plain(part: Part) -> Part:
        if isinstance(part, Box | Dot | Shape):
            return replace(part, fill="none" if part.fill == "white" else "ink", line="ink")
        return replace(part, line="ink") if isinstance(part, Stroke) else part

    bars = [marks.pass_bar, marks.on_bar, marks.rinse_bar, marks.over_bar]
    drawn = [repr([plain(part) for part in bar_of(0.0, 40.0, 0.0)]) for bar_of in bars]
    assert len(set(drawn)) == len(bars)


def test_bars_begin_and_end_where_the_service_did() -> None:
    """Hand-worked: 45 minutes on the axis from 170 to 1060; nape on at 7.5, rinsed from 28."""
    boxes = [
        part
        for part in timeline_picture.picture(drawn_services.one_head()).parts
        if isinstance(part, Box) and part.fill == marks.ON
    ]
    minute = (1060 - 170) / 45
    assert boxes[0].x == pytest.approx(170 + 7.5 * minute)
    assert boxes[0].x + boxes[0].width == pytest.approx(170 + 30 * minute)  # until it was off
    assert len(boxes) == 5 + 1  # one more in the key


@pytest.mark.parametrize(
    ("zone", "words"),
    [
        (bar("nape", 0, 4, (5, 10, 20), 24), "20 min on"),
        (bar("nape", 0, 4, (5, 10, 20), 27.2), "23 min on, 4 over"),
        (bar("nape", 0, 4, (5, 10, 20), None), "still on, 6 over"),
        (replace(bar("nape", 0, 4, (5, 10, 40), None), stopped_at=10 * M), "6 min on, stopped"),
    ],
)
def test_the_outcome_in_words(zone: object, words: str) -> None:
    assert outcome(zone, 30 * M) == words  # type: ignore[arg-type] # a ZoneBar


def test_svg_is_well_formed_and_tells_its_calls(tmp_path: Path) -> None:
    path = tmp_path / "new" / "timeline.svg"
    timeline = drawn_services.four_heads()
    timeline_picture.save_svg(replace(timeline, title="Cut & colour <today>"), path)
    root = ElementTree.parse(path).getroot()
    name = "{http://www.w3.org/2000/svg}"
    assert root.tag == f"{name}svg"
    found = root.find(f"{name}title")
    assert found is not None
    assert found.text == "Cut & colour <today>"
    hints = [element.text or "" for element in root.iter(f"{name}title")]
    assert any("Nape. Check a strand." in hint for hint in hints)
    about = root.find(f"{name}desc")
    assert about is not None
    assert "chair 4" in (about.text or "")
    assert [item.name for item in path.parent.iterdir()] == ["timeline.svg"]


def test_png_has_the_size_of_the_picture(tmp_path: Path) -> None:
    if not drawing_png.available():
        pytest.skip("Pillow is not installed (extra 'pictures'): no PNG to look at")
    from PIL import Image

    path = tmp_path / "timeline.png"
    timeline_picture.save_png(drawn_services.amiss(), path)
    picture = timeline_picture.picture(drawn_services.amiss())
    with Image.open(path) as image:
        assert image.size == (round(2 * picture.width), round(2 * picture.height))
        dark = sum(image.convert("L").histogram()[:128])
        assert 0.005 < dark / (image.size[0] * image.size[1]) < 0.2


def test_without_pillow_one_line_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "PIL.ImageFont", None)
    with pytest.raises(ConfigError, match=r"pip install swatchword\[pictures\]"):
        timeline_picture.save_png(drawn_services.one_head(), tmp_path / "timeline.png")


def test_a_disk_that_refuses_is_said(tmp_path: Path) -> None:
    (tmp_path / "timeline.svg").mkdir()
    with pytest.raises(StoreError, match="not written"):
        timeline_picture.save_svg(drawn_services.one_head(), tmp_path / "timeline.svg")
    assert [path.name for path in tmp_path.iterdir()] == ["timeline.svg"]


def test_a_service_of_nothing_is_still_a_picture() -> None:
    picture = timeline_picture.picture(Timeline("Nothing yet", 0.0, ()))
    assert picture.height > 100


def test_words_to_the_room_are_with_the_only_head() -> None:
    alone = drawn_services.long_day()
    assert "The room" not in [w.text for w in texts(timeline_picture.picture(alone))]
    two = replace(alone, heads=(*alone.heads, drawn_services.head(2, 20)))
    assert "The room" in [w.text for w in texts(timeline_picture.picture(two))]
    drawn = [timeline_picture.picture(one).parts for one in (alone, two)]
    points = [[p for p in parts if isinstance(p, Dot) and p.radius == 2.2] for parts in drawn]
    assert len(points[0]) == len(points[1]) == len(alone.heard) + 1  # none lost; one in the key
