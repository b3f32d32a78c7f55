"""Between hub and board: a frame for every beat of the hub's own thread, and presses to it.

A beat is an errand in the hub's inbox. If the hub hangs, the errand waits, no frame is made and
every board says that it is stale; a press says that nobody answered and is taken back.
"""

from __future__ import annotations

import logging
import queue
import re
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from dataclasses import replace
from typing import Literal, Protocol

from assistant.core.board_frame import Frame
from assistant.core.events import Effect, Event, Heard, Say, Touched
from assistant.core.intents import UNKNOWN
from assistant.core.salon import Salon
from assistant.core.snapshot import snapshot
from assistant.errors import DeviceError

log = logging.getLogger(__name__)
BEAT_SECONDS = 1.0
PATIENCE = 3.0  # seconds in which the hub must have answered a press
_BUTTONS: dict[str, Literal["heard", "rinsing"]] = {"heard": "heard", "rinsing": "rinsing"}
_NUMBER = re.compile(r"\b(is client|client number) .+")  # a wall is no place for who sits where
_PRIVATE = frozenset({"confirm_client"})
Watcher = Callable[[Event, Sequence[Effect]], None]


class Hub(Protocol):
    """What the feed needs of the hub."""

    salon: Salon
    inbox: queue.Queue[Event | Callable[[], None]]

    def watch(self, watcher: Watcher) -> None:
        """Be told of every event."""

    def handle(self, event: Event) -> None:
        """Take an event, on the hub's thread."""

    def sentence(self, say: Say) -> str:
        """The words of a sentence."""


class Feed:
    """Makes the frames of one session."""

    def __init__(self, speed: float = 1.0) -> None:
        """Attached to no hub yet; `speed`: salon seconds in a second of the wall."""
        self._boards: list[Callable[[Frame], None]] = []
        self._speed = speed
        self._hub: Hub | None = None
        self._now: Callable[[], float] = lambda: 0.0
        self._beat = 0
        self._asked = False
        self._over = False
        self._heard = self._said = self._answer = ""

    def show_on(self, publish: Callable[[Frame], None]) -> None:
        """Let the frames go there too; it must not block."""
        self._boards.append(publish)

    @property
    def wanted(self) -> bool:
        """Whether anybody looks."""
        return bool(self._boards)

    def attach(self, hub: Hub, now: Callable[[], float]) -> None:
        """Look at this hub from now on (a rehearsed restart builds a new one)."""
        self._hub, self._now, self._asked = hub, now, False
        hub.watch(self._watch)
        self.ask()

    @contextmanager
    def beating(self) -> Iterator[None]:
        """A thread asks the hub for a beat, again and again; at the end the last frame."""
        stopped = threading.Event()

        def beat() -> None:
            while not stopped.wait(BEAT_SECONDS):
                self.ask()

        threading.Thread(target=beat, name="beat", daemon=True).start()
        try:
            yield
        finally:
            stopped.set()
            self.end()

    def ask(self) -> None:
        """Ask the hub for a beat, unless it has not even given the last one."""
        if self._hub is not None and not self._asked:
            self._asked = True
            self._hub.inbox.put(self._look)

    def end(self) -> None:
        """The session is over: the last frame says so."""
        self._over = True
        self._look()

    def touch(self, chair: int, button: str) -> str:
        """Press a button, from any thread: what was said to it.

        `DeviceError` if the hub does not answer; then the press is taken back.
        """
        hub, future = self._hub, Future[str]()
        if hub is None or self._over:
            raise DeviceError("no session runs: start one with 'swatchword listen --board'")

        def press() -> None:
            if future.set_running_or_notify_cancel():
                self._answer = ""
                hub.handle(Touched(self._now(), chair, _BUTTONS[button]))
                future.set_result(self._answer)

        hub.inbox.put(press)
        try:
            return future.result(PATIENCE)
        except TimeoutError as error:
            if future.cancel():
                raise DeviceError("the session does not answer: say it instead") from error
            return future.result(PATIENCE)

    def _watch(self, event: Event, effects: Sequence[Effect]) -> None:
        """On the hub's thread, after every event."""
        said = " ".join(self._sentence(effect) for effect in effects if isinstance(effect, Say))
        if isinstance(event, Heard) and event.text:
            self._heard = _NUMBER.sub(r"\1 ...", event.text.replace(UNKNOWN, "..."))
        if isinstance(event, Touched):
            where = f"chair {event.chair} " if event.chair else ""
            self._heard = f"(pressed) {where}{event.intent}"
            self._answer = said.strip()
        self._said = said.strip() or self._said
        self.ask()

    def _sentence(self, say: Say) -> str:
        """On the hub's thread: a sentence that cannot be made is the hub's trouble, not ours."""
        if self._hub is None or say.phrase in _PRIVATE:
            return ""
        try:
            return self._hub.sentence(say)
        except Exception:
            log.exception("the board got no sentence")
            return ""

    def _look(self) -> None:
        """On the hub's thread. Whatever goes wrong with a board, the clocks go on."""
        self._asked = False
        if self._hub is None:
            return
        try:
            view = replace(snapshot(self._hub.salon), at=self._now())
            self._beat += 1
            frame = Frame(self._beat, view, self._heard, self._said, self._speed, self._over)
            for publish in self._boards:
                publish(frame)
        except Exception:
            log.exception("the board got no frame")
