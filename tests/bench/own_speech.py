"""`python -m tests.bench.own_speech --hours 2`: does it act on what it says itself?

Every sentence of the rehearsals and every fixed one, with its tone, comes back into the
microphone with short reflections, late by what a sound card takes, and is fed to the ears as fast
as they go, in every listening mode in turn. Four ways: the gate of a loudspeaker; a headset whose
microphone hears its speaker 20 dB down; a headset setting used at a loudspeaker, which nobody
should; and no gate at all, which shows that the test can fail.
"""

from __future__ import annotations

import argparse
import itertools
import random
import re
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

import numpy

from assistant import app
from assistant.core.events import Event, Heard, Mode, Priority
from assistant.core.intents import Intent, understand
from assistant.edges import tones
from assistant.edges.ears import Ears
from assistant.edges.gate import Gate
from assistant.edges.microphone import Frame
from assistant.edges.played_room import FLOOR, REFLECTIONS
from assistant.edges.recogniser import RATE, Model, bundled_model
from assistant.edges.renderer import Renderer
from assistant.edges.resample import resample

CHAIRS = 4
GOLDEN = Path(__file__).parents[1] / "rehearsals" / "golden"
SAID = re.compile(r"^[\d:]+ .*? (said|call) +(.+)$")
LATE = 0.15  # seconds from the loudspeaker to a block in the ears (a virtual card, measured)
BETWEEN = 1.5  # seconds between two sentences
FULL = 32767


@dataclass(frozen=True)
class Way:
    """One manner of listening to oneself."""

    name: str
    headset: bool
    gated: bool
    level: float


WAYS = (
    Way("loudspeaker, gate", headset=False, gated=True, level=1.0),
    Way("headset, 20 dB down", headset=True, gated=True, level=0.1),
    Way("headset mode at a loudspeaker", headset=True, gated=True, level=1.0),
    Way("no gate at all", headset=True, gated=False, level=1.0),
)


@dataclass
class Sentence:
    """Words with their sound before the microphone; the tone comes first."""

    text: str
    sound: numpy.ndarray
    begins: float  # seconds of tone
    seconds: float


def sentences(book: app.Book, renderer: Renderer) -> list[Sentence]:
    """Everything that was said in a rehearsal, every fixed phrase, and tones alone."""
    found = dict.fromkeys(app.fixed_phrases(book), Priority.GUIDE)
    for path in sorted(GOLDEN.glob("*.txt")):
        for line in path.read_text().splitlines():
            if said := SAID.match(line):
                found[said[2]] = Priority.GUIDE if said[1] == "said" else Priority.LIMIT
    made = [_sentence(text, priority, renderer) for text, priority in found.items() if text.strip()]
    alone = [_sentence("", priority, renderer) for priority in Priority] * 10
    random.Random(1).shuffle(mixed := made + alone)
    return mixed


def _sentence(text: str, priority: Priority, renderer: Renderer) -> Sentence:
    tone = numpy.array(tones.lead(priority, RATE).samples, dtype=float)
    words = numpy.zeros(0)
    if text:
        words = numpy.array(resample(renderer.render(text), RATE).samples, dtype=float)
    dry = numpy.concatenate([tone, words, numpy.zeros(round(0.3 * RATE))])
    wet = numpy.zeros_like(dry)
    for delay, level in REFLECTIONS:
        shift = round(delay * RATE)
        wet[shift:] += level * dry[: len(dry) - shift]
    return Sentence(text, wet, len(tone) / RATE, len(words) / RATE)


def listen(way: Way, said: list[Sentence], hours: float, model: Model, book: app.Book) -> str:
    """One line of figures."""
    names = book.names(CHAIRS)
    heard: list[tuple[str, Heard]] = []
    gate = Gate(headset=way.headset)
    now = [""]

    def tell(event: Event) -> None:
        if isinstance(event, Heard):
            heard.append((now[0], event))

    ears = Ears(model, book.words, names, gate, tell)
    modes = itertools.cycle(get_args(Mode))
    at, sounded = 0.0, 0.0
    acted: Counter[str] = Counter()
    for sentence in itertools.cycle(said):
        if at >= hours * 3600:
            break
        mode = next(modes)
        ears.listen(mode)
        now[0] = sentence.text
        before = len(heard)
        begins, ends = at + sentence.begins, at + sentence.begins + sentence.seconds
        for frame in _frames(sentence, at, way.level):
            if way.gated and sentence.text and frame.at - 0.1 <= begins < frame.at:
                gate.speaks(begins, sentence.text, sentence.seconds)
            if frame.at - 0.1 <= ends < frame.at:
                gate.silent(ends)
            ears.take(frame)
            at = frame.at
        sounded += sentence.begins + sentence.seconds
        for text, event in heard[before:]:
            meant = understand(event.text, book.words, names, mode, event.woken)
            if isinstance(meant, Intent):
                acted[book.words.command(meant.name).risk] += 1
            print(f"   {way.name}, {mode}: {event.text!r} in {text!r}", flush=True)
    counts = f"{len(heard)} utterances passed on, commands {dict(acted)}"
    return f"{way.name}: {at / 3600:.2f} h, of it {sounded / 3600:.2f} h sounding: {counts}"


def _frames(sentence: Sentence, at: float, level: float) -> Iterator[Frame]:
    quiet = numpy.zeros(round(LATE * RATE)), numpy.zeros(round(BETWEEN * RATE))
    whole = numpy.concatenate([quiet[0], sentence.sound * level, quiet[1]])
    hiss = numpy.random.default_rng(len(sentence.text)).uniform(-FLOOR, FLOOR, len(whole))
    samples = numpy.clip(whole + hiss, -FULL, FULL).astype("<i2")
    for start in range(0, len(samples) - RATE // 10 + 1, RATE // 10):
        block = samples[start : start + RATE // 10]
        yield Frame(at + (start + len(block)) / RATE, block.tobytes(), RATE)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.own_speech", description=__doc__)
    parser.add_argument("--hours", type=float, default=2.0, help="of each way")
    parser.add_argument("--way", choices=[way.name for way in WAYS], help="only this one")
    asked = parser.parse_args()
    model, book = Model(bundled_model()), app.read_book()
    said = sentences(book, Renderer())
    print(f"{len(said)} sentences and tones, modes {', '.join(get_args(Mode))}")
    for way in WAYS:
        if asked.way in (None, way.name):
            print(listen(way, said, asked.hours, model, book), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
