"""May what the microphone hears be our own voice? Shut while our words sound and for a tail after.

Tones do not shut it: they are no words. With a headset the stylist may break in: the gate stays
open: what is no louder than our own voice leaking into its microphone becomes a hiss, and turned
away is what repeats our words of that moment, or is no whole command.
"""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass
from statistics import median

from assistant.edges.level import hiss, loudness

TAIL = 0.4  # seconds in which the room still answers
STEM = 4  # letters: our "rinse" comes back as "rinsed"
REPEATS = 0.5  # of the words heard are ours of that moment: then it is our own sentence
NEAR = 1.0  # seconds by which a word may sound beside its place in the sentence
LEAKS = 100  # blocks of our own speech whose loudness is remembered: ten seconds
LEAST_LEAKS = 10
LOUDER = 12.0  # dB above the middle of the leak: louder is not our voice
WORD_ENDS = 0.3  # seconds after something loud: a soft end of a word is theirs too
HISS = hiss(3, 4800)  # a tenth of a second at the highest rate
REMEMBERED = 4  # sentences: an utterance may span several


@dataclass(slots=True)
class Spoken:
    """A sentence of ours."""

    began: float
    words: list[str]
    seconds: float  # that it takes if nothing cuts it
    ended: float = float("inf")

    def sounds(self, start: float, end: float) -> bool:
        """Whether any of it is in the room in this span."""
        return start < self.ended + TAIL and end > self.began

    def said(self, start: float, end: float) -> set[str]:
        """Its words near this span, if it is spoken evenly."""
        each = self.seconds / max(1, len(self.words))
        places = ((self.began + n * each, word) for n, word in enumerate(self.words))
        return {word for at, word in places if start - NEAR - each <= at <= end + NEAR}


class Gate:
    """Set by the voice, asked by the ears; times are salon seconds."""

    def __init__(self, *, headset: bool = False) -> None:
        """Open."""
        self._headset = headset
        self._lock = threading.Lock()
        self._spoken: deque[Spoken] = deque(maxlen=REMEMBERED)
        self._leaks: deque[float] = deque(maxlen=LEAKS)
        self._theirs_until = float("-inf")

    def speaks(self, at: float, text: str, seconds: float) -> None:
        """The words of a sentence begin to sound."""
        with self._lock:
            self._spoken.append(Spoken(at, _words(text), seconds))

    def silent(self, at: float) -> None:
        """They ended; nothing is shut for a sentence that never sounded."""
        with self._lock:
            if self._spoken:
                self._spoken[-1].ended = min(self._spoken[-1].ended, at)

    def shut(self, start: float, end: float) -> bool:
        """Whether sound of this span must not be listened to."""
        return not self._headset and bool(self._sounding(start, end))

    def without_leak(self, samples: bytes, start: float, end: float) -> bytes:
        """By headset, while we speak: a hiss in place of what may be our own voice."""
        if not self._headset or not self._sounding(start, end):
            return samples
        level = loudness(samples)
        self._leaks.append(level)
        known = len(self._leaks) >= LEAST_LEAKS
        if known and level > median(self._leaks) + LOUDER:
            self._theirs_until = end + WORD_ENDS
        return samples if start < self._theirs_until else HISS[: len(samples) // 2].tobytes()

    def own(self, text: str, start: float, end: float, *, whole: bool) -> bool:
        """Whether an utterance of this span is what we said ourselves.

        Half of our words come back as others or as pieces of commands (measured), hence `whole`.
        """
        sounding = self._sounding(start, end)
        heard = _words(text)
        if not sounding or not heard:
            return False
        ours = {word[:STEM] for spoken in sounding for word in spoken.said(start, end)}
        return not whole or sum(word[:STEM] in ours for word in heard) >= REPEATS * len(heard)

    def _sounding(self, start: float, end: float) -> list[Spoken]:
        with self._lock:
            return [spoken for spoken in self._spoken if spoken.sounds(start, end)]


def _words(text: str) -> list[str]:
    return "".join(c if c.isalpha() or c == "'" else " " for c in text.lower()).split()
