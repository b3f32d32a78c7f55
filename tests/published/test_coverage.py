"""The README's coverage table of vocational units: every place that it names is there.

Units and items as their bodies publish them (SKAHDBR6/7, Ofqual D/600/1010 and R/600/1036, the
SHB units, Red Seal F-13.01, NZQA 12313); the items to record are those of unit SHBHCLS004. That
a place does what is asked is shown by the tests of that place, not here.
"""

from __future__ import annotations

import argparse
import ast
import re
from dataclasses import fields
from pathlib import Path

import pytest

from assistant import cli
from assistant.core.intents import Intent, understand
from assistant.core.record import WRITTEN, ServiceRecord
from assistant.core.salon import names_of
from assistant.edges import recipe_files
from assistant.edges.record_rows import Stored
from assistant.edges.word_files import load_commands

ROOT = Path(__file__).parents[2]
REQUIREMENTS = 26  # rows of the survey this table was made from
RECORD_ITEMS = 7  # SHBHCLS004, with analysis and colour problem in one row
FIELDS = ("analysis", "colour problem", "contra-indications", "outcome", "home care")


def rows(heading: str) -> list[list[str]]:
    """The cells of the table under a header row."""
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith(heading)) + 2
    found = []
    for line in lines[start:]:
        if not line.startswith("|"):
            break
        found.append([cell.strip() for cell in line.strip("|").split(" | ")])
    return found


COVERED = rows("| a unit asks for |")
RECORDED = rows("| item | field of the record |")
PLACES = sorted({place for row in COVERED for place in re.findall(r"`([^`]+)`", row[2])})
SAID = sorted({said for row in COVERED for said in re.findall(r'"([^"]+)"', row[2])} - {*FIELDS})


def test_every_requirement_has_a_row_a_unit_and_a_place_or_an_honest_no() -> None:
    assert len(COVERED) == REQUIREMENTS
    for asked, unit, met in COVERED:
        assert asked
        assert re.search(r"[A-Z]{2,}\d|\d{5}|/600/|Red Seal|CTE", unit), asked
        assert "`" in met or '"' in met or "No:" in met, asked
    assert len({asked for asked, _, _ in COVERED}) == REQUIREMENTS


@pytest.mark.parametrize("place", [p for p in PLACES if not p.startswith("swatchword")])
def test_a_file_and_what_it_names_are_there(place: str) -> None:
    path, _, name = place.partition(": ")
    text = (ROOT / path).read_text(encoding="utf-8")
    if name:
        top = ast.parse(text).body
        named = {getattr(node, "name", None) for node in top}
        named |= {t.id for n in top for t in _targets(n) if isinstance(t, ast.Name)}
        assert name in named, place


def _targets(node: ast.stmt) -> list[ast.expr]:
    if isinstance(node, ast.Assign):
        return node.targets
    return [node.target] if isinstance(node, ast.AnnAssign) else []


@pytest.mark.parametrize("place", [p for p in PLACES if p.startswith("swatchword")])
def test_a_command_is_there(place: str) -> None:
    parser: argparse.ArgumentParser = cli._parser()
    for word in place.split()[1:]:
        choices = [
            action.choices
            for action in parser._actions
            if isinstance(action, argparse._SubParsersAction)
        ]
        parser = choices[0][word]


@pytest.mark.parametrize("said", SAID)
def test_what_is_said_is_understood(said: str) -> None:
    words, (recipes, _) = load_commands(), recipe_files.load_all()
    text = f"{words.wake} {said.lower()}"
    meant = understand(text, words, names_of(words, recipes, 4), "open", woken=False)
    assert isinstance(meant, Intent), said


def test_every_item_to_record_has_its_field() -> None:
    assert len(RECORDED) == RECORD_ITEMS
    known = {f.name for f in (*fields(ServiceRecord), *fields(Stored))}
    for item, where in RECORDED:
        named = re.findall(r"`([^`]+)`", where)
        assert named, item
        assert set(named) <= known, item
        assert set(re.findall(r'"([^"]+)"', where)) <= set(WRITTEN), item


def test_the_table_names_enough_for_these_tests_to_mean_something() -> None:
    assert len(PLACES) >= 30
    assert len(SAID) >= 20
    assert set(FIELDS) <= set(WRITTEN)
