"""Where sound goes: what the voice needs of a loudspeaker, and a silent one that keeps it all."""

from __future__ import annotations

from array import array
from collections.abc import Callable
from typing import Protocol

BLOCK = 0.05  # seconds: a sentence can be cut after any block
WAKE = 0.2  # seconds of silence first: sleeping outputs swallow the first syllable


class Loudspeaker(Protocol):
    """An open output. Every method may raise `DeviceError`."""

    @property
    def rate(self) -> int:
        """Samples a second that it takes."""

    def play(self, block: array[int]) -> None:
        """Take a block; returns when there is room for the next."""

    def drain(self) -> None:
        """Return when everything taken has sounded."""

    def hush(self) -> None:
        """Forget what was taken and has not sounded."""

    def close(self) -> None:
        """Let go of the device. Never raises."""


class SilentLoudspeaker:
    """Takes sound at once and keeps it, for tests and for machines without a sound card."""

    rate = 22_050

    def __init__(self, hears: Callable[[array[int]], None] | None = None) -> None:
        """`hears` is told every block before it is taken; it may raise as a device does."""
        self._hears = hears
        self.taken: array[int] = array("h")
        self.hushed = 0
        self.closed = False

    def play(self, block: array[int]) -> None:
        if self._hears is not None:
            self._hears(block)
        self.taken.extend(block)

    def drain(self) -> None:
        """Everything has sounded already."""

    def hush(self) -> None:
        self.hushed += 1

    def close(self) -> None:
        self.closed = True
