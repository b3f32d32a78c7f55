"""A session at the chair: microphone, ears, hub and voice, connected and run.

On a machine every part has its thread and all talk to the hub through its inbox. The same parts
run without threads on the virtual clock and a room of recordings: hours of sound in minutes,
with the same result every time.
"""

from __future__ import annotations

import logging
import queue
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol, TypeVar

from assistant.core.events import Event, SessionStarted
from assistant.core.moment import Moment
from assistant.edges.clock import VirtualClock
from assistant.edges.ears import Ears
from assistant.edges.journal import Journal
from assistant.edges.journal_lines import Record
from assistant.edges.microphone import Frame, Microphone
from assistant.edges.played_room import PlayedRoom
from assistant.edges.voice import Voice
from assistant.hub import Hub

log = logging.getLogger(__name__)
LOOK = 0.25  # seconds between two looks at a silent microphone
TICK = 0.1
PATIENCE = 3.0  # seconds that a thread has to end
Item = TypeVar("Item")


class Clock(Protocol):
    """What a session needs of a clock."""

    def now(self) -> float:
        """Salon time."""

    def moment(self) -> Moment:
        """Every reading at once."""

    def resume(self, last: Moment) -> Event:
        """Go on from an earlier run."""

    def wait(self, inbox: queue.Queue[Item], until: float | None) -> Item | None:
        """The next item, or None when `until` has come."""


@dataclass(frozen=True, slots=True)
class Taught:
    """Who is taught in a session, and how far at each step."""

    trainee: str = ""
    levels: tuple[tuple[str, int], ...] = ()


NOBODY = Taught()


@dataclass(frozen=True, slots=True)
class Parts:
    """What a session is made of. `tell` of every edge is `Post`."""

    clock: Clock
    hub: Hub
    journal: Journal
    microphone: Microphone
    ears: Ears
    voice: Voice


class Post:
    """Carries events to the hub's thread; there they get their time, so time never goes back."""

    def __init__(self, now: Callable[[], float]) -> None:
        """Nobody to deliver to yet."""
        self.hub: Hub | None = None
        self._now = now

    def __call__(self, event: Event) -> None:
        """From any thread."""
        if self.hub is not None:
            hub = self.hub
            hub.inbox.put(lambda: hub.handle(replace(event, at=self._now())))


class Live:
    """One session."""

    def __init__(
        self,
        parts: Parts,
        chairs: int,
        recipes: tuple[tuple[str, str], ...],
        records: Sequence[Record] = (),
        taught: Taught = NOBODY,
    ) -> None:
        """Connected, not begun; `records` of the journal that goes on; `taught` is a trainee."""
        self.parts = parts
        self._chairs, self._recipes, self._records = chairs, recipes, records
        self._taught = taught
        self.stopped = threading.Event()

    def begin(self) -> None:
        """Say hello, or go on where the journal ends."""
        parts = self.parts
        if not self._records:
            moment = parts.clock.moment()
            parts.hub.handle(
                SessionStarted(
                    moment.salon,
                    moment.utc,
                    self._chairs,
                    self._recipes,
                    self._taught.trainee,
                    self._taught.levels,
                )
            )
            return
        parts.voice.muted = True  # it was all said before
        parts.hub.replay([record.event for record in self._records])
        parts.voice.muted = False
        lost = parts.hub.salon.lost  # what is there again by now will be told as back
        parts.microphone.lost, parts.voice.lost = "microphone" in lost, "loudspeaker" in lost
        parts.hub.handle(parts.clock.resume(self._records[-1].moment))

    def run(self) -> None:
        """Until `stop`; the caller's thread is the hub's. Without a microphone the clocks go on."""
        parts = self.parts
        parts.microphone.start()
        threads = [
            threading.Thread(target=self._hear, name="ears", daemon=True),
            threading.Thread(
                target=parts.voice.run, args=(self.stopped,), name="voice", daemon=True
            ),
        ]
        for thread in threads:
            thread.start()
        try:
            parts.hub.run()
        finally:
            self.stopped.set()
            for thread in threads:
                thread.join(PATIENCE)
            self.close()

    def stop(self) -> None:
        """End the session; from any thread."""
        self.stopped.set()
        self.parts.hub.inbox.put(self.parts.hub.stop)

    def close(self) -> None:
        """Let go of every device and of the journal."""
        self.parts.microphone.close()
        self.parts.voice.close()
        self.parts.journal.close()

    def _hear(self) -> None:
        """The ears' thread: it alone touches the speech model."""
        parts = self.parts
        while not self.stopped.is_set():
            frame = _next(parts.microphone.frames)
            try:
                if frame is not None:
                    parts.ears.take(frame)
                parts.microphone.look()
            except Exception:  # deaf for one block, not for the rest of the day
                log.exception("listening failed")

    # -------------------------------------------------------- on recordings

    def run_in(self, room: PlayedRoom, clock: VirtualClock, until: float) -> None:
        """Without threads, tick by tick of the room, up to a time of the virtual clock."""
        parts = self.parts
        parts.microphone.start()

        def tick() -> None:
            room.tick()
            while (frame := _next(parts.microphone.frames, wait=False)) is not None:
                parts.ears.take(frame)
            parts.microphone.look()
            while not room.full and parts.voice.pump() == 0.0:
                pass
            if clock.now() < until:
                clock.at(clock.now() + TICK, tick)
            else:
                parts.hub.stop()

        clock.at(clock.now() + TICK, tick)
        parts.hub.run()


def _next(frames: queue.Queue[Frame], *, wait: bool = True) -> Frame | None:
    try:
        return frames.get(timeout=LOOK) if wait else frames.get_nowait()
    except queue.Empty:
        return None
