"""The page's files: contrast of every pair of colours, nothing foreign, nothing that moves."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from assistant.core.board_words import DUE, due_words
from assistant.core.due import PRIORITY
from assistant.edges import board_server

FOLDER = Path(board_server.__file__).parent / "board_files"
CSS = (FOLDER / "board.css").read_text(encoding="utf-8")
PAGE = "\n".join(path.read_text(encoding="utf-8") for path in sorted(FOLDER.iterdir()))
# WCAG 2.2: text 4.5:1 (1.4.3), parts of a picture 3:1 (1.4.11). https://www.w3.org/TR/WCAG22/
TEXT = [
    ("ink", "paper"),
    ("soft", "paper"),
    ("on-limit", "limit"),
    ("on-due", "due"),
    ("on-check", "check"),
    ("paper", "ink"),  # a pressed button
]
PARTS = [("run", "paper"), ("rail", "paper"), ("limit", "paper"), ("due", "paper"), ("ink", "run")]


def themes() -> dict[str, dict[str, str]]:
    """The colours by name, light and dark."""
    light, dark = re.findall(r":root \{(.*?)\}", CSS, re.S)
    found = [dict(re.findall(r"--([\w-]+): (#\w{6})", text)) for text in (light, dark)]
    return {"light": found[0], "dark": found[1]}


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.2 defines it."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_ratio_is_that_of_the_standard() -> None:
    # from memory, as every checker shows them: black on white 21, #767676 on white 4.54
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_every_pair_of_colours_can_be_read(theme: str) -> None:
    colours = themes()[theme]
    assert {name for pair in TEXT + PARTS for name in pair} == set(colours)
    weak = {
        pair: round(contrast(colours[pair[0]], colours[pair[1]]), 2)
        for pairs, least in ((TEXT, 4.5), (PARTS, 3.0))
        for pair in pairs
        if contrast(colours[pair[0]], colours[pair[1]]) < least
    }
    assert weak == {}


def test_no_colour_is_used_that_is_not_in_the_table() -> None:
    rules = re.sub(r":root \{.*?\}", "", CSS, flags=re.S)
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b(?=[;, )])", rules) == []
    assert re.findall(r"\b(?:rgb|hsl)a?\(", rules) == []
    assert set(re.findall(r"var\(--([\w-]+)\)", rules)) == set(themes()["light"])


def test_every_alarm_has_a_sign_beside_its_colour_and_words_of_its_own() -> None:
    script = (FOLDER / "bars.js").read_text(encoding="utf-8")
    kinds = re.search(r"const KINDS = \{(.*?)\};", script)
    assert kinds is not None
    signs = dict(re.findall(r'(\d): \["\w+", "(.)"\]', kinds[1]))
    assert set(map(int, signs)) == {int(priority) for priority in PRIORITY.values()}
    assert len(set(signs.values())) == len(signs)
    assert set(DUE) == set(PRIORITY)
    assert len({todo for _, todo in DUE.values()}) == len(DUE)
    assert due_words("a_new_kind") == ("a new kind", "look now")


def test_an_alarm_is_short_enough_to_be_read_from_afar() -> None:
    assert {todo for _, todo in DUE.values() if len(todo) > 22} == set()


def test_nothing_foreign_nothing_inline_nothing_that_moves() -> None:
    own = PAGE.replace("http://www.w3.org/2000/svg", "")
    assert "://" not in own
    assert not re.search(r"<script(?! type=\"module\" src=\"/)", own)
    assert not re.search(r"\son\w+=|style=|<style|javascript:|innerHTML|eval\(", own)
    assert not re.search(r"animation|transition|@keyframes|scroll-behavior", CSS)
