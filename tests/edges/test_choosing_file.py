"""Is every mistake in the table of rules found, with its line and its mend?"""

from pathlib import Path

import pytest

from assistant.edges.choosing_file import SHIPPED, parse_rules, read_rules
from assistant.errors import ConfigError

TEXT = SHIPPED.read_text(encoding="utf-8")


def line_of(text: str, needle: str) -> int:
    return text[: text.index(needle)].count("\n") + 1


def test_the_shipped_table_reads() -> None:
    book = read_rules()
    assert [candidate.name for candidate in book.candidates] == [
        "root tap",
        "dry root tap",
        "root stretch",
        "root melt",
        "regrowth touch up",
        "quarter foils",
    ]
    assert len(book.stops) == 6
    assert all(rule.recipes and rule.when and rule.points and rule.source for rule in book.rules)


@pytest.mark.parametrize(
    ("before", "after", "problem"),
    [
        ("  - name: root melt", "  - nam: root melt", "key 'nam' is not known. Mend: use one of"),
        ("  - name: root melt", "  - name: root tap", "'root tap' is named twice"),
        ("when: {wish: lasting}", "when: {wish: forever}", "wish cannot be 'forever'. Mend: say"),
        ("when: {wish: lasting}", "when: {wihs: lasting}", "key 'wihs' is not known"),
        ("when: {wish: lasting}", "when: {}", "the condition names no known fact"),
        ("when: {wish: lasting}", "when: lasting", "keys and values belong here"),
        ("when: {wish: lasting}", "when: {wish: []}", "the list is empty"),
        ("when: {wish: lasting}", "when: {wish: {a: b}}", "a word belongs here"),
        ("grey_percent: at least 50", "grey_percent: 50", "grey_percent '50' cannot be read"),
        ("grey_percent: at least 50", "grey_percent: at least 500", "grey_percent cannot be 500"),
        ("regrowth_mm: 10 to below 25", "regrowth_mm: 25 to below 10", "regrowth_mm is empty"),
        ("regrowth_mm: 10 to below 25", "regrowth_mm: [1, 2]", "regrowth_mm '' cannot be read"),
        ("recipes: [root melt]", "recipes: [root malt]", "'root malt' is no candidate"),
        ("    points: 3\n", "    points: 30\n", "'30' is no points. Mend: write 1 to 9"),
        ("    points: 3\n", "    points: 0\n", "'0' is no points"),
        ("    points: 3\n", "    points: 3\n    points: 4\n", "key 'points' stands here twice"),
        ("    points: 3\n", "", "key 'points' is missing"),
        ("    source: common practice", "    source:", "source holds no text"),
    ],
)
def test_each_mistake_is_found_at_its_line(before: str, after: str, problem: str) -> None:
    assert before in TEXT
    broken = TEXT.replace(before, after, 1)
    with pytest.raises(ConfigError) as refused:
        parse_rules(broken, "choosing.yaml")
    first, *_ = [line for line in str(refused.value).splitlines() if problem in line]
    line = int(first.split()[2].rstrip(":"))
    assert abs(line - line_of(TEXT, before)) <= 3  # inside the entry that was broken
    assert "Mend: " in first


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file() -> None:
    broken = TEXT.replace("points: 3", "points: x").replace("wish: fading", "wish: gone")
    with pytest.raises(ConfigError) as refused:
        parse_rules(broken, "choosing.yaml")
    lines = [int(line.split()[2].rstrip(":")) for line in str(refused.value).splitlines()]
    assert len(lines) > 5
    assert lines == sorted(lines)


@pytest.mark.parametrize(
    ("start", "told"),
    [
        ("  - when: {earlier_reaction: to hair colour}", "earlier_reaction: to hair colour"),
        ("  - when: {earlier_reaction: to a henna tattoo}", "earlier_reaction: to a henna tattoo"),
        ("  - when: {scalp: [sensitive, broken]}", "scalp: broken"),
        ("  - when: {age: under sixteen}", "age: under sixteen"),
    ],
)
def test_a_guarding_stop_cannot_be_edited_away(start: str, told: str) -> None:
    begin = TEXT.index(start)
    end = TEXT.index("\n", TEXT.index("    source:", begin)) + 1
    with pytest.raises(ConfigError, match=f"no stop holds for {told} on its own"):
        parse_rules(TEXT[:begin] + TEXT[end:], "choosing.yaml")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "is empty"),
        ("# nothing here", "is empty"),
        ("- a\n- b", "keys and values belong here"),
        ("candidates: [", "Mend: the layout"),
        ("candidates: []\nstops: []\nrules: []", "there is no candidate"),
        ("candidates: 3\nstops: []\nrules: []", "candidates is no list"),
        ("stops: []\nrules: []", "key 'candidates' is missing"),
    ],
)
def test_files_that_are_no_table(text: str, told: str) -> None:
    with pytest.raises(ConfigError, match=told):
        parse_rules(text, "choosing.yaml")


def test_yes_and_no_stay_words() -> None:
    # YAML turns a bare "no" into false; read as text it is refused as the word that was typed.
    broken = TEXT.replace("highlights: none", "highlights: no", 1)
    with pytest.raises(ConfigError, match="highlights cannot be 'no'"):
        parse_rules(broken, "choosing.yaml")


def test_a_missing_file_is_told_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match=r"cannot be read.*check the file"):
        read_rules(tmp_path / "nowhere.yaml")
