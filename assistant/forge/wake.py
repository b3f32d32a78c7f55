"""Which word should wake it? How often each candidate is missed.

The word alone and before commands, by voices the speech model never learned from, in a small room,
clean and beside a dryer. All of them are synthetic. How often talk is taken for each candidate is
counted by tests/bench/chatter.py.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from assistant.core.intents import Names, Words
from assistant.edges.hearing import RecordedHearing
from assistant.edges.recogniser import Model, blocks
from assistant.forge import fixtures_noise as noises
from assistant.forge import fixtures_room as rooms
from assistant.forge.fixtures_room import HZ, Wave
from assistant.forge.fixtures_voices import Cast

log = logging.getLogger("forge")
CANDIDATES = ("juniper", "tangerine", "periwinkle", "cinnabar", "marigold", "saffron")
VOICES = ("af_sarah", "am_michael", "bf_isabella", "bm_george")
AFTER = ("", ", how long", ", rinsing now", ", chair two, crown is on")
SPEEDS = (0.95, 1.12)
RATIOS: tuple[float | None, ...] = (None, 10.0, 6.0)
ROOMS = 2  # each spoken line is heard in so many rooms
LEAD, TAIL = 0.4, 1.4  # seconds of room around a line
SPEECH_DBFS = -27.0


@dataclass(frozen=True, slots=True)
class Row:
    """One candidate. `missed` is (times, of) for each ratio."""

    word: str
    missed: dict[float | None, tuple[int, int]]

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


def spoken(word: str, cast: Cast) -> list[Wave]:
    """The word alone and before commands, by every voice at every speed."""
    return [
        cast.say(f"{word.capitalize()}{after}.", voice, speed)
        for voice in VOICES
        for after in AFTER
        for speed in SPEEDS
    ]


def in_a_room(speech: Wave, ratios: Sequence[float | None], seed: int) -> list[bytes]:
    """As a microphone hears it, beside a dryer at each ratio; the same for the same seed."""
    draw = np.random.default_rng(seed)
    heard = rooms.reverberate(speech, rooms.impulse_response(rooms.draw_room(draw), draw))
    quiet = np.concatenate([np.zeros(round(LEAD * HZ)), heard, np.zeros(round(TAIL * HZ))])
    start = round(LEAD * HZ)
    quiet *= 10 ** ((SPEECH_DBFS - noises.level_db(quiet[start : start + len(speech)])) / 20)
    dryer = noises.dryer(len(quiet) / HZ + 0.1, draw)[: len(quiet)]
    dryer *= 10 ** ((SPEECH_DBFS - noises.level_db(dryer)) / 20)
    quiet += noises.dither(len(quiet), draw)
    return [
        as_bytes(quiet if ratio is None else quiet + dryer * 10 ** (-ratio / 20))
        for ratio in ratios
    ]


def as_bytes(sound: Wave) -> bytes:
    """16-bit samples; what is too loud is turned down whole."""
    peak = float(np.abs(sound).max())
    return bytes((sound * min(1.0, 0.9 / peak) * 32767).astype("<i2").tobytes())


def missed(ear: Ear, lines: Sequence[Wave]) -> dict[float | None, tuple[int, int]]:
    """For each ratio: how many of how many lines did not wake it."""
    count = dict.fromkeys(RATIOS, 0)
    for seed, line in enumerate(line for line in lines for _ in range(ROOMS)):
        for ratio, sound in zip(RATIOS, in_a_room(line, RATIOS, seed), strict=True):
            count[ratio] += ear.wakes(sound) == 0
    return {ratio: (times, len(lines) * ROOMS) for ratio, times in count.items()}


def table(candidates: Sequence[str], model: Model, words: Words, names: Names) -> Iterator[Row]:
    """One row for each candidate."""
    cast = Cast()
    for word in candidates:
        if not model.knows(word):
            log.info("%s: the speech model does not know it", word)
            continue
        ear = Ear(word, model, words, names)
        yield Row(word, missed(ear, spoken(word, cast)))


def heading() -> list[str]:
    """Of the table."""
    ratios = ["missed clean" if ratio is None else f"dryer {ratio:g} dB" for ratio in RATIOS]
    return ["wake word", *ratios]
