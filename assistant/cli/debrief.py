"""`swatchword debrief`: how a finished service went, as a page."""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from assistant import app
from assistant.cli import salon_records
from assistant.cli.help_text import WakeWordHelp
from assistant.core.head import Head
from assistant.core.levels import Run
from assistant.edges import (
    debrief_page,
    journal,
    kept_lessons,
    retold,
    session_folder,
    settings_file,
)
from assistant.edges.debrief_page import Sheet
from assistant.edges.earlier_visits import REHEARSAL
from assistant.edges.kept_lessons import KeptLesson
from assistant.edges.records import RecordStore
from assistant.errors import ConfigError

ABOUT = """\
Writes a page about the finished services of a session, from its journal: the order of the zones,
minutes of each pass against the plan, from the first clock to the last, silences, checks that
came late, a trainee's questions, and how each step will be told next time. With a trainee also
the progress over the services that are kept. The page needs no network and prints well.

It tells times and answers, not a mark for a person. By voice: "{wake}, talk me through it".
"""
EPILOG = """\
examples:
  swatchword debrief                              the latest session
  swatchword debrief --of 2026-03-02/session-000001  a day and its session
  swatchword debrief --of rehearsal-out/trainee   a rehearsal
exit code: 0 written, 1 nothing to write about (one line says why)
"""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "debrief",
        help="how a finished service went, as a page: order, times, checks, answers, progress",
        description=ABOUT,
        epilog=EPILOG,
        formatter_class=WakeWordHelp,
    )
    parser.add_argument("--of", metavar="SESSION", help="a session, its journal, or a rehearsal")
    parser.add_argument("--out", type=Path, metavar="FILE", help="write the page here")
    parser.add_argument("--settings", type=Path, metavar="FILE", help="another settings file")
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Write the page of one session."""
    settings = settings_file.load(chosen.settings)
    path, store, session = _journal(chosen.of, settings.sessions)
    book = app.live_book(settings)
    told = retold.retold(path, book.words, book.phrases, settings.rule)
    over = [head for head in told.heads if not head.active]
    if not over:
        raise ConfigError(f"{path}: no service in it is finished: ask again when one is")
    rehearsed = session == REHEARSAL
    began = _written(store) or told.began_utc if rehearsed else told.began_utc
    sheets: list[Sheet] = []
    for head in over:
        kept = _kept(head, store, session)
        learned = _learned(head, kept, began)
        marks = told.timeline_of(head)
        sheets.append(debrief_page.sheet_of(head, marks, book.phrases, kept, learned))
    beside = store.parent if rehearsed else session_folder.sheets_beside(path)
    out: Path = chosen.out or beside / "debrief.html"
    debrief_page.save(sheets, began, out)
    for sheet in sheets:
        print(f"chair {sheet.of.chair}, {sheet.of.recipe}: {' '.join(sheet.sentences)}")
    print(f"written: {out}")
    return 0


def _written(store: Path) -> float:
    """When a rehearsal's record was written, 0 without one: its clock has an invented day."""
    with closing(RecordStore(store, "", time.time, salon_records.key_for(store))) as records:
        written = [each.first_utc for each in records.all() if each.session == REHEARSAL]
    return written[-1] if written else 0.0


def _kept(head: Head, store: Path, session: str) -> Sequence[KeptLesson]:
    """The trainee's kept services up to this one."""
    if head.file.lesson is None:
        return ()
    trainee = head.file.lesson.trainee
    every = kept_lessons.lessons(store, trainee, time.time, salon_records.key_for(store))
    this = next((k for k in every if (k.session, k.head) == (session, head.number)), None)
    return every if this is None else [k for k in every if k.utc <= this.utc]


def _learned(head: Head, kept: Sequence[KeptLesson], began: float) -> list[Run]:
    """What the levels of the journal say beyond the records that are kept."""
    if head.file.lesson is None:
        return []
    runs = [run for lesson in kept[:-1] for run in lesson.runs()]
    utc = kept[-1].utc if kept else began
    return kept_lessons.assumed(head.file.lesson.levels, runs, utc)


def _journal(named: str | None, sessions: Path) -> tuple[Path, Path, str]:
    """The journal, the record store beside it, and what the session is called there."""
    if named is None:
        days = sorted((d for d in sessions.glob("*") if d.is_dir()), reverse=True)
        every = (path for day in days for path in journal.newest_first(day))
        found = next(filter(session_folder.has_begun, every), None)
        if found is None:
            raise ConfigError(f"{sessions}: no session is kept here: name one with --of")
        return _of_salon(found)
    path = Path(named)
    if path.is_dir():
        latest = journal.latest(path)
        if latest is None:
            raise ConfigError(f"{path}: no journal in this folder: name a session or its journal")
        rehearsed = (path / "records.db").is_file()
        return (latest, path / "records.db", REHEARSAL) if rehearsed else _of_salon(latest)
    for file in (path, (sessions / named).with_suffix(".journal"), sessions / named):
        if file.is_file():
            return _of_salon(file)
    raise ConfigError(f"{named}: no such session: name one of those in {sessions}, as DAY/SESSION")


def _of_salon(path: Path) -> tuple[Path, Path, str]:
    return path, session_folder.store_of(path), session_folder.name_of(path)
