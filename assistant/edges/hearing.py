"""The two ways a rehearsal hears: recordings through the real recogniser, or typed words."""

from __future__ import annotations

import random
import time
from array import array
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from assistant.core.endings import Attention
from assistant.core.events import Mode
from assistant.core.intents import Names, Words
from assistant.core.language import Language, language
from assistant.core.script import Line
from assistant.edges import wav_files
from assistant.edges.recogniser import RATE, Listener, Model, Utterance, hear
from assistant.edges.recordings import recording_for

SECONDS_PER_WORD = 0.35
DITHER = 12  # peak of the noise floor added to what is fed in: digital silence misleads Vosk
TRAIL = 1.2  # seconds of quiet room after a recording, so that its end can be noticed


class TypedHearing:
    """Every line is understood as written."""

    def __init__(self, words: Words) -> None:
        """`words` for the wake word."""
        self._wake = words.wake

    def seconds(self, line: Line) -> float:
        """As long as it takes to say."""
        return SECONDS_PER_WORD * len(line.words(self._wake).split())

    def hear(self, line: Line, mode: Mode) -> Utterance:
        """The line itself, known half a second after its end."""
        return Utterance(line.words(self._wake).lower(), round((self.seconds(line) + 0.5) * RATE))


@dataclass(slots=True)
class Worked:
    """How much sound was recognised in how much processor time."""

    sound_seconds: float = 0.0
    work_seconds: float = 0.0

    @property
    def real_time_factor(self) -> float:
        """Work over sound; 0 before anything was heard."""
        return self.work_seconds / self.sound_seconds if self.sound_seconds else 0.0


@dataclass(slots=True)
class RecordedHearing:
    """Recordings through the real recogniser."""

    model: Model
    words: Words
    names: Names
    find: Callable[..., Path] = recording_for
    worked: Worked = field(default_factory=Worked)
    _sounds: dict[Path, wav_files.Sound] = field(default_factory=dict)

    def sound(self, line: Line) -> wav_files.Sound:
        """The recording of a line; `ConfigError` if there is none."""
        path = self.find(line.words(self.words.wake), line.voice, line.noise, line.snr_db)
        if path not in self._sounds:
            self._sounds[path] = wav_files.read(path, rate=RATE)
        return self._sounds[path]

    def seconds(self, line: Line) -> float:
        """The length of its recording."""
        return self.sound(line).seconds

    def hear(self, line: Line, mode: Mode) -> Utterance:
        """Decode its recording in this mode."""
        return self.hear_sound(self.sound(line), mode)

    def hear_sound(self, sound: wav_files.Sound, mode: Mode) -> Utterance:
        """Decode any 16 kHz sound in this mode."""
        listener = self.listener(mode)
        began = time.process_time()
        utterance = hear(listener, with_floor(sound))
        self.worked.work_seconds += time.process_time() - began
        self.worked.sound_seconds += sound.seconds
        return utterance

    def listener(self, mode: Mode) -> Listener:
        """Ready for one utterance in this mode."""
        attention = Attention(self.words, self.names, mode)
        return Listener(self.model, self.language, attention)

    @property
    def language(self) -> Language:
        """All that may be said."""
        return language(self.words, self.names)


def with_floor(sound: wav_files.Sound) -> bytes:
    """The samples with a faint, repeatable noise floor and a quiet end."""
    samples = array("h", sound.samples)
    samples.extend([0] * round(TRAIL * RATE))
    rng = random.Random(len(samples))
    noise = array("h", (rng.randint(-DITHER, DITHER) for _ in range(4096)))
    floor = len(noise)
    mixed = array(
        "h",
        (max(-32768, min(32767, s + noise[i % floor])) for i, s in enumerate(samples)),
    )
    return mixed.tobytes()
