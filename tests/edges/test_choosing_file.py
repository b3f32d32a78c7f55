"""Is every mistake in the table of rules found, with its line and its mend?"""

from pathlib import Path

import pytest

from assistant.core.choose import Condition
from assistant.core.consultation import FACTS, Words
from assistant.edges.choosing_file import SHIPPED, condition, load_rules
from assistant.errors import ConfigError

TEXT = SHIPPED.read_text(encoding="utf-8")


def refusal(folder: Path, text: str) -> list[str]:
    """The problems told for a table, one line each, without the folder."""
    path = folder / "choosing.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ConfigError) as refused:
        load_rules(path)
    return [line.removeprefix(f"{folder}/") for line in str(refused.value).splitlines()]


def line_of(text: str, needle: str) -> int:
    return text[: text.index(needle)].count("\n") + 1


def test_the_shipped_table_reads() -> None:
    book = load_rules()
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
        ("name: root melt", "nam: root melt", "'nam' is not known here; did you mean 'name'?"),
        ("version: 1", "version: 2", "version 2 is not known; write version: 1"),
        ("name: root melt", "name: root tap", "'root tap' is named twice; remove one"),
        ("when: {wish: lasting}", "when: {wish: forever}", "wish cannot be 'forever'; say one of"),
        ("when: {wish: lasting}", "when: {wihs: lasting}", "no fact 'wihs'; did you mean 'wish'?"),
        ("when: {wish: lasting}", "when: {zzz: lasting}", "no fact 'zzz'; facts are earlier_re"),
        ("when: {wish: lasting}", "when: {}", "the condition is empty; name at least one fact"),
        ("when: {wish: lasting}", "when: lasting", "expected 'key: value' lines"),
        ("when: {wish: lasting}", "when: {wish: [lasting]}", "expected one value"),
        ("highlights: stripy or bled", "highlights: stripy or", "cannot be 'stripy or'; say one"),
        ("highlights: none", "highlights: no", "highlights cannot be 'no'; say one of none"),
        ("grey_percent: at least 50", "grey_percent: 50", "grey_percent '50' cannot be read; wri"),
        ("grey_percent: at least 50", "grey_percent: at least 500", "grey_percent cannot be 500"),
        ("grey_percent: at least 50", "grey_percent: at least 050", "'at least 050' cannot be re"),
        ("regrowth_mm: 10 to below 25", "regrowth_mm: 25 to below 10", "regrowth_mm is empty; 25"),
        ("recipes: [root melt]", "recipes: [root malt]", "'root malt' is no candidate; candidate"),
        ("recipes: [root melt]", "recipes: []", "the reason is for no recipe"),
        ("recipes: [root melt]", "recipes: root melt", "expected a list"),
        ("points: 3\n", "points: 30\n", "30 points cannot be; write 1 to 9, or -1 to -9"),
        ("points: 3\n", "points: 0\n", "0 points cannot be"),
        ("points: 3\n", "points: many\n", "'many' is not a whole number"),
        ("points: 3\n", "points: 3\n    points: 4\n", "'points' is written twice"),
        ("points: 3\n", "\n", "points is missing; add 'points:'"),
        ("source: common practice\n", "source:\n", "nothing is written here"),
    ],
)
def test_each_mistake_is_told_with_its_line_and_mend(
    tmp_path: Path, before: str, after: str, problem: str
) -> None:
    assert before in TEXT
    told = refusal(tmp_path, TEXT.replace(before, after, 1))
    first = next(line for line in told if problem in line)
    name, line, rest = first.split(":", 2)
    assert name == "choosing.yaml"
    assert abs(int(line) - line_of(TEXT, before)) <= 3  # inside the entry that was broken
    assert "; " in rest


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    broken = TEXT.replace("points: 3", "points: 33").replace("wish: fading", "wish: gone")
    lines = [int(line.split(":")[1]) for line in refusal(tmp_path, broken)]
    assert len(lines) > 5
    assert lines == sorted(lines)


@pytest.mark.parametrize(
    ("start", "told"),
    [
        ("  - when: {earlier_reaction: to hair colour}", "earlier_reaction: to hair colour"),
        ("  - when: {earlier_reaction: to a henna tattoo}", "earlier_reaction: to a henna tattoo"),
        ("  - when: {scalp: sensitive or broken}", "scalp: broken"),
        ("  - when: {age: under sixteen}", "age: under sixteen"),
    ],
)
def test_a_guarding_stop_cannot_be_edited_away(tmp_path: Path, start: str, told: str) -> None:
    begin = TEXT.index(start)
    end = TEXT.index("\n", TEXT.index("    source:", begin)) + 1
    problems = refusal(tmp_path, TEXT[:begin] + TEXT[end:])
    assert any(f"no stop holds for {told} on its own; put that stop back" in p for p in problems)
    narrowed = TEXT.replace(start, start.replace("}", ", hair: damp}"), 1)
    assert any(f"no stop holds for {told}" in p for p in refusal(tmp_path, narrowed))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "the file is empty"),
        ("- a\n- b", "expected 'key: value' lines"),
        ("candidates: [", "choosing.yaml:1"),
        ("version: 1\ncandidates: []\nstops: []\nrules: []", "there is no candidate"),
        ("version: 1\ncandidates: 3\nstops: []\nrules: []", "expected a list"),
        ("version: 1\nstops: []\nrules: []", "candidates is missing"),
    ],
)
def test_files_that_are_no_table(tmp_path: Path, text: str, told: str) -> None:
    assert any(told in problem for problem in refusal(tmp_path, text))


def test_a_missing_file_is_told_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="no such file"):
        load_rules(tmp_path / "nowhere.yaml")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("at least 50", Condition("grey_percent", at_least=50)),
        ("below 5.5", Condition("grey_percent", below=5.5)),
        ("3 to below 7", Condition("grey_percent", at_least=3, below=7)),
        ("0 to below 7", Condition("grey_percent", at_least=0, below=7)),
        ("over 7", Condition("grey_percent")),
    ],
)
def test_how_numbers_are_written(text: str, wanted: Condition) -> None:
    assert condition("grey_percent", text) == wanted


def test_no_answer_is_broken_apart_by_its_own_or() -> None:
    for name, fact in FACTS.items():
        for answer in fact.answers if isinstance(fact, Words) else ():
            assert condition(name, answer) == Condition(name, (answer,))
