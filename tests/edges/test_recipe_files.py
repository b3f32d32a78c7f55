"""Recipe files: every trap is told with file, line and mend, all of them in one run."""

from __future__ import annotations

import dataclasses
import json
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.core.mix import Ratio
from assistant.core.recipe import Recipe
from assistant.edges import checking, recipe_files, word_files
from assistant.edges.checking import check
from assistant.errors import ConfigError

SHIPPED = recipe_files.files(recipe_files.default_folder())
TAP = next(path for path in SHIPPED if path.stem == "root_tap").read_text(encoding="utf-8")
NAMES = {
    "root tap",
    "dry root tap",
    "root stretch",
    "root melt",
    "regrowth touch up",
    "quarter foils",
}


def line_of(text: str, part: str, nth: int = 1) -> int:
    """The number of the nth line that holds a part."""
    return [n for n, line in enumerate(text.splitlines(), start=1) if part in line][nth - 1]


def spoilt(*changes: tuple[str, str]) -> str:
    """The root tap with the first place of each text replaced."""
    text = TAP
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def told(text: str) -> list[tuple[int, str, str]]:
    recipe, problems = recipe_files.parse(text, "tap.yaml")
    assert (recipe is None) == bool(problems)
    assert all(problem.file == "tap.yaml" for problem in problems)
    return [(problem.line, problem.what, problem.mend) for problem in problems]


TRAPS = [
    ("challenge: target", "challenge: colour", "colour", "write one of them"),
    ("challenge: target", "challenge: limit", "", ""),
    (
        "        grade: C\n        why",
        "        grade: C\n        challenge: volume\n        why",
        "",
        "",
    ),
    # old, new, what is told, the mend
    ('"1:2"', "1:2", "", ""),  # a ratio needs no quotes
    ('"1:2"', "1:1.5", "", ""),
    ("name: tap", "name: on", "", ""),  # a word stays a word
    ("target_minutes: 20", "target_minutes: 1:1.5", "is a time or a ratio", "such as 20 or 1.5"),
    ("target_minutes: 20", "target_minutes: 20:00", "is a time, not a number", "write 20"),
    ("target_minutes: 20", "target_minutes: 020", "begins with a zero", "write 20"),
    ("grams: 45", "grams: 45 g", "has a unit", "write 45"),
    ("depth_cm: 0.5", "depth_cm: 0,5", "has a comma", "write 0.5"),
    ("optional: yes", "optional: on", "neither yes nor no", "write yes or no"),
    ("hair: damp", "hair: wet", "is not one of dry, damp", "write one of them"),
    ("hair: damp", "hair: dampp", "is not one of dry, damp", "did you mean 'damp'?"),
    ("place: basin", "place: basn", "is not one of basin, chair", "did you mean 'basin'?"),
    ("counts_from: own", "counts_from: on", "is not one of own, shared", "did you mean 'own'?"),
    ("grade: C", "grade: Z", "is not one of A, B, C, P, M", "write one of them"),
    ("depth_cm: 0.5", "depth_mm: 0.5", "is not known here", "did you mean 'depth_cm'?"),
    (
        "limit_minutes: 25",
        "limit_minutes: 15",
        "the limit (15) is below the target (20)",
        "leaflet",
    ),
    ("limit_minutes: 25", "limit: 25", "is not known here", "did you mean 'limit_minutes'?"),
    ("check_from_minutes: 12", "check_from_minutes: 21", "checks begin (21) after", "strand check"),
    ("bowl: root bowl", "bowl: blue bowl", "has no bowl 'blue bowl'", "use one of: root bowl"),
    ("name: crown", "name: nape", "'nape' is named twice", "rename one"),
    ("name: crown", "name: Crown 2", "cannot be listened for", "small letters"),
    ("version: 1", "version: 2", "version 2 is not known", "version: 1"),
    ("grams: 45", "grams: 0", "more than nothing", "grams mixed"),
    ("developer_percent: 3", "developer_percent: 20", "outside 0 to 12", "20 volume is 6"),
    ("grams: 45", "grams: 45\n        grams: 54", "is written twice", "remove one"),
]


@pytest.mark.parametrize(("old", "new", "what", "mend"), TRAPS)
def test_a_trap_is_told_with_line_and_mend(old: str, new: str, what: str, mend: str) -> None:
    text = spoilt((old, new))
    found = [p for p in told(text) if what and what in p[1]]
    if not what:
        assert told(text) == []
        return
    assert len(found) == 1
    line, _, mended = found[0]
    assert line == line_of(TAP, old) + new.count("\n")
    assert mend in mended


def test_a_question_that_no_voice_can_answer() -> None:
    weak = spoilt(("developer_percent: 3", "developer_percent: 2\n        challenge: volume"))
    [(line, what, mend)] = told(weak)
    assert line == line_of(weak, "challenge: volume")
    assert "2 % is no whole volume" in what
    assert mend == "write challenge: ratio"
    half = TAP.replace("limit_minutes: 25", "limit_minutes: 25.5")
    assert ["the limit is no whole number of minutes" in what for _, what, _ in told(half)] == [
        True
    ]


