"""`swatchword plan` and `choose`: bad input is one clear line, exit code 1, and nothing written."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.cli import main
from assistant.edges import choosing_file, day_file

DAY = """\
version: 1
title: Test day
basins: 1
people:
  - {name: Ines, skills: [apply, check, rinse]}
heads:
  - {chair: 1, recipe: root tap, arrives: "10:00"}
"""


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(list(words))
    out, err = capsys.readouterr()
    return code, out, err


BAD_SUMS = [
    (("--mix", "-5", "1:2"), "cannot weigh -5"),
    (("--mix", "60", "1:0"), "both parts must be above zero"),
    (("--mix", "sixty", "1:2"), "give a number"),
    (("--mix", "60", "one"), "cannot be read"),
    (("--mix", "nan", "1:2"), "give a number"),
    (("--mix", "60", "1:1", "--developer", "51"), "cannot be 51 %"),
    (("--dilute", "90", "15", "--from", "12,3"), "12 percent is the strongest"),
    (("--dilute", "90", "51", "--from", "40vol,0"), "cannot be"),
    (("--dilute", "-9", "6", "--from", "12,3"), "cannot weigh -9"),
    (("--dilute", "90", "6"), "--from 12,3"),
    (("--colour", "-5", "1:2"), "cannot weigh -5"),
    (("root-tap", "--measured", "nape=14x12"), "--hair 30"),
    (("root-tap", "--measured", "nape", "--hair", "30"), "nape=14x12"),
    (("root-tap", "--measured", "fringe=14x12", "--hair", "30"), "no zone 'fringe'"),
    (("root-tap", "--measured", "nape=0x12", "--hair", "30"), "above zero"),
    (("root-tap", "--as-used"), "no bowl of root tap was weighed yet"),
    (("root-tap", "--pace", "0"), "a pace of 0 cannot be"),
    (("root-tap", "--leave-out", "fringe"), "no zone 'fringe'"),
    (("root-tap", "--leave-out", "nape"), "nape cannot be left out"),
    (("rot-tap",), "did you mean 'root tap'?"),
    (("nowhere.yaml",), "no such file"),
    ((), "plan what?"),
]


@pytest.mark.parametrize(("words", "told"), BAD_SUMS)
def test_a_sum_that_cannot_be_is_one_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    code, out, err = run(capsys, "plan", *words)
    assert (code, out) == (1, "")
    assert told in err
    assert len(err.splitlines()) == 1
    assert not list(tmp_path.iterdir())


SECOND = '  - {chair: 1, recipe: root tap, arrives: "10:05"}\n'
BAD_DAYS = [
    (("basins: 1", "basins: 0"), ":3: 0 basins"),
    (('"10:00"', '"25:00"'), ":7: "),
    (("root tap", "rot tap"), ":7: there is no recipe 'rot tap'; did you mean 'root tap'?"),
    (('"10:00"}', '"10:00", by: Anna}'), ":7: nobody is called 'Anna'; there are Ines"),
    (("check, rinse", "check, rinze"), ":5: "),
    (("check, rinse", "check"), ":5: nobody may rinse"),
    (("rinse]}", 'rinse], breaks: [{begins: "11:00", ends: "10:00"}]}'), "ends before it begins"),
    (("chair: 1", "chair: 0"), ":7: there is no chair 0"),
    (("chair: 1, recipe: root tap", "chair: 1, recipe: quarter foils"), ":8: chair 1 is not free"),
    (('"10:00"}', '"10:00", on: {nape: "10:05"}}'), "write now: above"),
    (("title: Test day", "title: Test day\nhouse: {wait_minutes: -3}"), "-3 minutes cannot be"),
    (("title: Test day", "title: Test day\ntitel: x"), "'titel' is not known here"),
]


@pytest.mark.parametrize(("change", "told"), BAD_DAYS)
def test_a_bad_day_file_is_told_with_its_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, change: tuple[str, str], told: str
) -> None:
    text = DAY + (SECOND if "not free" in told else "")
    Path("day.yaml").write_text(text.replace(*change, 1))
    code, out, err = run(capsys, "plan", "day.yaml")
    assert (code, out) == (1, "")
    assert told in err
    assert [path.name for path in tmp_path.iterdir()] == ["day.yaml"]


def test_a_window_upside_down_is_told_where_recipes_are_read(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    shipped = (Path(day_file.__file__).parents[2] / "recipes" / "root_tap.yaml").read_text()
    (tmp_path / "mine").mkdir()
    wrong = shipped.replace("target_minutes: 20", "target_minutes: 11", 1)
    (tmp_path / "mine" / "tap.yaml").write_text(wrong)
    code, out, err = run(capsys, "plan", "root-tap", "--recipes", "mine")
    assert (code, out) == (1, "")
    assert "checks begin (12) after the target (11)" in err
    assert not (tmp_path / "plan-out").exists()


def test_a_bowl_and_a_strength(capsys: pytest.CaptureFixture[str]) -> None:
    """Six percent at 1:1.5 is 3.6 % on the head; 90 g of 6 from 12 and 3 is 30 + 60."""
    code, out, _ = run(capsys, "plan", "--mix", "60", "1:1.5", "--developer", "20vol")
    assert code == 0
    assert "twenty four grams of colour and thirty six grams of developer" in out
    assert "Three point six percent peroxide on the head." in out
    assert "Six percent is twenty volume by the trade's rule, nineteen point eight by" in out
    code, out, _ = run(capsys, "plan", "--colour", "35", "1:1.5")
    assert code == 0
    assert "thirty five grams of colour and fifty three grams of developer" in out
    code, out, _ = run(capsys, "plan", "--dilute", "90", "6", "--from", "12,3")
    assert code == 0
    assert out == "Six percent: thirty grams of 12 percent and sixty grams of 3 percent.\n"


def test_measured_zones_decide_on_the_grams(capsys: pytest.CaptureFixture[str]) -> None:
    """Without all of its zones a bowl keeps the recipe's grams, and says which are missing."""
    nape = ("--quick", "--hair", "30", "--measured", "nape=14x12")
    _, out, _ = run(capsys, "plan", "root-tap", *nape)
    assert "From the recipe: crown, left side, right side and face frame not measured." in out
    others = ("crown=20x16", "left-side=12x14", "right-side=12x14", "face-frame=4x14")
    rest = [word for zone in others for word in ("--measured", zone)]
    code, out, _ = run(capsys, "plan", "root-tap", *nape, *rest)
    assert code == 0
    assert "a first guess: weigh what is left." in out
    assert "not measured" not in out


