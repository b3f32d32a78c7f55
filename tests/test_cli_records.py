"""`swatchword records`: look at, export, correct, lock, delete; and what it refuses."""

from __future__ import annotations

import csv
import getpass
import io
import json
import sqlite3
import sys
import time
from datetime import date, timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.core.client_card import Client
from assistant.core.figures import number_words
from assistant.core.head import Head
from assistant.core.recipe import Recipe
from assistant.core.record import WRITTEN
from assistant.core.rule import SalonRule
from assistant.edges.recipe_files import load_all
from assistant.edges.record_lock import PASSPHRASE
from assistant.edges.recordings import recording_for
from assistant.edges.records import DAY, RecordStore
from assistant.edges.service_sheets import ServiceSheets
from tests.core.recipes import recipe, stage, zone
from tests.wake import WAKE

# The tables as version 2 made them.
VERSION_2 = """
CREATE TABLE services (
    id INTEGER PRIMARY KEY, session TEXT NOT NULL, head INTEGER NOT NULL,
    first_utc REAL NOT NULL, body TEXT NOT NULL, UNIQUE (session, head));
CREATE TABLE written (
    id INTEGER PRIMARY KEY, service INTEGER NOT NULL REFERENCES services ON DELETE CASCADE,
    utc REAL NOT NULL, field TEXT NOT NULL, value TEXT NOT NULL, who TEXT NOT NULL DEFAULT '');
INSERT INTO services VALUES (1, 's', 1, 5.0, '{"chair": 3, "recipe": "root tap", "state": "closed",
    "zones": [], "gate": [["alert test", "clear, 3 days ago"]]}');
INSERT INTO services VALUES (2, 's', 2, 6.0, '{"chair": 4, "recipe": "root tap", "state": "closed",
    "zones": []}');
INSERT INTO written VALUES (1, 1, 6.0, 'client', 'Rowan', ''), (2, 1, 7.0, 'client', 'Äsop', 'ann');
PRAGMA user_version=2;
"""


