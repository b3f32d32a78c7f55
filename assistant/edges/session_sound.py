"""One WAV of a whole session: what was heard and what was said, long silences shortened.

A 45-minute service has some minutes of sound in it. By default a silence is cut to a second or
so, with one soft tick for every minute left out, so that one still hears time pass.
"""

from __future__ import annotations

from array import array
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assistant.core.events import Priority
from assistant.edges import tones
from assistant.edges.resample import resample
from assistant.edges.wav_files import Sound

RATE = 16_000
SILENCE = 1.0  # seconds that stay of a long silence
TICKS_APART = 0.25  # seconds between the ticks of minutes left out
MOST_TICKS = 12  # of one silence: nobody counts more, and three seconds of ticks are enough
LOUDEST = 32_000


@dataclass(frozen=True, slots=True)
class Piece:
    """A sound at a time of the session."""

    at: float
    sound: Sound

    @property
    def ends_at(self) -> float:
        """When it is over."""
        return self.at + self.sound.seconds


@dataclass(frozen=True, slots=True)
class SessionSound:
    """The mixed session, and where its times went: (session seconds, file seconds) in order."""

    sound: Sound
    places: tuple[tuple[float, float], ...]

    def file_time(self, at: float) -> float:
        """Where a time of the session is in the file; between two places in proportion."""
        index = bisect_right(self.places, at, key=lambda place: place[0])
        if index == 0:
            return 0.0
        (a, fa), (b, fb) = self.places[index - 1], self.places[min(index, len(self.places) - 1)]
        return fa if b <= a else fa + (at - a) * (fb - fa) / (b - a)


class Studio:
    """Prepares pieces at the session's rate; a sentence said twice is converted once."""

    def __init__(self) -> None:
        """Nothing is converted yet."""
        self._known: dict[int, tuple[Sound, Sound]] = {}  # by identity, which the pair keeps alive

    def heard(self, at: float, sound: Sound) -> Piece:
        """A recording."""
        return Piece(at, self._converted(sound))

    def said(
        self, at: float, priority: Priority, words: Sound, seconds: float | None = None
    ) -> Piece:
        """A sentence after its tone; only `seconds` of it if it was cut."""
        samples = tones.lead(priority, RATE).samples + self._converted(words).samples
        if seconds is not None:
            samples = samples[: round(seconds * RATE)]
        return Piece(at, Sound(RATE, samples))

    def _converted(self, sound: Sound) -> Sound:
        known = self._known.get(id(sound))
        if known is None:
            known = self._known[id(sound)] = (sound, resample(sound, RATE))
        return known[1]


def mix(pieces: Iterable[Piece], ends_at: float, *, full_length: bool = False) -> SessionSound:
    """Everything in one sound at 16 kHz; two sounds at a time are added, never clipped."""
    ordered = sorted(pieces, key=lambda piece: piece.at)
    samples = array("h")
    places = [(0.0, 0.0)]
    for first, last, together in _stretches(ordered):
        samples.extend(_silence(first - places[-1][0], full_length))
        places.append((first, len(samples) / RATE))
        samples.extend(_added(together, first, last))
        places.append((last, len(samples) / RATE))
    samples.extend(_silence(max(0.0, ends_at - places[-1][0]), full_length))
    places.append((max(ends_at, places[-1][0]), len(samples) / RATE))
    return SessionSound(Sound(RATE, samples), tuple(places))


def _stretches(ordered: Sequence[Piece]) -> Iterable[tuple[float, float, list[Piece]]]:
    """Pieces that touch or overlap, with the times between which something sounds."""
    together: list[Piece] = []
    last = 0.0
    for piece in ordered:
        if together and piece.at > last:
            yield together[0].at, last, together
            together = []
        together.append(piece)
        last = max(last, piece.ends_at) if len(together) > 1 else piece.ends_at
    if together:
        yield together[0].at, last, together


def _silence(seconds: float, full_length: bool) -> array[int]:
    """As long as it was, or a second with a tick for every minute left out (twelve at most)."""
    if full_length or seconds <= 2 * SILENCE:
        return array("h", bytes(2 * round(seconds * RATE)))
    pause, tick = array("h", bytes(round(SILENCE * RATE))), tones.tick(RATE).samples
    rest = array("h", bytes(2 * (round(TICKS_APART * RATE) - len(tick))))
    return pause + (tick + rest) * min(int(seconds // 60), MOST_TICKS) + pause


def _added(together: list[Piece], first: float, last: float) -> array[int]:
    if len(together) == 1:
        return together[0].sound.samples
    total = [0] * round((last - first) * RATE + 1)
    for piece in together:
        start = round((piece.at - first) * RATE)
        for place, value in enumerate(piece.sound.samples, start):
            total[place] += value
    peak = max(map(abs, total))
    if peak > LOUDEST:
        total = [value * LOUDEST // peak for value in total]
    return array("h", total)
