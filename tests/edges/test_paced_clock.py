"""The clock of a rehearsal to watch: the same order and times as the one that jumps."""

from __future__ import annotations

import queue
from typing import Any

import pytest

from assistant.edges.clock import VirtualClock
from assistant.edges.paced_clock import TICK, PacedClock


class Wall:
    """A wall clock on which waiting takes exactly as long as it should."""

    def __init__(self) -> None:
        self.now = 100.0
        self.longest = 0.0

    def read(self) -> float:
        return self.now

    def get(self, inbox: queue.Queue[Any], seconds: float) -> Any:
        self.now += seconds
        self.longest = max(self.longest, seconds)
        return None


def walk(clock: VirtualClock) -> list[tuple[float, object]]:
    """Everything it hands out, with deadlines at 4 and 9 s, until nothing is left."""
    inbox: queue.Queue[object] = queue.Queue()
    for when, item in ((7.0, "c"), (2.0, "a"), (4.0, "b")):
        clock.at(when, item)
    deadlines = [4.0, 9.0]
    found: list[tuple[float, object]] = []
    while True:
        try:
            item = clock.wait(inbox, deadlines[0] if deadlines else None)
        except queue.Empty:
            return found
        if item is None:
            deadlines.pop(0)
        found.append((round(clock.now(), 6), item))


def test_it_hands_out_the_same_as_the_clock_that_jumps() -> None:
    wall = Wall()
    assert walk(PacedClock(2.0, wall.read, wall.get)) == walk(VirtualClock())
    assert wall.now == pytest.approx(100.0 + 9.0 / 2.0)
    assert wall.longest <= TICK


def test_what_arrives_meanwhile_comes_at_once_at_its_own_time() -> None:
    wall, inbox = Wall(), queue.Queue[str]()

    def get(inbox: queue.Queue[Any], seconds: float) -> Any:
        wall.now += seconds
        return "pressed" if wall.now >= 101.0 else None

    clock = PacedClock(10.0, wall.read, get)
    clock.at(60.0, "later")
    assert clock.wait(inbox, None) == "pressed"
    assert clock.now() == pytest.approx(10.0, abs=1.0)
