"""A live session knows its trainee: from the records, and after a crash from the journal."""

from __future__ import annotations

import time
from pathlib import Path

from assistant import app
from assistant.core.levels import DAY, Level
from assistant.edges import settings_file
from assistant.edges.clock import VirtualClock
from assistant.edges.journal import latest
from assistant.edges.played_room import PlayedRoom
from assistant.edges.recogniser import Model, bundled_model
from assistant.edges.renderer import Renderer
from assistant.edges.settings_file import Settings
from assistant.live import Live
from tests.edges.test_debrief_page import NAPE, keep, served


def session(folder: Path, settings: Settings, resume: Path | None = None) -> Live:
    clock = VirtualClock()
    chair = app.Chair(Model(bundled_model()), PlayedRoom(), Renderer().rendered, settings, clock)
    live = app.live_session(chair, app.read_book(), folder, resume)
    live.begin()
    live.close()
    return live


def test_levels_come_from_the_records_and_after_a_crash_from_the_journal(tmp_path: Path) -> None:
    store, folder = tmp_path / "records.db", tmp_path / "2026-03-02"
    today = time.time() / DAY
    for back in (9, 6, 3):
        keep(store, served(), f"{back} days ago", today - back)
    settings = settings_file.with_trainee(Settings(), "robin")
    begun = session(folder, settings).parts.hub.salon.started
    assert begun is not None
    assert begun.trainee == "robin"
    assert dict(begun.levels)[NAPE] == Level.CHALLENGE
    store.unlink()
    again = session(folder, settings, latest(folder)).parts.hub.salon.started
    assert again == begun


def test_without_a_trainee_no_record_is_opened(tmp_path: Path) -> None:
    begun = session(tmp_path / "2026-03-02", Settings()).parts.hub.salon.started
    assert begun is not None
    assert (begun.trainee, begun.levels) == ("", ())
    assert not (tmp_path / "records.db").exists()