class Salon:
    """A folder with a store, and the command run on it."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.path = folder / "records.db"
        self._capsys = capsys

    def serve(
        self,
        client: str = "41",
        days_ago: float = 0,
        session: str = "day/one",
        mixed: Recipe | None = None,
    ) -> None:
        """A finished service; of a recipe whose bowls were all mixed, if one is given."""
        head = Head(2, 1, mixed or recipe(stage(zone("crown"), zone("nape"))), 0.0)
        if mixed:
            head.file.mixed = {
                (number, bowl.name): 30.0
                for number, part in enumerate(mixed.stages)
                for bowl in part.bowls
            }
        head.file.client = Client(client, None, SalonRule())
        head.file.gate["alert test"] = "clear, 3 days ago"
        for number, run in enumerate(head.file.zones):
            run.pass_began_at, run.on_at, run.rinsed_at = 60.0, 180.0 - 60 * number, 780.0
            run.checks = [(400.0, "not yet")]
        head.file.ended_at = 1800.0
        store = RecordStore(self.path, session, lambda: time.time() - days_ago * DAY)
        store.write(head)
        store.close()
        ServiceSheets(self.path.parent / session).write(head)

    def run(self, *words: str) -> str:
        """What is printed; the exit code must be 0."""
        assert main(["records", "--store", str(self.path), *words]) == 0
        out, err = self._capsys.readouterr()
        assert err == ""
        return out

    def printed(self) -> str:
        """What was printed since the last look."""
        return self._capsys.readouterr().out

    def refuse(self, *words: str) -> str:
        """The one line of a refusal; the exit code must be 1."""
        assert main(["records", "--store", str(self.path), *words]) == 1
        out, err = self._capsys.readouterr()
        assert (out, len(err.splitlines())) == ("", 1)
        return err


@pytest.fixture
def salon(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Salon:
    return Salon(tmp_path, capsys)


def test_help_tells_every_field_and_how_it_is_locked(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["records", "--help"])
    assert ended.value.code == 0
    told = " ".join(capsys.readouterr().out.split())
    assert all(field in told for field in WRITTEN)
    for word in ("list", "show", "client", "export", "correct", "test", "delete", "lock", "unlock"):
        assert word in told
    assert PASSPHRASE in told


@pytest.mark.parametrize(
    "words",
    [(), ("show",), ("show", "x"), ("correct", "1", "telephone", "1"), ("delete",),
     ("export", "pdf"), ("test", "41"), ("delete", "--id", "1", "--older-than", "2")],
)  # fmt: skip
def test_wrong_usage_is_exit_2(salon: Salon, words: tuple[str, ...]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["records", *words])
    assert ended.value.code == 2


def test_without_a_store_it_says_so_and_makes_none(salon: Salon) -> None:
    for words in (("list",), ("show", "1"), ("export", "csv"), ("delete", "--id", "1")):
        assert "no records yet" in salon.refuse(*words)
    assert not salon.path.exists()


def test_the_salons_own_store_is_the_one_of_its_settings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    if sys.platform == "linux":
        assert main(["records", "list"]) == 1
        assert str(tmp_path / "swatchword" / "sessions" / "records.db") in capsys.readouterr().err


def test_an_empty_store_lists_nothing(salon: Salon) -> None:
    RecordStore(salon.path, "", time.time).close()
    assert salon.run("list") == "no records\n"
    assert len(salon.run("export", "csv").splitlines()) == 1
    assert json.loads(salon.run("export", "json")) == {"records": [], "alert tests": []}


@pytest.mark.parametrize(
    "words", [("show", "7"), ("correct", "7", "notes", "x"), ("delete", "--id", "7"),
              ("export", "json", "--id", "7")],
)  # fmt: skip
def test_a_wrong_number_is_refused(salon: Salon, words: tuple[str, ...]) -> None:
    salon.serve()
    assert "no record 7" in salon.refuse(*words)
    assert len(salon.run("list").splitlines()) == 1


def test_list_and_show(salon: Salon) -> None:
    salon.serve()
    salon.serve("ROBIN", session="day/two")
    today = date.today()
    assert salon.run("list").splitlines() == [
        f"    1 {today} chair 2 test tap, gate, client 41",
        f"    2 {today} chair 2 test tap, gate, client ROBIN",
    ]
    assert len(salon.run("list", "--client", "robin").splitlines()) == 1
    sheet = salon.run("show", "1")
    assert "client 41" in sheet
    assert "30 minutes in all" in sheet
    assert "- crown: on 03:00, off 13:00, 10.0 min; planned 5/10/20 min" in sheet
    assert "pass 2.0 min, planned 4" in sheet
    assert sheet.index("- nape: on") < sheet.index("- crown: on")  # as they were put on


def test_a_correction_keeps_the_old_value(salon: Salon) -> None:
    salon.serve()
    salon.run("correct", "1", "outcome", "too warm", "--who", "ann")
    salon.run("correct", "1", "outcome", "even")
    sheet = salon.run("show", "1")
    assert "- outcome: even" in sheet
    assert "- outcome was: too warm (ann)" in sheet
    (record,) = json.loads(salon.run("export", "json"))["records"]
    assert [entry[2:] for entry in record["entries"]] == [["too warm", "ann"], ["even", ""]]


def test_what_is_left_in_a_bowl_sizes_the_next(
    salon: Salon, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sixty grams are mixed and forty five used, eight times: forty five are expected."""
    monkeypatch.chdir(salon.path.parent)
    tap = load_all()[0]["root tap"]
    plan = ["plan", "root-tap", "--quick", "--as-used", "--store", str(salon.path)]
    for number in range(1, 9):
        salon.serve(session=f"day/{number}", mixed=tap)
        if number == 1:
            assert main(plan) == 1
            assert "no bowl of root tap was weighed yet" in capsys.readouterr().err
        grams = tap.stages[0].bowls[0].grams
        salon.run("correct", str(number), "left over", f"Root bowl: {grams / 4:g} g")
    assert main(plan) == 0
    used = number_words(round(grams * 0.75))
    said = f"{used} expected, give or take"
    told = next(line for line in capsys.readouterr().out.splitlines() if said in line)
    assert told.endswith("from eight bowls weighed here.")
    assert "- left over: Root bowl: 11.25 g" in salon.run("show", "1")


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("a little", "write each bowl and its grams"),
        ("root bowl 15, root bowl 3", "given twice"),
        ("toner bowl 5", "no bowl 'toner bowl' was mixed at this service: root bowl"),
        ("root bowl 450", "weigh again, without the brush"),
        ("root bowl -3", "cannot be read"),
    ],
)
def test_what_cannot_be_left_is_refused(salon: Salon, written: str, says: str) -> None:
    salon.serve(mixed=load_all()[0]["root tap"])
    assert says in salon.refuse("correct", "1", "left over", written)
    assert "left over:" not in salon.run("show", "1")


