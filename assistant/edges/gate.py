"""May what the microphone hears be our own voice? Shut while we speak and for a tail after.

With a headset the stylist may break in: the gate stays open and only an utterance that repeats
our own words is turned away.
"""

from __future__ import annotations

import threading

TAIL = 0.4  # seconds in which the room still answers
REPEATS = 0.6  # of the words said: then it is our own sentence


class Gate:
    """Set by the voice, asked by the ears; times are salon seconds."""

    def __init__(self, *, headset: bool = False) -> None:
        """Open."""
        self._headset = headset
        self._lock = threading.Lock()
        self._speaking = False
        self._began = self._ended = float("-inf")
        self._words: frozenset[str] = frozenset()

    def speaks(self, at: float, text: str) -> None:
        """A sentence begins."""
        with self._lock:
            self._speaking, self._began = True, at
            self._words = frozenset(_words(text))

    def silent(self, at: float) -> None:
        """It ended; nothing is shut for a sentence that never sounded."""
        with self._lock:
            if self._speaking:
                self._speaking, self._ended = False, at

    def shut(self, start: float, end: float) -> bool:
        """Whether sound of this span must not be listened to."""
        return not self._headset and self._overlaps(start, end)

    def repeats(self, text: str, start: float, end: float) -> bool:
        """Whether an utterance of this span is what we said ourselves."""
        heard = _words(text)
        if not heard or not self._overlaps(start, end):
            return False
        return sum(word in self._words for word in heard) >= REPEATS * len(heard)

    def _overlaps(self, start: float, end: float) -> bool:
        with self._lock:
            still = self._speaking or start < self._ended + TAIL
            return still and end > self._began


def _words(text: str) -> list[str]:
    return "".join(c if c.isalpha() or c == "'" else " " for c in text.lower()).split()
