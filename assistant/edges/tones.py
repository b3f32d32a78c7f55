"""Which short tone comes before the words? Pulses by priority, our own sounds.

The structure is in the style of alarm standards: more and faster pulses when it is more urgent,
a fundamental with four or more harmonics, so that it is heard through a dryer and by somebody
who no longer hears high notes. No compliance is claimed. Figures, quoted at second hand from
tables 3 and 4 of IEC 60601-1-8: urgent 5 + 5 pulses of 75 to 200 ms, 50 to 125 ms apart, the two
fives 0.35 to 1.30 s apart; medium 3 pulses 125 to 250 ms apart; low 1 or 2 pulses.
"""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass
from functools import cache

from assistant.core.events import Priority
from assistant.edges.wav_files import Sound

PAUSE = 0.15  # seconds between tone and words
RAMP = 0.010  # seconds of rise and fall of a pulse: no click
HARMONICS = (1.0, 0.8, 0.65, 0.5, 0.4)  # of the fundamental, twice it, three times it ...
FULL = 32767


@dataclass(frozen=True, slots=True)
class Tone:
    """A row of pulses: pitch of each in hertz, 0 for the long gap; times in seconds."""

    pitches: tuple[float, ...]
    pulse: float
    spacing: float
    level: float  # peak, of full scale
    gap: float = 0.0

    @property
    def seconds(self) -> float:
        """Its length without the pause after it."""
        pulses = sum(pitch > 0 for pitch in self.pitches)
        gaps = len(self.pitches) - pulses
        spacings = len(self.pitches) - 1 - 2 * gaps
        return pulses * self.pulse + gaps * self.gap + spacings * self.spacing


_FIVE = (740.0, 740.0, 554.0, 740.0, 554.0)
TONES = {
    Priority.LIMIT: Tone((*_FIVE, 0.0, *_FIVE), pulse=0.09, spacing=0.055, level=0.6, gap=0.36),
    Priority.DUE: Tone((440.0, 440.0, 554.0), pulse=0.12, spacing=0.127, level=0.45),
    Priority.CHECK: Tone((494.0, 370.0), pulse=0.15, spacing=0.14, level=0.3),
}


def seconds(priority: Priority) -> float:
    """How long the tone and its pause put off the words; answers and guidance have none."""
    tone = TONES.get(priority)
    return tone.seconds + PAUSE if tone else 0.0


@cache
def lead(priority: Priority, rate: int) -> Sound:
    """The tone of a priority and the pause after it."""
    samples = array("h")
    tone = TONES.get(priority)
    if tone is not None:
        for place, pitch in enumerate(tone.pitches):
            if not pitch:
                samples.extend(_silence(tone.gap, rate))
                continue
            if place and tone.pitches[place - 1]:
                samples.extend(_silence(tone.spacing, rate))
            samples.extend(_pulse(pitch, tone.pulse, tone.level, rate))
        samples.extend(_silence(PAUSE, rate))
    return Sound(rate, samples)


@cache
def beep(rate: int) -> Sound:
    """What stands in for words that could not be made: three falling notes, unlike any tone."""
    samples = array("h")
    for pitch in (880.0, 622.0, 440.0):
        samples.extend(_pulse(pitch, 0.25, 0.6, rate))
    return Sound(rate, samples)


@cache
def tick(rate: int) -> Sound:
    """A soft tick: a skipped minute in the sound of a session."""
    return Sound(rate, _pulse(220.0, 0.03, 0.12, rate))


def _silence(length: float, rate: int) -> array[int]:
    return array("h", bytes(2 * round(length * rate)))


def _pulse(pitch: float, length: float, level: float, rate: int) -> array[int]:
    count, ramp = round(length * rate), round(min(RAMP, length / 2) * rate)
    turn = 2 * math.pi * pitch / rate
    wave = [
        sum(loud * math.sin(turn * n * i) for n, loud in enumerate(HARMONICS, start=1))
        * _envelope(i, count, ramp)
        for i in range(count)
    ]
    scale = level * FULL / max(map(abs, wave))
    return array("h", (round(value * scale) for value in wave))


def _envelope(place: int, count: int, ramp: int) -> float:
    """Raised cosine at both ends."""
    edge = min(place, count - 1 - place)
    return 1.0 if edge >= ramp else 0.5 - 0.5 * math.cos(math.pi * edge / ramp)
