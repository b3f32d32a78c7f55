"""What if the machine sleeps, restarts or has its clock set? One on which an hour takes no time.

`SystemClock(machine.sources(), machine.get)` runs on it unchanged, tick by tick.
"""

from __future__ import annotations

import heapq
import itertools
import queue
from collections.abc import Callable
from typing import TypeVar

from assistant.edges.clock import Sources

Item = TypeVar("Item")
INSTANT = 1e-6  # time passes even while waiting for less than a float can tell


class SimulatedMachine:
    """Only `true` cannot be wrong; everything else is what programs are told."""

    def __init__(self, utc: float = 1_767_254_400.0, rtc: bool = True) -> None:
        self.true = 0.0
        self._utc_ahead = utc  # UTC minus true time
        self._booted = 0.0
        self._boot = 1
        self._rtc = rtc
        self._agenda: list[tuple[float, int, Callable[[], None]]] = []
        self._order = itertools.count()

    def sources(self) -> Sources:
        """The raw readings of this machine."""
        return Sources(
            boottime=lambda: self.true - self._booted,
            utc=lambda: self.true + self._utc_ahead,
            boot_id=lambda: f"boot {self._boot}",
            rtc=lambda: self._rtc,
        )

    def step_utc(self, seconds: float) -> None:
        """Somebody sets the clock."""
        self._utc_ahead += seconds

    def set_utc(self, utc: float) -> None:
        """The clock shows something else altogether."""
        self._utc_ahead = utc - self.true

    def sleep(self, seconds: float) -> None:
        """The lid is closed: no program runs, boottime and UTC go on."""
        self.true += seconds

    def restart(self, off_seconds: float, start_seconds: float = 20.0) -> None:
        """Power off, then on; without a real-time clock UTC goes on where it stood."""
        self.true += off_seconds
        if not self._rtc:
            self._utc_ahead -= off_seconds
        self._booted = self.true
        self._boot += 1
        self.true += start_seconds

    def at(self, when: float, happening: Callable[[], None]) -> None:
        """At this true time (or at the first tick after it) something happens."""
        heapq.heappush(self._agenda, (when, next(self._order), happening))

    def get(self, inbox: queue.Queue[Item], seconds: float) -> Item | None:
        """Wait on this machine: the next item, or None after so many seconds or a happening."""
        if not inbox.empty():
            return inbox.get_nowait()
        until = self.true + max(INSTANT, seconds)
        if self._agenda and self._agenda[0][0] <= until:
            when, _, happening = heapq.heappop(self._agenda)
            self.true = max(self.true, when)
            happening()
            return None if inbox.empty() else inbox.get_nowait()
        self.true = until
        return None
