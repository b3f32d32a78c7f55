"""A session with a board, for the tests: a real hub in its thread, on a clock the test moves."""

from __future__ import annotations

import http.client
import json
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from assistant.core.events import ClockDue, DeviceLost, Heard, SessionStarted
from assistant.core.numbers import spoken
from assistant.core.phrases import Phrases
from assistant.core.recipe import Recipe
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.core.script import At
from assistant.edges.board import Board
from assistant.edges.board_feed import Feed
from assistant.edges.journal import Journal
from assistant.edges.paced_clock import PacedClock
from assistant.edges.service_sheets import ServiceSheets
from assistant.edges.virtual_voice import VirtualVoice
from assistant.edges.word_files import load_commands, load_phrases
from assistant.hub import Hub
from assistant.rehearsal import ScriptedEars
from tests.core.recipes import TWO_ZONES
from tests.core.service import GATE
from tests.wake import WAKE

ALMOST_STILL = 1e-6  # salon seconds in a second of the wall
PATIENCE = 10.0
CHAIRS = 12


class Session:
    """One session; `feed` makes its frames, `touch` its presses."""

    def __init__(
        self, folder: Path, recipe: Recipe = TWO_ZONES, phrases: Phrases | None = None
    ) -> None:
        self.clock = PacedClock(ALMOST_STILL)
        self.clock.at(1e9, lambda: None)  # a clock with nothing to come would end the loop
        voice = VirtualVoice(self.clock, lambda say, text: 2.0)
        self.hub = Hub(
            Salon(load_commands(), {recipe.name: recipe}, CHAIRS, SalonRule()),
            phrases or load_phrases(),
            clock=self.clock,
            journal=Journal.create(folder, self.clock.moment, reserve=0),
            voice=voice,
            ears=ScriptedEars(self.clock),
            records=ServiceSheets(folder),
        )
        self.hub.watch(lambda event, effects: voice.ended(event))
        self.feed = Feed(ALMOST_STILL)
        self.feed.attach(self.hub, self.clock.now)
        self._recipe = recipe.name
        self._beating = self.feed.beating()
        threading.Thread(target=self.hub.run, daemon=True).start()
        self._beating.__enter__()
        self.do(lambda: self.hub.handle(SessionStarted(0.0, 0.0, CHAIRS, ())))

    def do(self, errand: Callable[[], object]) -> None:
        """On the hub's thread; back when it is done."""
        done: Future[None] = Future()

        def job() -> None:
            errand()
            done.set_result(None)

        self.hub.inbox.put(job)
        done.result(PATIENCE)

    def hear(self, *lines: str) -> None:
        """Said with the wake word."""
        for line in lines:
            now = self.clock.now()
            text = f"{WAKE} {line}"
            self.do(lambda text=text, now=now: self.hub.handle(Heard(now, text, now)))

    def head(self, number: int = 2) -> None:
        """A client in this chair, with the clock of the nape running from now."""
        chair, on = f"chair {spoken(number)}", "root bowl is mixed,starting nape,nape is on"
        for line in (f"start {self._recipe}", *GATE, *on.split(",")):
            self.hear(f"{chair} {line}")

    def to(self, time: str) -> None:
        """Let this salon time come."""
        seconds = At.parse(time).seconds

        def move() -> None:
            while (moment := self.hub.salon.next_moment()) is not None and moment <= seconds:
                self.clock.jump(moment)
                self.hub.handle(ClockDue(moment))
            self.clock.jump(seconds)

        self.do(move)

    def lose(self) -> None:
        """The microphone goes away."""
        self.do(lambda: self.hub.handle(DeviceLost(self.clock.now(), "microphone")))

    def hang(self) -> threading.Event:
        """The hub's thread hangs until this is set."""
        release, hanging = threading.Event(), threading.Event()

        def job() -> None:
            hanging.set()
            release.wait(60.0)

        self.hub.inbox.put(job)
        assert hanging.wait(PATIENCE)
        return release

    def close(self) -> None:
        """The end of the session."""
        self.hub.inbox.put(self.hub.stop)
        self._beating.__exit__(None, None, None)


def ask(
    board: Board, method: str, path: str, body: str = "", address: str = "127.0.0.1", **headers: str
) -> tuple[int, dict[str, str], Any]:
    """One request as a page would make it: status, headers, JSON if there is any."""
    line = http.client.HTTPConnection(
        address, board.port, timeout=PATIENCE, source_address=(address, 0)
    )
    host = f"{address}:{board.port}"
    usual = {"Host": host, "Origin": f"http://{host}", "Content-Type": "application/json"}
    sent = usual | {name.replace("_", "-"): value for name, value in headers.items()}
    line.request(method, path, body or None, sent)
    answer = line.getresponse()
    found = dict(answer.getheaders())
    streams = found.get("Content-Type") == "text/event-stream"
    text = b"" if streams else answer.read()
    line.close()
    return answer.status, found, json.loads(text) if text.startswith(b"{") else None


@contextmanager
def frames(board: Board) -> Iterator[http.client.HTTPResponse]:
    """An open page: its stream of events."""
    line = http.client.HTTPConnection("127.0.0.1", board.port, timeout=PATIENCE)
    line.request("GET", "/events")
    with line.getresponse() as stream:
        yield stream
    line.close()


def next_news(stream: http.client.HTTPResponse) -> dict[str, Any]:
    """The next frame with its age, past the signs of life."""
    while line := stream.readline():
        if line.startswith(b"data: {"):
            news: dict[str, Any] = json.loads(line[6:])
            return news
    raise AssertionError("the stream ended")
