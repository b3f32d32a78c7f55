"""A rehearsal with two clients, played up to a moment and held there for a board to show."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from pathlib import Path

from assistant import app
from assistant.core.salon import Salon
from assistant.edges import script_files
from assistant.edges.board_feed import Feed
from assistant.edges.clock import VirtualClock
from assistant.edges.paced_clock import PacedClock
from assistant.hub import Hub

PATIENCE = 60.0  # seconds until a rehearsal that nobody lets go on goes on by itself


@dataclass(frozen=True, slots=True)
class Held:
    """A rehearsal that stands still; `go_on` lets it play to its end."""

    salon: Salon
    _playing: threading.Thread
    _go_on: threading.Event

    def go_on(self) -> None:
        """Play the rest."""
        self._go_on.set()
        self._playing.join(PATIENCE)


def hold(feed: Feed, folder: Path, at: float, speed: float) -> Held:
    """Play until a salon second; returns when the board was told of it."""
    at_rest, go_on = threading.Event(), threading.Event()
    hubs: list[Hub] = []

    def rest() -> None:
        at_rest.set()
        go_on.wait(PATIENCE)

    def built(hub: Hub, clock: VirtualClock) -> None:
        hubs.append(hub)
        feed.attach(hub, clock.now)
        clock.at(at, lambda: (feed.ask(), clock.at(at, rest)))

    book = app.read_book()
    rehearsal = app.rehearsal(
        script_files.load("two-clients"),
        book,
        app.typed_hearing(book),
        app.GuessedVoice().seconds_of,
        folder,
        clock=lambda: PacedClock(speed),
        built=built,
    )
    playing = threading.Thread(target=rehearsal.play, daemon=True)
    playing.start()
    if not at_rest.wait(PATIENCE):
        raise AssertionError(f"the rehearsal did not come to {at:g} s")
    return Held(hubs[0].salon, playing, go_on)