class _Texts(HTMLParser):
    """Every text of a page by its tag."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, str]] = []
        self.open: list[str] = []
        self._tag = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._tag = tag
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.found.append((self._tag, data.strip()))


def test_every_export_read_back_says_the_same(salon: Salon) -> None:
    salon.serve()
    awkward = '=1+1, "quoted", <b>bold</b> & äöü'
    salon.run("correct", "1", "home care", awkward)
    salon.run("test", "41", "--line", "line a", "--result", "clear", "--who", "ann")

    plain = json.loads(salon.run("export", "json", "--id", "1"))
    (record,) = plain["records"]
    assert record["written"]["home care"] == awkward
    assert plain["alert tests"][0]["line"] == "line a"
    zones = [(z["name"], z["on_at"], z["off_at"]) for z in record["service"]["zones"]]
    assert zones == [("nape", 120.0, 780.0), ("crown", 180.0, 780.0)]

    rows = list(csv.DictReader(io.StringIO(salon.run("export", "csv"))))
    assert [(r["name"], float(r["on_at"]), float(r["off_at"])) for r in rows] == zones
    assert {row["home care"] for row in rows} == {"'" + awkward}  # no formula in a spreadsheet
    assert [row["order"] for row in rows] == ["1", "2"]
    assert {row["client heard"] for row in rows} == {"41"}

    page = _Texts()
    page.feed(salon.run("export", "html", "--id", "1"))
    sheet = salon.run("export", "markdown", "--id", "1")
    for line in filter(None, sheet.splitlines()):
        assert line.lstrip("#- ") in [text for _, text in page.found]
    assert page.open == []
    assert "b" not in {tag for tag, _ in page.found}
    assert f"- home care: {awkward}" in sheet


def test_a_page_is_of_one_record(salon: Salon) -> None:
    salon.serve()
    salon.serve(session="day/two")
    assert "add --id" in salon.refuse("export", "html")
    assert salon.run("export", "html", "--id", "2").startswith("<!doctype html>")


def test_a_reader_of_an_alert_test(salon: Salon) -> None:
    day = (date.today() - timedelta(days=40)).isoformat()
    salon.run("test", "41", "--day", day, "--line", "line a", "--result", "clear", "--who", "ann",
              "--most-days", "30")  # fmt: skip
    told = salon.run("client", "41")
    assert "the gate asks for another" in told
    assert "line a (ann)" in told
    assert "it counts from 2 to 30 days" in told
    salon.run("test", "41", "--result", "reaction", "--who", "ann")
    assert "A REACTION" in salon.run("client", "41")
    salon.run("test", "41", "--result", "lifted", "--who", "doctor's letter")
    assert "A REACTION" not in salon.run("client", "41")
    assert "0 services" in salon.run("client", "nobody")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--result", "clear"), "add --line"),
        (("--result", "lifted"), "add --who"),
        (("--result", "clear", "--line", "a", "--day", "2999-01-01"), "still to come"),
        (("--result", "clear", "--line", "a", "--day", "yesterday"), "write it as 2026-11-20"),
    ],
)
def test_a_test_that_cannot_be_is_refused(salon: Salon, words: tuple[str, ...], says: str) -> None:
    assert says in salon.refuse("test", "41", *words)


def test_delete_takes_the_sheet_with_it(salon: Salon) -> None:
    salon.serve()
    salon.serve("42", session="day/two")
    sheets = salon.path.parent / "day"
    assert len(list(sheets.rglob("*.md"))) == 2
    assert "1 removed" in salon.run("delete", "--yes", "--id", "1")
    assert [file.parent.name for file in sheets.rglob("*.md")] == ["two"]
    assert "client 42" in salon.run("list")


@pytest.mark.parametrize(
    ("answer", "stays"), [("y", 1), ("Yes ", 1), ("", 2), ("n", 2), ("perhaps", 2)]
)
def test_delete_shows_what_would_go_and_asks(
    salon: Salon, monkeypatch: pytest.MonkeyPatch, answer: str, stays: int
) -> None:
    salon.serve()
    salon.serve("42", session="day/two")
    asked: list[str] = []
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", lambda question: asked.append(question) or answer)
    words = ["records", "--store", str(salon.path), "delete", "--client", "41"]
    assert main(words) == (0 if stays == 1 else 1)
    told = salon.printed()
    assert "client 41" in told
    assert "client 42" not in told
    assert "Remove 1 for good, and all alert tests of 41?" in asked[0]
    assert ("nothing was removed" in told) == (stays == 2)
    assert len(salon.run("list").splitlines()) == stays


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--id", "1"), "1 to remove for good: add --yes"),
        (("--client", "41"), "1 to remove for good, and all alert tests of 41: add --yes"),
        (("--older-than", "0"), "1 to remove for good, and alert tests older than 0 days"),
    ],
)
def test_with_nobody_to_ask_delete_removes_nothing(
    salon: Salon, words: tuple[str, ...], says: str
) -> None:
    salon.serve(days_ago=1)
    assert says in salon.refuse("delete", *words)
    assert "client 41" in salon.run("list")


def test_a_client_is_forgotten_with_tests(salon: Salon) -> None:
    salon.serve()
    salon.serve("42", session="day/two")
    salon.run("test", "41", "--line", "line a", "--result", "clear")
    assert "1 removed" in salon.run("delete", "--yes", "--client", "41")
    assert "0 services" in salon.run("client", "41")
    assert "no alert test" in salon.run("client", "41")
    assert "1 services" in salon.run("client", "42")


def test_retention_removes_what_is_older_and_nothing_else(salon: Salon) -> None:
    salon.serve(days_ago=800, session="day/old")
    salon.serve(days_ago=700, session="day/new")
    assert "1 removed" in salon.run("delete", "--yes", "--older-than", "730")
    assert "0 removed" in salon.run("delete", "--yes", "--older-than", "730")
    assert len(salon.run("list").splitlines()) == 1


def test_a_store_one_version_back_is_brought_up(salon: Salon) -> None:
    old = sqlite3.connect(salon.path)
    old.executescript(VERSION_2)
    old.close()
    assert [line.split("client ")[1] for line in salon.run("list").splitlines()] == ["Äsop", "-"]
    assert len(salon.run("list", "--client", "äsop").splitlines()) == 1  # found by the new mark
    assert "newest clear test" in salon.run("client", "ÄSOP")
    salon.run("correct", "1", "notes", "x")


def test_a_consultation_is_kept_and_read_by_gate_and_sheet(
    salon: Salon, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["choose", "--store", str(salon.path), "--client", "41", "scalp=sound"]
    main([*words, "earlier_reaction=to a henna tattoo", "regrowth_mm=12"])
    assert "written down for client 41: 3 answers" in capsys.readouterr().out
    assert "A REACTION" in salon.run("client", "41")
    salon.serve()
    sheet = salon.run("show", "1")
    assert "- earlier reaction: to a henna tattoo" in sheet
    assert "- regrowth mm: 12.0" in sheet
    main([*words, "earlier_reaction=none"])
    capsys.readouterr()
    assert "A REACTION" not in salon.run("client", "41")
    assert "to a henna tattoo" in salon.run("show", "1")  # as it was then


# -------------------------------------------------------------------- locking


def test_without_a_passphrase_nothing_is_said_to_be_locked(
    salon: Salon, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(PASSPHRASE, raising=False)
    monkeypatch.setattr("sys.stdin.isatty", lambda: False)
    assert "no passphrase was given" in salon.refuse("lock")


def test_lock_and_unlock(salon: Salon, monkeypatch: pytest.MonkeyPatch) -> None:
    salon.serve("Quillfeather")
    monkeypatch.setenv(PASSPHRASE, "a sentence nobody guesses")
    assert "still plain: 1 sheets" in salon.run("lock")
    assert b"Quillfeather" not in salon.path.read_bytes()
    assert "Quillfeather" in salon.run("list")
    assert "locked already" in salon.run("lock")
    monkeypatch.setenv(PASSPHRASE, "another sentence")
    assert "wrong passphrase" in salon.refuse("list")
    monkeypatch.delenv(PASSPHRASE)
    assert f"set {PASSPHRASE}" in salon.refuse("list")
    monkeypatch.setenv(PASSPHRASE, "a sentence nobody guesses")
    assert "plain now" in salon.run("unlock")
    monkeypatch.delenv(PASSPHRASE)
    assert "Quillfeather" in salon.run("list")
    assert "not locked" in salon.refuse("unlock")


def test_a_short_passphrase_is_refused(salon: Salon, monkeypatch: pytest.MonkeyPatch) -> None:
    salon.serve()
    monkeypatch.setenv(PASSPHRASE, "short")
    assert "shorter than 8" in salon.refuse("lock")
    monkeypatch.delenv(PASSPHRASE)
    assert "client 41" in salon.run("list")


def test_a_typed_passphrase_is_asked_for_twice(
    salon: Salon, monkeypatch: pytest.MonkeyPatch
) -> None:
    salon.serve()
    monkeypatch.delenv(PASSPHRASE, raising=False)
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    typed = iter(["a long sentence", "a long sentense", "a long sentence", "a long sentence"])
    monkeypatch.setattr(getpass, "getpass", lambda question: next(typed))
    assert "not the same" in salon.refuse("lock")
    assert "client 41" in salon.run("list")
    assert "locked" in salon.run("lock")


def test_without_the_extra_the_lock_says_what_to_install(
    salon: Salon, monkeypatch: pytest.MonkeyPatch
) -> None:
    salon.serve()
    monkeypatch.setenv(PASSPHRASE, "a sentence nobody guesses")
    monkeypatch.setitem(sys.modules, "cryptography.hazmat.primitives.ciphers.aead", None)
    assert "swatchword[private]" in salon.refuse("lock")


def test_client_option_reaches_the_record(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["rehearse", "root-tap", "--typed", "--silent", "--out", str(tmp_path)]
    assert main([*words, "--client", "1=ROBIN"]) == 0
    assert "No alert test on record" in capsys.readouterr().out  # the gate read the records
    assert main(["records", "--store", str(tmp_path / "records.db"), "list"]) == 0
    assert "closed, client ROBIN" in capsys.readouterr().out
    assert main([*words, "--client", "9=ROBIN"]) == 1
    assert "there are chairs 1 to 4" in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main([*words, "--client", "ROBIN"])
    assert "write CHAIR=NAME" in capsys.readouterr().err


def test_a_session_beside_a_locked_store_needs_the_passphrase(
    salon: Salon, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(PASSPHRASE, "a sentence nobody guesses")
    salon.run("lock")
    monkeypatch.setenv(PASSPHRASE, "another sentence")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(salon.path.parent))
    played = recording_for(f"{WAKE} heard you")
    assert main(["listen", "--out", str(salon.path.parent), "--play", str(played)]) == 1
    assert "wrong passphrase" in capsys.readouterr().err
    assert not list(salon.path.parent.rglob("*.journal"))


def test_a_file_that_is_no_store_is_refused(salon: Salon) -> None:
    salon.path.write_bytes(b"no database at all" * 100)
    assert "cannot be read" in salon.refuse("list")
    assert salon.path.read_bytes() == b"no database at all" * 100
