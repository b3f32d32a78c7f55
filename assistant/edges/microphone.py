"""Is the microphone there? Blocks of sound with the time they came, its going and coming back.

An unplugged device is not reported by anyone: it just falls silent. So no block for a second
means lost; every two seconds it is looked for again, by name. A machine that stood still for a
moment (asleep, or too busy) says nothing about its microphone.
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
SLOW_START = 3.0  # seconds that a device may take for its first block
RETRY = 2.0
STOOD_STILL = 0.8  # seconds between two looks: we did not run, so nobody could hear


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
        self._heard_at = self._tried_at = self._looked_at = now()
        self._overflows = 0

    @property
    def overflows(self) -> int:
        """Blocks that came too late to be taken, since the start."""
        return self._overflows + (self._input.overflows if self._input else 0)

    def start(self) -> None:
        """Open it. One that is not there is told as lost, and looked for like any other."""
        try:
            self._input = self._card.open_input(self._name, self._take)
        except DeviceError:
            self.lost, self._heard_at = True, float("-inf")
            self._tell(DeviceLost(self._now(), "microphone"))
            return
        self._heard_at = max(self._heard_at, self._now() + SLOW_START - SILENT)

    def look(self) -> None:
        """Notice a loss, look for what is lost, notice that it is back."""
        now = self._now()
        if now - self._looked_at > STOOD_STILL and not self.lost:
            self._heard_at = max(self._heard_at, now)
        self._looked_at = now
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
            self._reopen()
            self._tried_at = self._looked_at = self._now()

    def close(self) -> None:
        """Let go."""
        if self._input is not None:
            self._overflows += self._input.overflows
            self._input.close()
            self._input = None

    def _reopen(self) -> None:
        """Each opening looks for devices afresh; the loudspeaker does not notice."""
        self.close()
        with contextlib.suppress(DeviceError):  # not there: tried again in two seconds
            self._input = self._card.open_input(self._name, self._take)

    def _take(self, samples: bytes) -> None:
        """On the card's thread: nothing here may fail or take long."""
        self._heard_at = now = self._now()
        # a tenth of a second tells its own rate (16-bit samples)
        self.frames.put(Frame(now, samples, 5 * len(samples)))
