"""What YAML does to a salon's numbers, and what our reader does instead.

The left column of `TRAPS` is what YAML 1.1 makes of the text (PyYAML's own loader, run here
beside ours, so that the trap is seen to be one).
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.mix import Ratio
from assistant.edges import yaml_reader
from assistant.edges.yaml_reader import FileProblem
from assistant.edges.yaml_scalars import CONVERTERS, Wrong, convert, stand_in
from assistant.errors import ConfigError


@dataclass(frozen=True, slots=True)
class Spot:
    """A small schema with a field of every kind."""

    name: str
    minutes: float
    limit: float = 60
    count: int = 1
    ratio: Ratio | None = None
    hair: Literal["dry", "damp"] = "dry"
    optional: bool = False
    tools: tuple[str, ...] = ()
    notes: dict[str, str] | None = None


def told(text: str) -> list[str]:
    """What is told about a text, as "line: what; mend"."""
    problems = yaml_reader.parse(Spot, text, "spot.yaml")[1]
    return [f"{p.line}: {p.what}; {p.mend}" for p in problems]


def read(text: str) -> Spot:
    value, problems = yaml_reader.parse(Spot, text, "spot.yaml")
    assert value is not None, problems
    return value


TRAPS: list[tuple[str, Any, type | Any, Any]] = [
    # text, what YAML makes of it, our field, what we make of it (text: the mend of a refusal)
    ("1:1.5", 61.5, Ratio, Ratio.parse("1:1.5")),
    ("1:2", 62, Ratio, Ratio.parse("1:2")),
    ("on", True, str, "on"),
    ("no", False, str, "no"),
    ("2024-05-01", None, str, "2024-05-01"),
    ("6.10", 6.1, str, "6.10"),
    ("yes", True, bool, True),
    ("no", False, bool, False),
    ("20:00", 1200, float, "write 20"),
    ("1:1.5", 61.5, float, "write one number, such as 20 or 1.5"),
    ("0:45", "0:45", float, "write one number, such as 20 or 1.5"),
    ("012", 10, float, "write 12"),
    ("012", 10, int, "write 12"),
    ("08", "08", int, "write 8"),
    ("7_5", 75, float, "write digits"),
    ("1e3", "1e3", float, "write digits"),
    (".inf", float("inf"), float, "write digits"),
    ("1,5", "1,5", float, "write 1.5"),
    ("20 min", "20 min", float, "write 20"),
    ("6%", "6%", float, "write 6"),
    ("2.5", 2.5, int, "write digits"),
    ("on", True, bool, "write yes or no"),
    ("true", True, bool, "write yes or no"),
    ("1-2", "1-2", Ratio, "write colour to developer as 1:1.5"),
    ("1:15", 75, Ratio, "is a point missing?"),
]


@pytest.mark.parametrize(("text", "yaml_says", "kind", "ours"), TRAPS)
def test_a_scalar_is_what_was_written(text: str, yaml_says: Any, kind: Any, ours: Any) -> None:
    if yaml_says is not None:
        assert yaml.safe_load(text) == yaml_says
    if isinstance(ours, str) and kind is not str:
        with pytest.raises(Wrong) as wrong:
            convert(kind, text)
        assert wrong.value.args[1] == ours
    else:
        assert convert(kind, text) == ours


def test_a_wrong_word_gets_a_suggestion() -> None:
    assert told("name: a\nminutes: 5\nhair: dump\n") == [
        "3: 'dump' is not one of dry, damp; did you mean 'damp'?"
    ]
    assert told("name: a\nminutes: 5\nhair: Damp\n") == [
        "3: 'Damp' is not one of dry, damp; did you mean 'damp'?"
    ]
    assert told("name: a\nminutes: 5\nhair: on\n") == [
        "3: 'on' is not one of dry, damp; write one of them"
    ]


def test_a_key_written_twice_is_told_with_both_lines() -> None:
    assert yaml.safe_load("minutes: 5\nminutes: 50\n") == {"minutes": 50}  # silently
    assert told("name: a\nminutes: 5\nminutes: 50\n") == [
        "3: 'minutes' is written twice (first in line 2); remove one"
    ]


def test_an_unknown_key_gets_a_suggestion_and_is_not_told_again_as_missing() -> None:
    assert told("name: a\nminuts: 5\n") == [
        "2: 'minuts' is not known here; did you mean 'minutes'?"
    ]


def test_a_key_that_yaml_takes_for_a_truth_stays_a_key() -> None:
    assert list(yaml.safe_load("on: 1")) == [True]
    assert told("name: a\nminutes: 5\non: 1\n")[0].startswith("3: 'on' is not known here; known")


def test_every_tab_is_told() -> None:
    assert told("name: a\n\tminutes: 5\ntools:\t[a]\n\t\n# a\tremark\n") == [
        f"{line}: there is a tab in this line; use spaces, never tabs" for line in (2, 3, 4)
    ]


def test_every_alias_is_told() -> None:
    text = "name: &n a\nminutes: 5\ntools: [*n,\n  *n]\n"
    assert told(text) == [
        "1: '&n' names this place; remove it",
        "3: '*' refers to another place; write the value out",
        "4: '*' refers to another place; write the value out",
    ]


def test_an_anchor_a_tag_and_a_merge_are_told_beside_the_rest() -> None:
    text = "name: &n a\nminutes: !!int 012\n<<: {tools: [b]}\nhair: wet\n"
    assert yaml.safe_load(text)["tools"] == ["b"]  # silently
    assert told(text) == [
        "1: '&n' names this place; remove it",
        "2: '012' begins with a zero; write 12",
        "2: the tag tag:yaml.org,2002:int is not used here; remove it",
        "3: '<<' merges another place in; write its keys out",
        "4: 'wet' is not one of dry, damp; write one of them",
    ]


def test_a_file_that_grows_by_aliases_is_refused_at_once() -> None:
    bomb = "a0: &a0 [x]\n" + "".join(
        f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]\n" for i in range(1, 30)
    )
    aliases = [line for line in told(bomb) if "'*'" in line]
    assert len(aliases) == 29 * 9


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n", "---\n", "''"])
def test_an_empty_file(text: str) -> None:
    assert told(text) == ["1: the file is empty; write at least the version, or start from a copy"]


def test_several_documents() -> None:
    assert told("name: a\nminutes: 5\n---\nname: b\nminutes: 6\n") == [
        "3: a second document begins here; remove the '---': one file, one recipe"
    ]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("name: a\nminutes: [5\n", 3),  # a bracket that stays open
        ("name: a: b\nminutes: 5\n", 1),  # a colon in a text without quotes
        ("name: a\n  minutes: 5\n", 2),  # indented without reason
        ("name: a\nminutes: 5\x00\n", 2),  # an unprintable character
        ('name: "a\nminutes: 5\n', 3),  # a quote that stays open
    ],
)
def test_what_is_no_yaml_is_told_with_its_line(text: str, line: int) -> None:
    found = told(text)
    assert len(found) == 1
    assert found[0].startswith(f"{line}: ")


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("- a\n- b\n", "1: expected 'key: value' lines"),
        ("just words\n", "1: expected 'key: value' lines"),
        ("name: [a]\nminutes: 5\n", "1: expected one value"),
        ("name: a\nminutes: 5\ntools: brush\n", "3: expected a list"),
        ("name: a\nminutes: 5\nnotes: [x]\n", "3: expected 'key: value' lines"),
        ("name: ''\nminutes: 5\n", "1: nothing is written here"),
        ("name:\nminutes: 5\n", "1: nothing is written here"),
        ("name: !!python/none a\nminutes: 5\n", "1: the tag tag:yaml.org,2002:python/none"),
        ("name: !mine a\nminutes: 5\n", "1: the tag !mine"),
        ("name: a\n", "1: minutes is missing; add 'minutes:'"),
    ],
)
def test_what_has_the_wrong_shape(text: str, what: str) -> None:
    found = told(text)
    assert len(found) == 1
    assert found[0].startswith(what)


def test_everything_fits() -> None:
    spot = read("name: on\nminutes: 5\nratio: 1:1.5\nhair: damp\noptional: yes\ntools: [a, b]\n")
    assert spot == Spot("on", 5, 60, 1, Ratio.parse("1:1.5"), "damp", True, ("a", "b"))


def limit_rule(spot: Spot) -> list[tuple[yaml_reader.KeyPath, str, str]]:
    if spot.limit < spot.minutes:
        return [(("limit",), "the limit is below", "raise it")]
    return []


def test_rules_over_fields_are_told_beside_what_cannot_be_read() -> None:
    text = "name: a\nminutes: 30\nlimit: 20\ncount: 012\n"
    problems = yaml_reader.parse(Spot, text, "s", limit_rule)[1]
    assert [(p.line, p.what) for p in problems] == [
        (3, "the limit is below"),
        (4, "'012' begins with a zero"),
    ]


def test_a_rule_says_nothing_about_a_field_that_cannot_be_read() -> None:
    text = "name: a\nminutes: 30\nlimit: 20:00\n"
    problems = yaml_reader.parse(Spot, text, "s", limit_rule)[1]
    assert [(p.line, p.what) for p in problems] == [(3, "'20:00' is a time, not a number")]


def test_no_rule_runs_when_a_part_is_missing_whole() -> None:
    def never(spot: Spot) -> list[tuple[yaml_reader.KeyPath, str, str]]:
        raise AssertionError("a rule saw a half-read file")

    assert len(yaml_reader.parse(Spot, "minutes: 30\nlimit: 20\n", "s", never)[1]) == 1


def test_the_stand_in_of_a_number_breaks_no_comparison() -> None:
    number = stand_in(float)
    assert not number < 5
    assert not number > 5
    assert all(stand_in(kind) is None for kind in (str, tuple, dict, Spot))


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    latin = tmp_path / "latin.yaml"
    latin.write_bytes("name: a\nminutes: 5 # après\n".encode("latin-1"))
    large = tmp_path / "large.yaml"
    large.write_bytes(b"#" * 1_000_001)
    for path, line, mend in (
        (latin, 2, "save the file as UTF-8"),
        (large, 1, "this is no file of ours"),
        (tmp_path / "none.yaml", 1, "look at the name"),
        (tmp_path, 1, "look at the file"),
    ):
        found = yaml_reader.try_text(path)
        assert isinstance(found, FileProblem)
        assert (found.file, found.line, found.mend) == (str(path), line, mend)
        with pytest.raises(ConfigError, match=mend):
            yaml_reader.load(Spot, path)


def test_a_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    path = tmp_path / "bom.yaml"
    path.write_bytes(b"\xef\xbb\xbfname: a\nminutes: 5\n")
    assert yaml_reader.load(Spot, path).name == "a"


LINE_ENDS = "\n\r\x85\u2028\u2029"  # what counts as the end of a line in YAML
YAMLISH = st.text(
    alphabet=st.one_of(st.sampled_from("abn:-[]{}&*!|>'\"#%,?\n\t 0125.@`~\r\\"), st.characters()),
    max_size=60,
)


@given(YAMLISH)
def test_any_text_gives_a_value_or_problems(text: str) -> None:
    parsed = yaml_reader.parse(Spot, text, "s", limit_rule)
    assert (parsed[0] is None) == bool(parsed[1])
    lines = 1 + sum(text.count(end) for end in LINE_ENDS)
    assert all(1 <= p.line <= lines for p in parsed[1])


@given(
    st.sampled_from([str, int, float, bool, Literal["dry", "damp"], *CONVERTERS]),
    st.text(max_size=30) | st.from_regex(r"[0-9:.,_-]{1,30}", fullmatch=True),
)
def test_any_scalar_fits_or_is_refused_with_a_mend(kind: Any, text: str) -> None:
    try:
        value = convert(kind, text)
    except Wrong as wrong:
        what, mend = wrong.args
        assert what
        assert mend
    else:
        assert kind is not float or abs(value) < 1e12


@given(st.binary(max_size=200))
def test_any_bytes_give_a_text_or_a_problem(raw: bytes) -> None:
    with tempfile.NamedTemporaryFile(suffix=".yaml") as file:
        file.write(raw)
        file.flush()
        text = yaml_reader.try_text(Path(file.name))
    if isinstance(text, str):
        assert text.encode() == raw
    else:
        assert text.line == raw[: _bad(raw)].count(b"\n") + 1


def _bad(raw: bytes) -> int:
    try:
        raw.decode()
    except UnicodeDecodeError as error:
        return error.start
    raise AssertionError("the text was readable")
