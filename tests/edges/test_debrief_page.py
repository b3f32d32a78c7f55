"""The debrief's page, and the kept services that levels and progress are made of."""

from __future__ import annotations

import re
import time
from collections.abc import Sequence
from contextlib import closing
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path

import pytest

from assistant import app
from assistant.cli import main
from assistant.core.debrief import debrief
from assistant.core.head import Head
from assistant.core.levels import DAY, Level
from assistant.core.rule import SalonRule
from assistant.core.timeline import timeline
from assistant.edges import debrief_page, debrief_progress, journal, kept_lessons, retold
from assistant.edges.records import RecordStore
from tests.core.recipes import recipe, stage, window, zone
from tests.core.service import Service
from tests.rehearsals.golden import play_typed

BOOK = app.read_book()
TAP = recipe(
    stage(zone("nape", window=window(10, 15, 30)), zone("crown", window=window(10, 15, 30)))
)
NAPE = "test tap / colour / place / nape"
VOID = frozenset("meta path rect line circle polygon br img".split())


def served(levels: dict[str, int] | None = None, answer: str = "ten minutes") -> Head:
    """A tidy service; `answer` to the question about the nape if it is asked."""
    service = Service(TAP, trainee="robin", levels=levels).at("00:01")
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    service.hear(answer)
    service.at("01:00").hear("starting nape")
    service.at("05:00").hear("nape is on")
    service.at("09:00").hear("crown is on")
    service.at("15:30").hear("nape is ready")
    service.at("19:30").hear("crown is ready")
    service.hear("rinsing now")
    service.hear("all rinsed")
    for _ in TAP.finish:
        service.hear("next step")
    return service.head()


def keep(store: Path, head: Head, session: str, day: float) -> None:
    with closing(RecordStore(store, session, lambda: day * DAY)) as records:
        records.write(head)


def levels(store: Path, day: float, trainee: str = "robin") -> dict[str, int]:
    return dict(kept_lessons.levels(store, trainee, lambda: day * DAY))


# ------------------------------------------------------- levels from records


def test_levels_are_made_of_the_kept_services_and_of_nothing_else(tmp_path: Path) -> None:
    store = tmp_path / "records.db"
    assert levels(store, 0) == {}
    for day in (1, 2, 3):
        assert levels(store, day).get(NAPE, 1) == Level.READ
        keep(store, served(levels(store, day)), f"day {day}", day)
    assert levels(store, 4)[NAPE] == Level.CHALLENGE
    wrong = served(levels(store, 4), "twelve minutes")
    keep(store, wrong, "day 4", 4)
    assert levels(store, 5)[NAPE] == Level.READ
    with closing(RecordStore(store, "", lambda: 0.0)) as records:
        records.delete(records.all()[-1].id)
    assert levels(store, 5)[NAPE] == Level.CHALLENGE
    assert levels(store, 34)[NAPE] == Level.READ  # 31 days later
    assert levels(store, 5, "somebody else") == {}


def test_a_record_written_twice_counts_once(tmp_path: Path) -> None:
    store = tmp_path / "records.db"
    for _ in range(3):  # a journal played again after a restart writes its records again
        keep(store, served(), "day 1", 1)
    assert levels(store, 2)[NAPE] == Level.READ


def test_services_without_a_trainee_and_old_records_are_passed_over(tmp_path: Path) -> None:
    store = tmp_path / "records.db"
    head = served()
    head.file.lesson = None
    keep(store, head, "day 1", 1)
    assert kept_lessons.lessons(store, "robin", lambda: 0.0) == ()


