"""Makes the README's two pictures of the board: `python -m tests.browser.pictures`."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

from assistant.edges.board import Board
from assistant.edges.board_feed import Feed
from tests.browser.conftest import NAMES, PHONE, TABLET
from tests.browser.held import hold

FOLDER = Path(__file__).resolve().parent.parent / "pictures"
AT = 1045.0  # of the rehearsal with two clients: zones on, one ready, one check called out


def main() -> None:
    """A tablet in a light room, a phone in a dark one."""
    feed = Feed(speed=0.0)  # the page is to stand still
    board = Board(feed.touch)
    feed.show_on(board.publish)
    with tempfile.TemporaryDirectory() as folder:
        held = hold(feed, Path(folder), AT, speed=1000.0)
        _photograph(board.addresses[0])
        held.go_on()
    board.close()


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
