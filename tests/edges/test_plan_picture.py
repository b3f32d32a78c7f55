"""The picture of a day: every head, person, basin and zone named, nothing told by colour alone."""

from __future__ import annotations

import re
from pathlib import Path

from assistant.core.plan_day import TimeOfDay
from assistant.core.plan_greedy import greedy
from assistant.edges import drawing, plan_picture
from assistant.edges.drawing import Box, Words
from tests.core.days import drawn


def drawn_day() -> drawing.Picture:
    day = drawn(5, 4, 2, 2)
    plan = greedy(day)
    assert plan is not None
    return plan_picture.picture("A day", day, plan)


def words(made: drawing.Picture) -> list[str]:
    return [part.text for part in made.parts if isinstance(part, Words)]


def test_everything_is_named() -> None:
    day = drawn(5, 4, 2, 2)
    said = words(drawn_day())
    for booking in day.bookings:
        assert f"Chair {booking.chair}" in said
        zones = [z.name for s in booking.recipe.stages for z in booking.zones(s)]
        assert set(zones) <= set(said)
    assert {"Ines", "Tom", "basin 1", "basin 2", "A day"} <= set(said)
    assert {"limit, and time left to it", "target", "first check"} <= set(said)


def test_nothing_leaves_the_paper() -> None:
    made = drawn_day()
    for part in made.parts:
        if isinstance(part, Box):
            assert part.x >= 0
            assert part.x + part.width <= made.width
            assert part.y + part.height <= made.height
        if isinstance(part, Words):
            assert 0 <= part.y <= made.height


def test_the_picture_says_in_words_when_each_head_is_rinsed() -> None:
    day = drawn(5, 4, 2, 2)
    plan = greedy(day)
    assert plan is not None
    about = plan_picture.picture("A day", day, plan).about
    for head, booking in enumerate(day.bookings):
        rinse = next(p for p in plan.of(head) if p.key.kind == "rinse")
        assert f"chair {booking.chair}, " in about
        assert f"{TimeOfDay(rinse.begins)} {rinse.person}" in about


def test_without_colour_every_kind_of_bar_still_differs() -> None:
    """Passes are hatched, rinses dotted, work is filled: other parts, not only other colours."""
    grey = re.sub(r"#[0-9a-f]{6}", "#808080", drawing.svg(drawn_day()))
    forms = {
        name: [
            re.sub(r'(x|y|x1|y1|x2|y2|cx|cy|points|width)="[^"]*"', "", part) for part in _svg(made)
        ]
        for name, made in plan_picture.KEY
    }
    assert len({tuple(parts) for parts in forms.values()}) == len(forms)
    assert "<svg" in grey


def _svg(sample: object) -> list[str]:
    parts = tuple(sample(0.0, 0.0))  # type: ignore[operator]
    whole = drawing.svg(drawing.Picture(50, 50, parts, "key"))
    return re.sub(r"#[0-9a-f]{6}", "#808080", whole).splitlines()


def test_svg_and_png_are_written(tmp_path: Path) -> None:
    day = drawn(5, 2, 1, 1)
    plan = greedy(day)
    assert plan is not None
    plan_picture.save_svg("A day", day, plan, tmp_path / "a" / "day.svg")
    plan_picture.save_png("A day", day, plan, tmp_path / "day.png")
    assert (tmp_path / "a" / "day.svg").read_text().startswith(("<svg", "<?xml"))
    assert (tmp_path / "day.png").read_bytes()[:4] == b"\x89PNG"
    assert sorted(p.name for p in tmp_path.rglob("*.part")) == []