def test_a_store_that_cannot_be_read_costs_nobody_a_session(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    store = tmp_path / "records.db"
    store.write_bytes(b"this is no database, and it is long enough to be looked at" * 40)
    assert levels(store, 1) == {}
    assert "every step is told in full" in caplog.text


# ------------------------------------------------------------------ the page


class Page(HTMLParser):
    """Tags that close, words that are seen."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.cells: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append(tag)
        assert not any(name.startswith("on") for name, _ in attrs)

    def handle_startendtag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if data.strip() and self.open and self.open[-1] in ("td", "li", "h2", "p", "b"):
            self.cells.append(data.strip())


def sheet(head: Head, kept: Sequence[kept_lessons.KeptLesson] = ()) -> debrief_page.Sheet:
    return debrief_page.sheet_of(head, timeline("a title", [head], 1300), BOOK.phrases, kept)


def test_a_page_stands_alone_and_is_whole() -> None:
    text = debrief_page.page([sheet(served())], 0.0)
    page = Page(text)
    assert page.open == []
    assert not {"script", "link", "img", "iframe", "object", "form"} & set(page.tags)
    assert set(re.findall(r"[a-z]+://[^\"' <]+", text)) <= {"http://www.w3.org/2000/svg"}
    assert "default-src 'none'" in text
    assert "@media print" in text
    assert page.tags.count("svg") == 1


def test_every_figure_is_there_and_says_what_it_is_made_of() -> None:
    head = served({NAPE: 2}, "twelve minutes")
    cells = Page(debrief_page.page([sheet(head)], 0.0)).cells
    for text in (
        "Order kept.",
        "Passes took four minutes, planned four, and clocks began within four.",
        "Every first look came in time.",
        "Worth another look, the nape: ten minutes.",
        "said twelve minutes, it is ten minutes",
        "as in the recipe.",
    ):
        assert text in cells, text
    assert any("not a mark for a person" in cell for cell in cells)
    row = cells[cells.index("nape") :]
    assert row[:7] == ["nape", "4.0 min", "4.0 min", "15:00", "15:30", "in time", "no"]


def test_names_cannot_break_the_page() -> None:
    service = Service(TAP, trainee="<b>robin & co</b>")
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    service.hear("nape is on")
    text = debrief_page.page([sheet(service.head())], 0.0)
    assert "&lt;b&gt;robin &amp; co&lt;/b&gt;" in text
    assert Page(text).open == []


def test_progress_shows_how_steps_were_told_from_service_to_service(tmp_path: Path) -> None:
    store = tmp_path / "records.db"
    for day in range(1, 9):
        keep(store, served(levels(store, day)), f"day {day}", day)
    kept = kept_lessons.lessons(store, "robin", lambda: 9 * DAY)
    told = [session.told for session in debrief_progress.sessions(kept)]
    steps = 1 + 2 + 2 + 2  # a bowl, two zones, looks and rinse, two finishing steps
    assert [sum(one.values()) for one in told] == [steps] * 8
    assert [one.get(Level.READ, 0) for one in told] == [steps] * 3 + [0] * 5
    assert [one.get(Level.SILENT, 0) for one in told] == [0] * 6 + [1, 1]
    text = debrief_page.page([sheet(served(levels(store, 9)), kept)], 9 * DAY)
    assert "Progress over 8 kept services" in text
    assert Page(text).open == []


def test_only_the_latest_services_are_drawn_and_the_others_counted(tmp_path: Path) -> None:
    store = tmp_path / "records.db"
    for day in range(1, 16):
        keep(store, served(), f"day {day}", day)
    kept = kept_lessons.lessons(store, "robin", lambda: 0.0)
    part = debrief_progress.part(debrief_progress.sessions(kept))
    assert "Progress over 15 kept services" in part
    assert "3 older services" in part
    assert part.count("<tr>") == 1 + debrief_progress.SHOWN


# -------------------------------------------------------- journal and command


def test_the_journal_tells_the_same_as_the_session_did(tmp_path: Path) -> None:
    _, played = play_typed("trainee", tmp_path)
    path = journal.latest(tmp_path)
    assert path is not None
    told = retold.retold(path, BOOK.words, BOOK.phrases, SalonRule())
    assert [debrief(head) for head in told.heads] == [debrief(h) for h in played.salon.history]
    assert {m.text for m in told.said} == {s.text for s in played.spoken}


def test_the_command_writes_the_page_of_a_rehearsal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    play_typed("trainee", tmp_path)
    assert main(["debrief", "--of", str(tmp_path), "--out", str(tmp_path / "page.html")]) == 0
    out = capsys.readouterr().out
    assert "The crown was looked at five minutes late." in out
    text = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert "trainee robin" in text
    assert "Progress over 1 kept service<" in text
    cells = Page(text).cells
    crown = cells[cells.index("place: crown") :]
    assert crown[1:5] == ["silent", "clean", "-", "silent"]  # the journal says how far it was
    nape = cells[cells.index("place: nape") :]
    assert nape[1:3] == ["challenge", "error"]
    assert nape[4] == "down: read-do"


@pytest.mark.parametrize("script", ["trainee", "root-tap"])
def test_a_rehearsal_has_one_page_with_the_day_its_record_was_written(
    script: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["rehearse", script, "--typed", "--out", str(tmp_path)]) == 0
    page = tmp_path / "debrief.html"
    with closing(RecordStore(tmp_path / "records.db", "", time.time)) as records:
        written = datetime.fromtimestamp(records.all()[-1].first_utc, UTC).date()
    assert page.exists() == (script == "trainee")  # only who is taught gets one at once
    assert main(["debrief", "--of", str(tmp_path)]) == 0
    assert f"written: {page}" in capsys.readouterr().out
    assert title(page) == f"Debrief, {written}"
    assert [*tmp_path.rglob("debrief.html")] == [page]


def title(page: Path) -> str:
    found = re.search(r"Debrief, [\d-]+", page.read_text(encoding="utf-8"))
    assert found is not None
    return found.group()


@pytest.mark.parametrize("named", ["nowhere", "2026-01-01/session-000001"])
def test_a_session_that_is_not_there_is_one_line(
    named: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert main(["debrief", "--of", named]) == 1
    error = capsys.readouterr().err
    assert "no such session" in error
    assert len(error.strip().splitlines()) == 1


def test_no_session_at_all_and_one_that_is_not_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert main(["debrief"]) == 1
    assert "no session is kept here" in capsys.readouterr().err
    begun = tmp_path / "begun.yaml"
    begun.write_text(
        "version: 1\ntitle: Begun\nabout: One line.\n"
        'lines: [{at: "0:05", say: start root tap}]\nexpect: [{said: "root tap", by: "0:20"}]\n',
        encoding="utf-8",
    )
    play_typed(str(begun), tmp_path / "open")
    assert main(["debrief", "--of", str(tmp_path / "open")]) == 1
    assert "no service in it is finished" in capsys.readouterr().err


def test_without_a_name_a_journal_that_never_began_is_passed_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed in its first moment a session leaves an empty journal."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    sessions = tmp_path / "swatchword" / "sessions"
    play_typed("root-tap", sessions / "2026-03-01")
    (sessions / "2026-03-01" / "session-000002.journal").touch()
    (sessions / "2026-03-02").mkdir()
    (sessions / "2026-03-02" / "session-000001.journal").touch()
    assert main(["debrief"]) == 0
    assert "2026-03-01/session-000001" in capsys.readouterr().out
