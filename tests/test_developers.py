"""DEVELOPERS.md says what the code says."""

from __future__ import annotations

import re
from pathlib import Path

from assistant.core.head import mermaid

ROOT = Path(__file__).resolve().parent.parent
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_state_diagram_is_made_from_the_table() -> None:
    assert mermaid() in TEXT


def test_every_file_it_names_exists() -> None:
    named = set(re.findall(r"`((?:assistant|tests|core|edges|words|recipes)/[\w/.]+\.\w+)`", TEXT))
    assert named
    places = (ROOT, ROOT / "assistant")
    assert {n for n in named if not any((p / n).exists() for p in places)} == set()
