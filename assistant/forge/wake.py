"""Which word should wake it? How often each candidate is missed.

The word alone and before commands, by voices the speech model never learned from, in a small room,
clean and beside a dryer, water or chatter. All of them are synthetic. How often talk is taken for
each candidate is counted by tests/bench/chatter.py.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from assistant.core.intents import Names, Words
from assistant.edges.hearing import RecordedHearing
from assistant.edges.recogniser import Model, blocks
from assistant.edges.recordings import CLEAN
from assistant.forge import fixtures_noise as noises
from assistant.forge import fixtures_room as rooms
from assistant.forge.fixtures_room import HZ, Wave
from assistant.forge.fixtures_studio import NOISES, Studio

log = logging.getLogger("forge")
CANDIDATES = ("juniper", "tangerine", "periwinkle", "cinnabar", "marigold", "saffron")
VOICES = ("af_sarah", "am_michael", "bf_isabella", "bm_george")
AFTER = ("", ", how long", ", rinsing now", ", chair two, crown is on")
SPEEDS = (0.95, 1.12)
Scene = tuple[str, float | None]  # a noise, and by how many dB the speech is louder
SCENES: tuple[Scene, ...] = (
    (CLEAN, None),
    *((noise, ratio) for noise in NOISES for ratio in (20.0, 12.0, 6.0, 0.0)),
)
ROOMS = 2  # each spoken line is heard in so many rooms
LEAD, TAIL = 0.4, 1.4  # seconds of room around a line
SPEECH_DBFS = -27.0


@dataclass(frozen=True, slots=True)
class Row:
    """One candidate. `missed` is (times, of) for each scene."""

    word: str
    missed: dict[Scene, tuple[int, int]]

    def cells(self) -> list[str]:
        """Its part of the table."""
        cells = [f"{100 * times / of:.1f} % of {of}" for times, of in self.missed.values()]
        return [self.word, *cells]


class Ear:
    """The recogniser in open mode with one wake word."""

    def __init__(self, word: str, model: Model, words: Words, names: Names) -> None:
        """As a session listens whose wake word is this."""
        self._word = word
        self._hearing = RecordedHearing(model, replace(words, wake=word), names)

    def wakes(self, sound: bytes) -> int:
        """How many utterances begin with the wake word; a new listener for each."""
        count, listener = 0, self._hearing.listener("open")
        for block in blocks(sound):
            text = listener.feed(block)
            if text is not None or listener.before:
                count += self._begins(text or listener.before)
                listener = self._hearing.listener("open")
        return count + self._begins(listener.finish())

    def _begins(self, text: str) -> bool:
        return text.split()[:1] == [self._word]


def spoken(word: str, studio: Studio) -> list[tuple[str, Wave]]:
    """The word alone and before commands, by every voice at every speed; the voice's name first."""
    return [
        (voice, studio.cast.say(f"{word.capitalize()}{after}.", voice, speed))
        for voice in VOICES
        for after in AFTER
        for speed in SPEEDS
    ]


def in_a_room(
    speech: Wave, voice: str, scenes: Sequence[Scene], seed: int, studio: Studio
) -> list[bytes]:
    """As a microphone hears it in each scene; the same for the same seed."""
    draw = np.random.default_rng(seed)
    heard = rooms.reverberate(speech, rooms.impulse_response(rooms.draw_room(draw), draw))
    quiet = np.concatenate([np.zeros(round(LEAD * HZ)), heard, np.zeros(round(TAIL * HZ))])
    start = round(LEAD * HZ)
    quiet *= 10 ** ((SPEECH_DBFS - noises.level_db(quiet[start : start + len(speech)])) / 20)
    quiet += noises.dither(len(quiet), draw)
    behind = {CLEAN: np.zeros(len(quiet))}
    for name in sorted({name for name, _ in scenes} - {CLEAN}):
        noise = studio.noise(name, len(quiet) / HZ + 0.1, voice, draw)[: len(quiet)]
        behind[name] = noise * 10 ** ((SPEECH_DBFS - noises.level_db(noise)) / 20)
    return [as_bytes(quiet + behind[name] * 10 ** (-(ratio or 0.0) / 20)) for name, ratio in scenes]


def as_bytes(sound: Wave) -> bytes:
    """16-bit samples; what is too loud is turned down whole."""
    peak = float(np.abs(sound).max())
    return bytes((sound * min(1.0, 0.9 / peak) * 32767).astype("<i2").tobytes())


def missed(
    ear: Ear, lines: Sequence[tuple[str, Wave]], studio: Studio
) -> dict[Scene, tuple[int, int]]:
    """For each scene: how many of how many lines did not wake it."""
    count = dict.fromkeys(SCENES, 0)
    for seed, (voice, line) in enumerate(line for line in lines for _ in range(ROOMS)):
        sounds = in_a_room(line, voice, SCENES, seed, studio)
        for scene, sound in zip(SCENES, sounds, strict=True):
            count[scene] += ear.wakes(sound) == 0
    return {scene: (times, len(lines) * ROOMS) for scene, times in count.items()}


def table(candidates: Sequence[str], model: Model, words: Words, names: Names) -> Iterator[Row]:
    """One row for each candidate."""
    studio = Studio()
    for word in candidates:
        if not model.knows(word):
            log.info("%s: the speech model does not know it", word)
            continue
        ear = Ear(word, model, words, names)
        yield Row(word, missed(ear, spoken(word, studio), studio))


def heading() -> list[str]:
    """Of the table."""
    scenes = [
        "missed clean" if ratio is None else f"{noise} {ratio:g} dB" for noise, ratio in SCENES
    ]
    return ["wake word", *scenes]
