"""Is the microphone there? Blocks of sound with the time they came, its going and coming back.

An unplugged device is not reported by anyone: it just falls silent. So no block for a second
means lost; every two seconds it is looked for again, by name.
"""

from __future__ import annotations

import contextlib
import queue
from collections.abc import Callable
from dataclasses import dataclass

from assistant.core.events import DeviceBack, DeviceLost, Event
from assistant.edges.sound_card import Card, Input
from assistant.errors import DeviceError

SILENT = 1.0  # seconds without a block: lost
RETRY = 2.0


@dataclass(frozen=True, slots=True)
class Frame:
    """A tenth of a second of 16-bit mono sound that had come in by `at` (salon time)."""

    at: float
    samples: bytes
    rate: int


class Microphone:
    """Keeps a microphone open. One thread calls `look` a few times a second."""

    def __init__(
        self, card: Card, name: str, now: Callable[[], float], tell: Callable[[Event], None]
    ) -> None:
        """Nothing is open yet; `tell` takes DeviceLost and DeviceBack from any thread."""
        self.frames: queue.Queue[Frame] = queue.Queue()
        self.lost = False
        self._card, self._name, self._now, self._tell = card, name, now, tell
        self._input: Input | None = None
        self._generation = -1
        self._heard_at = now()
        self._tried_at = now()
        self._overflows = 0

    @property
    def overflows(self) -> int:
        """Blocks that came too late to be taken, since the start."""
        return self._overflows + (self._input.overflows if self._input else 0)

    def start(self) -> None:
        """Open it; `DeviceError` says what is missing."""
        self._open()
        self._heard_at = self._now()

    def look(self) -> None:
        """Notice a loss, look for what is lost, notice that it is back."""
        now = self._now()
        if self._input is not None and self._generation != self._card.generation:
            self._reopen()  # somebody looked for devices anew: our stream ended with it
        silent = now - self._heard_at
        if not self.lost and silent > SILENT:
            self.lost = True
            self._tried_at = now
            self.close()
            self._tell(DeviceLost(now, "microphone"))
        elif self.lost and silent <= SILENT:
            self.lost = False
            self._tell(DeviceBack(now, "microphone"))
        elif self.lost and now - self._tried_at >= RETRY:
            self._tried_at = now
            self._reopen(refresh=True)

    def close(self) -> None:
        """Let go."""
        if self._input is not None:
            self._overflows += self._input.overflows
            self._input.close()
            self._input = None

    def _reopen(self, *, refresh: bool = False) -> None:
        self.close()
        with contextlib.suppress(DeviceError):  # not there: tried again in two seconds
            if refresh:
                self._card.refresh()
            self._open()

    def _open(self) -> None:
        self._generation = self._card.generation
        self._input = self._card.open_input(self._name, self._take)

    def _take(self, samples: bytes) -> None:
        """On the card's thread: nothing here may fail or take long."""
        self._heard_at = now = self._now()
        # a tenth of a second tells its own rate (16-bit samples)
        self.frames.put(Frame(now, samples, 5 * len(samples)))