@pytest.mark.parametrize("quick", [(), ("--quick",)])
def test_every_shipped_day_is_planned_or_its_clash_is_told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, quick: tuple[str, ...]
) -> None:
    for name in day_file.names():
        code, out, err = run(capsys, "plan", name, *quick)
        assert err == ""
        if code == 0:
            assert "every limit checked" in out
            assert (tmp_path / "plan-out" / name / "plan.svg").stat().st_size > 2000
        else:
            assert " need " in out or " needs " in out
            assert not (tmp_path / "plan-out" / name).exists()


def test_one_head_shows_bowls_clocks_window_and_order(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "plan", "root-melt")
    assert code == 0
    assert "Toner bowl" in out
    assert "one rinse serves all: from 22.5 to 27" in out
    assert "The order of the recipe stands." in out
    code, out, _ = run(capsys, "plan", "root-melt", "--pace", "3")
    assert code == 1
    assert "no single rinse fits at this pace" in out


BAD_FACTS = [
    (("wish=blue",), "say one of fading, lasting"),
    (("hope=fading",), "there is no fact 'hope'"),
    (("fading",), "write FACT=ANSWER"),
    (("wish=fading", "wish=lasting"), "wish is given twice"),
    (("grey_percent=101",), "give a number from 0 to 100"),
    (("regrowth_mm=-1",), "give a number from 0 to 300"),
]


@pytest.mark.parametrize(("words", "told"), BAD_FACTS)
def test_a_fact_that_cannot_be_is_one_line(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str
) -> None:
    code, out, err = run(capsys, "choose", *words)
    assert (code, out) == (1, "")
    assert told in err
    assert len(err.splitlines()) == 1


def test_choose_asks_first_stops_or_proposes(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "choose", "wish=fading")[:2][0] == 1
    code, out, _ = run(capsys, "choose", "scalp=broken")
    assert code == 1
    assert out.startswith("Stop. ")
    safe = ("earlier_reaction=none", "scalp=sound", "age=sixteen and over")
    code, out, _ = run(capsys, "choose", *safe, "wish=fading", "hair=damp")
    assert code == 0
    assert out.startswith("1. Root tap: ")
    assert "Against: " in out
    assert out.rstrip().endswith("The stylist decides.")


def test_a_candidate_that_is_no_recipe_is_told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    text = choosing_file.SHIPPED.read_text().replace("name: root melt", "name: root molt", 1)
    text = text.replace("root melt", "root molt")
    (tmp_path / "choosing.yaml").write_text(text)
    code, _, err = run(capsys, "choose", "--rules", "choosing.yaml", "wish=fading")
    assert code == 1
    assert "there is no recipe 'root molt'; did you mean 'root melt'?" in err


def test_a_bad_shade_gets_its_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    shipped = (Path(day_file.__file__).parents[2] / "recipes" / "root_melt.yaml").read_text()
    (tmp_path / "melt.yaml").write_text(shipped.replace('shade: "7.1"', 'shade: "7N"'))
    code, out, _ = run(capsys, "check", "melt.yaml")
    assert code == 1
    assert "shade '7N' cannot be read" in out
