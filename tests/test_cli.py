"""The command line: bad input is one line that says what to do, exit code 1, nothing lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.cli import main
from assistant.edges import journal, recipe_files


def run(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    code = main([str(word) for word in words])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("rehearse", "--model", "nowhere"), "no speech model here"),
        (("rehearse", "rot-tap"), "did you mean 'root-tap'?"),
        (("rehearse", "nowhere.yaml"), "no such file"),
        (("rehearse", "--typed", "--recipes", "nowhere"), "no such folder"),
        (("rehearse", "--typed", "--resume", "--out", "nowhere"), "leave out --resume"),
    ],
)
def test_bad_input_is_one_line_and_exit_1(
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    words: tuple[str, ...],
    says: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    code, _, err = run(capsys, *words)
    assert code == 1
    assert says in err
    assert len(err.strip().splitlines()) == 1
    assert "Traceback" not in err
    assert not list(tmp_path.rglob("*.journal"))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("rehearse", "--typd"), "swatchword rehearse: error: unrecognized arguments: --typd: "
         "did you mean --typed?"),
        (("records", "list", "--cliet=41"), "did you mean --client?"),
        (("listen", "--hedset", "--resme"), "did you mean --headset --resume?"),
        (("rehearse", "root-tap", "again"), "unrecognized arguments: again\n"),
        (("--vresion", "check"), "did you mean --version?"),
    ],
)  # fmt: skip
def test_an_option_that_is_misspelt_gets_a_hint(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], says: str
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert err.startswith("usage: swatchword")


def test_what_is_no_text_is_told_as_that(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "sound.yaml").write_bytes(b"RIFF\0\0WAVE")
    code, out, _ = run(capsys, "check", tmp_path)
    assert code == 1
    assert "sound.yaml:1: this is not a text file" in out


def test_an_empty_recipe_is_named_with_its_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "empty.yaml").write_text("")
    code, out, _ = run(capsys, "check", tmp_path)
    assert code == 1
    assert "empty.yaml:1: the file is empty" in out
    assert "1 to mend" in out


def test_everything_shipped_has_nothing_to_mend(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "check") == (0, "nothing to mend\n", "")


def test_a_recipe_word_the_model_does_not_know_is_named(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    text = (recipe_files.default_folder() / "root_tap.yaml").read_text(encoding="utf-8")
    (tmp_path / "odd.yaml").write_text(text.replace("nape", "xyzzyplugh"), encoding="utf-8")
    code, out, _ = run(capsys, "check", tmp_path)
    assert code == 1
    assert "xyzzyplugh" in out


def test_no_command_shows_the_help_and_is_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys)
    assert code == 2
    assert "rehearse" in out


def test_a_rehearsal_leaves_its_journal_transcript_picture_and_sheet(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    code, out, _ = run(capsys, "rehearse", "--typed", "--silent", "--out", tmp_path)
    assert code == 0
    assert "15 of 15 expectations met" in out
    records, damage = journal.read(tmp_path / "session-000001.journal")
    assert damage is None
    assert len(records) > 100
    for name in ("transcript.txt", "timeline.svg", "records/head-01-chair-1.md"):
        assert (tmp_path / name).stat().st_size > 300


def test_a_missed_expectation_is_exit_1(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    script = tmp_path / "hopeful.yaml"
    script.write_text(
        "version: 1\ntitle: t\nabout: a\nlines:\n  - {at: 0:05, say: start root tap}\n"
        "expect:\n  - {said: champagne, by: 0:30}\n"
    )
    code, out, _ = run(capsys, "rehearse", script, "--typed", "--silent", "--out", tmp_path)
    assert code == 1
    assert "MISSED" in out


def test_a_rehearsal_goes_on_where_its_journal_ends(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    whole = run(capsys, "rehearse", "--typed", "--silent", "--out", tmp_path / "a")[1]
    run(capsys, "rehearse", "--typed", "--silent", "--out", tmp_path / "b")
    path = tmp_path / "b" / "session-000001.journal"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:60]))
    resumed = run(capsys, "rehearse", "--typed", "--silent", "--resume", "--out", tmp_path / "b")[1]
    assert resumed.split("\n\n")[0] == whole.split("\n\n")[0]
