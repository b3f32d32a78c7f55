"""Which word should wake it? How often each candidate is missed, and how often talk sounds like it.

Missed: the word alone and before commands, by voices the speech model never learned from, in a
small room, clean and beside a dryer. All of them are synthetic. Accepted falsely: an utterance
of other people's talk whose first word is taken for it, in open mode with the whole language, on
human recordings and on sentences by simple synthesisers, kept apart.
"""

from __future__ import annotations

import logging
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from assistant.core.intents import Names, Words
from assistant.edges.hearing import RecordedHearing
from assistant.edges.recogniser import Model, blocks
from assistant.forge import corpus
from assistant.forge import fixtures_noise as noises
from assistant.forge import fixtures_room as rooms
from assistant.forge.fixtures_room import HZ, Wave
from assistant.forge.fixtures_voices import ESPEAK_VOICES, FLITE_VOICES, Cast

log = logging.getLogger("forge")
CANDIDATES = ("juniper", "tangerine", "periwinkle", "cinnabar", "marigold", "saffron")
VOICES = ("af_sarah", "am_michael", "bf_isabella", "bm_george")
AFTER = ("", ", how long", ", rinsing now", ", chair two, crown is on")
SPEEDS = (0.95, 1.12)
RATIOS: tuple[float | None, ...] = (None, 10.0, 6.0)
ROOMS = 2  # each spoken line is heard in so many rooms
LEAD, TAIL = 0.4, 1.4  # seconds of room around a line
SPEECH_DBFS = -27.0
HUMAN = (("wuw", ("test", "tune")), ("librispeech", ("test",)))  # not learned from
PAUSE = 0.6  # seconds between two sentences of talk
FASTER = 1.1


@dataclass(slots=True)
class Row:
    """One candidate. `missed` is (times, of) for each ratio; `woken` (times, hours) by talk."""

    word: str
    missed: dict[float | None, tuple[int, int]] = field(default_factory=dict)
    woken: dict[str, tuple[int, float]] = field(default_factory=dict)

    def cells(self) -> list[str]:
        """Its part of the table."""
        cells = [self.word]
        cells += [f"{100 * times / of:.1f} % of {of}" for times, of in self.missed.values()]
        return cells + [f"{times} in {hours:.2f} h" for times, hours in self.woken.values()]


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


# ---------------------------------------------------------------------- missed


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


# -------------------------------------------------------------- falsely accepted


def human_talk(folder: Path, source: str, splits: Sequence[str], hours: float) -> bytes:
    """So many hours of a corpus, drawn by seed, with a breath between the clips."""
    index = folder / f"{source}.jsonl"
    samples = corpus.read_samples(index)
    clips = [clip for clip in corpus.read_index(index) if clip.split in splits]
    random.Random(1).shuffle(clips)
    pause = noises.dither(round(PAUSE * HZ), np.random.default_rng(1))
    breath = (pause * 32767).astype(np.int16)
    pieces, length = [], 0
    for clip in clips:
        if length >= hours * 3600 * HZ:
            break
        piece = samples[clip.offset : clip.offset + clip.length]
        pieces += [piece, breath]
        length += len(piece) + len(breath)
    return bytes(np.concatenate(pieces).astype("<i2").tobytes())


def machine_talk(texts: Sequence[str], hours: float, cast: Cast) -> bytes:
    """Sentences by simple, quick synthesisers, one voice after the other."""
    voices = (*FLITE_VOICES, *ESPEAK_VOICES)
    draw = np.random.default_rng(1)
    pieces: list[Wave] = []
    length = 0
    for number, text in enumerate(texts):
        if length >= hours * 3600 * HZ:
            break
        speech = cast.say(text, voices[number % len(voices)], FASTER)
        piece = np.concatenate([speech, np.zeros(round(PAUSE * HZ))])
        pieces.append(piece * 10 ** (SPEECH_DBFS / 20) + noises.dither(len(piece), draw))
        length += len(piece)
    return as_bytes(np.concatenate(pieces))


def sentences(folder: Path) -> list[str]:
    """What the machines say: lines of read books that no model of ours is tested on."""
    index = folder / "librispeech.jsonl"
    found = [clip.text for clip in corpus.read_index(index) if clip.split == "train"]
    random.Random(2).shuffle(found)
    return found


def talk(folder: Path, hours: float, cast: Cast) -> dict[str, bytes]:
    """Every kind of talk, by name; none if no hours are asked for."""
    if not hours:
        return {}
    found = {name: human_talk(folder, name, splits, hours) for name, splits in HUMAN}
    found["machines"] = machine_talk(sentences(folder), hours, cast)
    return found


def table(
    candidates: Sequence[str],
    folder: Path,
    hours: float,
    model: Model,
    words: Words,
    names: Names,
    *,
    spoken_to: bool = True,
) -> Iterator[Row]:
    """One row for each candidate; `spoken_to` False: only what talk does."""
    cast = Cast()
    heard = talk(folder, hours, cast)
    for word in candidates:
        if not model.knows(word):
            log.info("%s: the speech model does not know it", word)
            continue
        ear = Ear(word, model, words, names)
        row = Row(word, missed(ear, spoken(word, cast)) if spoken_to else {})
        for name, sound in heard.items():
            row.woken[name] = ear.wakes(sound), len(sound) / 2 / HZ / 3600
        yield row


def heading(*, spoken_to: bool = True) -> list[str]:
    """Of the table."""
    ratios = ["missed clean" if ratio is None else f"dryer {ratio:g} dB" for ratio in RATIOS]
    return ["wake word", *(ratios if spoken_to else ()), *(name for name, _ in HUMAN), "machines"]
