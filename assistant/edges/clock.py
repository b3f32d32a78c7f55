"""What time is it in the salon? The only place that asks the time.

Salon time is seconds on one line that starts with the session. It runs on CLOCK_BOOTTIME, so
clock steps, time zones and sleep of the laptop do not bend it; after a new boot it goes on
from UTC, and says so when that is doubtful.
"""

from __future__ import annotations

import heapq
import itertools
import queue
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol, TypeVar

from assistant.core.events import Resumed
from assistant.core.moment import Moment, away_between

Item = TypeVar("Item")

TICK = 0.25  # never one long sleep: after a suspend the deadline is looked at within a tick


class Clock(Protocol):
    """What the hub needs of a clock."""

    def now(self) -> float:
        """Salon time."""

    def moment(self) -> Moment:
        """Every reading at once, for the journal."""

    def resume(self, last: Moment) -> Resumed:
        """Go on from the last record of a journal; the event says how long we were away."""

    def wait(self, inbox: queue.Queue[Item], until: float | None) -> Item | None:
        """The next item, or None when `until` (salon time) has come. A due deadline goes first."""


def boottime() -> float:
    """Seconds since boot, sleep counted. Where the system has none: the monotonic clock."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


def _boot_id() -> str:
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text("ascii").strip()
    except OSError:
        return ""


def _has_rtc() -> bool:
    return Path("/sys/class/rtc/rtc0").exists()


@dataclass(frozen=True, slots=True)
class Sources:
    """The raw readings of a machine. Another machine may be put in their place."""

    boottime: Callable[[], float] = boottime
    utc: Callable[[], float] = time.time
    boot_id: Callable[[], str] = _boot_id
    rtc: Callable[[], bool] = _has_rtc


def blocking_get(inbox: queue.Queue[Item], seconds: float) -> Item | None:
    """The next item, or None after so many seconds."""
    try:
        return inbox.get(timeout=seconds) if seconds > 0 else inbox.get_nowait()
    except queue.Empty:
        return None


class SystemClock:
    """Salon time on a running machine."""

    def __init__(
        self,
        sources: Sources | None = None,
        get: Callable[[queue.Queue[Item], float], Item | None] = blocking_get,
    ) -> None:
        self._sources = sources or Sources()
        self._get: Callable[..., object] = get
        self._boot_id = self._sources.boot_id()  # cannot change while this process lives
        self._rtc = self._sources.rtc()
        self._zero = self._sources.boottime()  # boottime at salon time 0

    def now(self) -> float:
        """Salon time."""
        return self._sources.boottime() - self._zero

    def moment(self) -> Moment:
        """Every reading at once."""
        boottime = self._sources.boottime()
        return Moment(
            boottime - self._zero, self._sources.utc(), boottime, self._boot_id, self._rtc
        )

    def resume(self, last: Moment) -> Resumed:
        """Put this clock on the line of an earlier run."""
        here = self.moment()
        away = away_between(last, here)
        self._zero = here.boottime - (last.salon + away.seconds)
        return Resumed(last.salon + away.seconds, away.seconds, away.certain)

    def wait(self, inbox: queue.Queue[Item], until: float | None) -> Item | None:
        """Ticks against an absolute deadline; a due deadline goes before a waiting item."""
        while True:
            left = TICK if until is None else until - self.now()
            if left <= 0:
                return None
            item = self._get(inbox, min(TICK, left))
            if item is not None:
                return item  # type: ignore[return-value] # what the inbox holds


class VirtualClock:
    """Time that stands still while anybody works and jumps to whatever comes next.

    `at(time, item)` puts an item on the agenda; `wait` hands it over when its time has come.
    """

    def __init__(self, start: float = 0.0, utc_at_zero: float = 1_767_254_400.0) -> None:
        self._now = start
        self._utc_at_zero = utc_at_zero  # 2026-01-01 08:00: every rehearsal on the same day
        self._agenda: list[tuple[float, int, object]] = []
        self._order = itertools.count()

    def now(self) -> float:
        """Salon time."""
        return self._now

    def moment(self) -> Moment:
        """Every reading at once; a virtual machine never restarts."""
        return Moment(self._now, self._utc_at_zero + self._now, self._now, "virtual")

    def resume(self, last: Moment, away_seconds: float = 0.0) -> Resumed:
        """Go on where the last record stands: nobody was away unless the script says so."""
        self._now = last.salon + away_seconds
        return Resumed(self._now, away_seconds, certain=True)

    def jump(self, to: float) -> None:
        """Move to a later time; an earlier one is ignored (time never goes back)."""
        self._now = max(self._now, to)

    def at(self, when: float, item: object) -> None:
        """Hand `item` out by `wait` once `when` has come; equal times in order of asking."""
        heapq.heappush(self._agenda, (when, next(self._order), item))

    def next_on_agenda(self) -> float | None:
        """When the next item of the agenda is due."""
        return self._agenda[0][0] if self._agenda else None

    def wait(self, inbox: queue.Queue[Item], until: float | None) -> Item | None:
        """The next of: waiting item, agenda, deadline. `queue.Empty` if nothing can ever come."""
        if until is not None and until <= self._now:
            return None
        if not inbox.empty():
            return inbox.get_nowait()
        if self._agenda and (until is None or self._agenda[0][0] <= until):
            when, _, item = heapq.heappop(self._agenda)
            self.jump(when)
            return item  # type: ignore[return-value] # the agenda holds what the inbox would
        if until is None:
            raise queue.Empty
        self.jump(until)
        return None