def test_a_reason_is_missing() -> None:
    short = spoilt(("  - Rubbing roughens damp hair and dulls the shine\n", ""))
    what, mend = "3 reasons for 4 finishing steps", "write one for each step, or none at all"
    assert told(short) == [(line_of(short, "finish_why") + 1, what, mend)]


def test_a_zone_without_a_bowl() -> None:
    text = spoilt(("        bowl: root bowl\n", ""))
    assert (line_of(text, "name: nape"), "bowl is missing", "add 'bowl:'") in told(text)


def test_every_trap_is_told_in_one_run() -> None:
    changes = [
        ("version: 1", "version: 01"),
        ("hair: damp", "hair: wet"),
        ("optional: yes", "optional: on"),
        ("grams: 45", "grams: 45\n        grams: 54"),
        ("depth_cm: 0.5", "depth_cm: 0.5\n        depth_mm: 5"),
        ("target_minutes: 20", "target_minutes: 20:00"),
        ("target_minutes: 18", "target_minutes: 018"),
        ("section_mm: 6", "section_mm: 1:1.5"),
        ("limit_minutes: 25", "limit_minutes: 25"),
        ("bowl: root bowl\n        depth_cm: 0.5\n        section_mm: 6\n        apply_minutes: 2",
         "bowl: blue bowl\n        depth_cm: 0.5\n        section_mm: 6\n        apply_minutes: 2"),
    ]  # fmt: skip
    text = spoilt(*changes)
    # the limit of the left side goes below its target
    side = text.index("name: left side")
    text = text[:side] + text[side:].replace("limit_minutes: 25", "limit_minutes: 12", 1)
    found = [what for _, what, _ in told(text)]
    for part in (
        "'01' begins with a zero",
        "'wet' is not one of",
        "'on' is neither yes nor no",
        "'grams' is written twice",
        "'depth_mm' is not known here",
        "'20:00' is a time",
        "'018' begins with a zero",
        "'1:1.5' is a time or a ratio",
        "has no bowl 'blue bowl'",
        "the limit (12) is below the target (16)",
    ):
        assert sum(part in what for what in found) == 1, (part, found)
    assert len(found) == 10


def test_a_problem_reads_file_line_what_mend() -> None:
    problem = recipe_files.parse(spoilt(("hair: damp", "hair: wet")), "tap.yaml")[1][0]
    line = line_of(TAP, "hair: damp")
    assert str(problem) == (f"tap.yaml:{line}: 'wet' is not one of dry, damp; write one of them")


def test_two_recipes_of_one_name() -> None:
    with pytest.raises(ConfigError, match=r"b\.yaml:1: a recipe named 'root tap' is there already"):
        recipe_files.from_texts([("a.yaml", TAP), ("b.yaml", TAP)])


def test_every_unreadable_file_is_told(tmp_path: Path) -> None:
    for name in ("a.yaml", "b.yaml"):
        (tmp_path / name).write_bytes(b"version: 1\nname: \xff\n")
    with pytest.raises(ConfigError) as error:
        recipe_files.load_all(tmp_path)
    assert str(error.value).splitlines() == [
        f"{tmp_path / name}:2: not UTF-8 text; save the file as UTF-8"
        for name in ("a.yaml", "b.yaml")
    ]


def test_a_folder_without_recipes(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="add a"):
        recipe_files.load_all(tmp_path)
    with pytest.raises(ConfigError, match="no such folder"):
        recipe_files.load_all(tmp_path / "none")


# ------------------------------------------------------------------ shipped


def test_the_shipped_recipes_have_their_spoken_names() -> None:
    recipes, texts = recipe_files.load_all()
    assert set(recipes) == NAMES
    assert {name: recipe.name for name, recipe in recipes.items()} == {n: n for n in NAMES}
    assert {Path(name).stem.replace("_", " ") for name, _ in texts} == NAMES


def written(value: Any) -> Any:
    """A recipe as plain data, every scalar as the text an author writes."""
    if isinstance(value, Ratio):
        return str(value)
    if dataclasses.is_dataclass(value):
        fields = dataclasses.fields(value)
        return {f.name: written(getattr(value, f.name)) for f in fields if _given(value, f)}
    if isinstance(value, tuple):
        return [written(item) for item in value]
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _given(value: Any, field: dataclasses.Field[Any]) -> bool:
    """An empty text that may be left out is left out: written, it would be refused."""
    return bool(getattr(value, field.name) != "")


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: str(path.stem))
def test_a_recipe_comes_back_from_what_it_says(path: Path) -> None:
    recipe, problems = recipe_files.parse(path.read_text(encoding="utf-8"), path.name)
    assert recipe is not None, problems
    text = json.dumps(written(recipe))  # JSON is YAML: read back by the same reader
    assert recipe_files.parse(text, path.name) == (recipe, [])


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: str(path.stem))
def test_no_scalar_would_mislead_another_yaml_reader(path: Path) -> None:
    """Ratios and shades are in quotes: tools that load YAML 1.1 would take them for numbers."""
    for line in path.read_text(encoding="utf-8").splitlines():
        assert not re.search(r"(ratio|shade): [^\"]", line), line


