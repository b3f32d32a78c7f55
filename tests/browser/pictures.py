"""Makes the README's two pictures of the board: `python -m tests.browser.pictures`."""

from __future__ import annotations

import shutil
import tempfile
import threading
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

from assistant import app
from assistant.edges import script_files
from assistant.edges.board import Board
from assistant.edges.board_feed import Feed
from assistant.edges.clock import VirtualClock
from assistant.edges.paced_clock import PacedClock
from assistant.hub import Hub
from tests.browser.conftest import NAMES, PHONE, TABLET

FOLDER = Path(__file__).resolve().parent.parent / "pictures"
AT = 1045.0  # of the rehearsal with two clients: zones on, one ready, one check called out


def main() -> None:
    """A tablet in a light room, a phone in a dark one."""
    feed = Feed(speed=0.0)  # the page is to stand still
    board = Board(feed.touch)
    feed.show_on(board.publish)
    with tempfile.TemporaryDirectory() as folder:
        playing, at_rest, done = _play(feed, Path(folder))
        at_rest.wait(60)
        _photograph(board.addresses[0])
        done.set()
        playing.join()
    board.close()


def _play(feed: Feed, folder: Path) -> tuple[threading.Thread, threading.Event, threading.Event]:
    """Play up to a moment and hold the salon there."""
    at_rest, done = threading.Event(), threading.Event()

    def rest() -> None:
        at_rest.set()
        done.wait(60)

    def built(hub: Hub, clock: VirtualClock) -> None:
        feed.attach(hub, clock.now)
        clock.at(AT, lambda: (feed.ask(), clock.at(AT, rest)))

    book = app.read_book()
    rehearsal = app.rehearsal(
        script_files.load("two-clients"),
        book,
        app.typed_hearing(book),
        app.GuessedVoice().seconds_of,
        folder,
        clock=lambda: PacedClock(1000.0),
        built=built,
    )
    playing = threading.Thread(target=rehearsal.play, daemon=True)
    playing.start()
    return playing, at_rest, done


def _photograph(address: str) -> None:
    path = next(found for name in NAMES if (found := shutil.which(name)))
    FOLDER.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path)
        for name, size, scheme in (("tablet", TABLET, "light"), ("phone", PHONE, "dark")):
            page = browser.new_page(viewport=size, color_scheme=scheme)
            page.goto(address)
            page.locator(".zone").first.wait_for()
            shot = FOLDER / f"board-{name}.png"
            page.screenshot(path=shot)
            Image.open(shot).quantize(64).save(shot, optimize=True)
        browser.close()


if __name__ == "__main__":
    main()
