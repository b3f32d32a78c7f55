"""A virtual clock that takes its time: a rehearsal to watch, `speed` times as fast as life."""

from __future__ import annotations

import queue
from collections.abc import Callable
from typing import TypeVar

from assistant.edges.clock import VirtualClock, blocking_get, boottime

Item = TypeVar("Item")
TICK = 0.1  # seconds of the wall between two looks at the inbox
HAIR = 1e-4  # so close before a moment the jump is left to the virtual clock, which knows the order


class PacedClock(VirtualClock):
    """Hands out the same things at the same salon times, but waits for them."""

    def __init__(
        self,
        speed: float,
        wall: Callable[[], float] = boottime,
        get: Callable[[queue.Queue[Item], float], Item | None] = blocking_get,
    ) -> None:
        """`speed`: salon seconds in a second of the wall."""
        super().__init__()
        self._speed = speed
        self._wall = wall
        self._get: Callable[..., object] = get

    def wait(self, inbox: queue.Queue[Item], until: float | None) -> Item | None:
        """The next of: waiting item, agenda, deadline, once its time has come."""
        while inbox.empty() and (coming := self._coming(until)) is not None:
            left = (coming - self.now()) / self._speed
            if left <= HAIR:
                break
            began = self._wall()
            item = self._get(inbox, min(TICK, left))
            passed = (self._wall() - began) * self._speed
            self.jump(min(coming - HAIR * self._speed / 2, self.now() + passed))
            if item is not None:
                return item  # type: ignore[return-value] # what the inbox holds
        return super().wait(inbox, until)

    def _coming(self, until: float | None) -> float | None:
        moments = [m for m in (until, self.next_on_agenda()) if m is not None]
        return min(moments, default=None)