# --------------------------------------------------------------- any text


LINES = TAP.splitlines(keepends=True)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(st.tuples(st.integers(0, len(LINES) - 1), st.text(max_size=20)), max_size=4),
    st.lists(st.integers(0, len(LINES) - 1), max_size=3),
)
def test_any_spoilt_recipe_is_a_recipe_or_problems(
    added: list[tuple[int, str]], dropped: list[int]
) -> None:
    lines = list(LINES)
    for at, text in added:
        lines[at] = lines[at].rstrip("\n") + text + "\n"
    text = "".join(line for at, line in enumerate(lines) if at not in dropped)
    recipe, problems = recipe_files.parse(text, "tap.yaml")
    assert (recipe is None) == bool(problems)
    assert recipe is None or isinstance(recipe, Recipe)


# ------------------------------------------------------------------ check


def test_everything_shipped_is_fine() -> None:
    assert check() == []


def test_every_word_that_is_listened_for_is_looked_up() -> None:
    asked: set[str] = set()

    def knows(word: str) -> bool:
        asked.add(word)
        return True

    assert check((), knows) == []
    words = word_files.load_commands()
    for phrase in (phrase for command in words.commands for phrase in command.phrases):
        assert {w for w in phrase.lower().split() if "{" not in w} <= asked
    assert {words.wake, "nape", "lightener", "foils", "shorter", "newspaper"} <= asked


def test_an_unknown_word_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "tap.yaml"
    path.write_text(spoilt(("name: crown", "name: croon")).replace("face frame", "fraim"))
    text = path.read_text()
    found = check([path], lambda word: word not in ("croon", "fraim"))
    assert [(p.line, p.what) for p in found if "does not know" in p.what] == [
        (line_of(text, "name: croon"), "the speech model does not know 'croon'"),
        (line_of(text, "name: fraim"), "the speech model does not know 'fraim'"),
    ]
    assert all(p.mend == checking.MEND_WORD for p in found if "does not know" in p.what)


def test_word_files_are_checked_by_their_name(tmp_path: Path) -> None:
    commands = tmp_path / "commands.yaml"
    shipped = (word_files.FOLDER / "commands.yaml").read_text(encoding="utf-8")
    commands.write_text(
        shipped.replace("undo that", "undo {zoen}").replace("risk: alarm", "risk: 1")
    )
    phrases = tmp_path / "phrases.yaml"
    phrases.write_text('version: 1\nphrases:\n  a: "{zone:backward} on"\n  b: "{zone on"\n')
    choosing = tmp_path / "choosing.yaml"
    choosing.write_text("version: 1\ncandidates: []\nstops: []\nrules: []\n")
    found = check([tmp_path])
    assert {Path(p.file).name for p in found} == {"commands.yaml", "phrases.yaml", "choosing.yaml"}
    assert {p.line for p in found if p.file == str(phrases)} == {3, 4}
    whats = [p.what for p in found if p.file == str(commands)]
    assert any("{zoen}" in what for what in whats)
    assert any("'1' is not one of" in what for what in whats)


def test_what_cannot_be_checked_is_told(tmp_path: Path) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    (tmp_path / "blank.yaml").write_text("")
    (tmp_path / "latin.yaml").write_bytes(b"\xe9")
    paths = [empty, tmp_path / "none.yaml", tmp_path / "blank.yaml", tmp_path / "latin.yaml"]
    whats = {Path(p.file).name: p.what for p in check(paths)}
    assert whats == {
        "empty": "no recipe in this folder",
        "none.yaml": "no such file",
        "blank.yaml": "the file is empty",
        "latin.yaml": "not UTF-8 text",
    }


def test_one_file_named_twice_is_checked_once(tmp_path: Path) -> None:
    (tmp_path / "tap.yaml").write_text(spoilt(("hair: damp", "hair: wet")))
    assert len(check([tmp_path / "tap.yaml", tmp_path])) == 1


def test_two_files_with_one_recipe(tmp_path: Path) -> None:
    for name in ("a.yaml", "b.yaml"):
        (tmp_path / name).write_text(TAP)
    (problem,) = check([tmp_path])
    assert (Path(problem.file).name, problem.line) == ("b.yaml", line_of(TAP, "name: root tap"))
    assert "is the name of" in problem.what


def test_a_ratio_is_kept_exactly() -> None:
    recipes, _ = recipe_files.load_all()
    assert recipes["dry root tap"].stages[0].bowls[0].ratio.developer == Fraction(3, 2)
