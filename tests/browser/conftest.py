"""One browser for all of these tests; without one they are skipped and say so."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from assistant.edges.board import Board
from tests.edges.boards import Session

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

TABLET = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}
NAMES = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Headless Chromium of the system."""
    api = pytest.importorskip(
        "playwright.sync_api", reason="no Playwright here: pip install '.[browser]'"
    )
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip("no Chromium here: apt install chromium")
    with api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path)
        yield browser
        browser.close()


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """A session whose time stands still."""
    session = Session(tmp_path)
    yield session
    session.close()


@pytest.fixture
def board(session: Session) -> Iterator[Board]:
    """Its board."""
    board = Board(session.feed.touch)
    session.feed.show_on(board.publish)
    yield board
    board.close()


@pytest.fixture
def page(browser: Browser, board: Board) -> Iterator[Page]:
    """The board on a tablet; whatever the browser complains about fails the test."""
    page = browser.new_page(viewport=TABLET, has_touch=True)
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(board.addresses[0])
    yield page
    page.close()
    assert [text for text in complaints if "Failed to load" not in text] == []
