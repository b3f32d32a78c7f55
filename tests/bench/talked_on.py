"""`python -m tests.bench.talked_on`: what begins like a command and goes on as talk.

"Crown is on the phone again", with the wake word before it, by the four voices that no speech model
of ours learned from, clean and beside a dryer, water or chatter. Nothing of it should be acted on.
What is counted is a command acted on before the rest was heard. All of it is synthetic. Needs the
extra `forge`.
"""

from __future__ import annotations

import itertools
import sys
from collections import Counter

from assistant import app
from assistant.core.endings import Attention
from assistant.edges.hearing import RecordedHearing
from assistant.edges.recogniser import Model, bundled_model, hear
from assistant.edges.recordings import CLEAN
from assistant.forge.fixtures_studio import Studio
from assistant.forge.wake import VOICES, Scene, in_a_room

COMMANDS = (
    "crown is on", "nape is on", "chair two, roots is on", "start root tap", "rinsing now",
    "all rinsed", "gloves are on", "undo that", "stop the clock on the crown",
    "give it ten minutes", "chair one, it is ready", "not yet", "go on", "next", "it burns",
    "leave out the ends", "root bowl is mixed", "as wished", "call the stylist", "no alert test",
)  # fmt: skip
REST = (
    "the phone again", "and then we went to the seaside", "for my sister on Sunday",
    "if you want to know", "but I told her not to", "the shelf beside the towels",
    "because the bus was late", "when you come back tomorrow", "that is what he said",
)  # fmt: skip
SCENES: tuple[Scene, ...] = ((CLEAN, None), ("dryer", 20.0), ("water", 12.0), ("chatter", 12.0))
CHAIRS = 4


def counts(hearing: RecordedHearing) -> Counter[Scene]:
    """In each scene: how many were acted on, of as many as there are commands."""
    studio, acted = Studio(), Counter[Scene]()
    attention = Attention(hearing.words, hearing.names, "open")
    wake = hearing.words.wake.capitalize()
    turns = zip(COMMANDS, itertools.cycle(REST), itertools.cycle(VOICES), strict=False)
    for seed, (command, rest, voice) in enumerate(turns):
        line = studio.cast.say(f"{wake}, {command} {rest}.", voice, 1.0)
        for scene, sound in zip(SCENES, in_a_room(line, voice, SCENES, seed, studio), strict=True):
            text = hear(hearing.listener("open"), sound).text
            acted[scene] += attention.meaning(text) is not None
    return acted


def main() -> int:
    book = app.read_book()
    hearing = RecordedHearing(Model(bundled_model()), book.words, book.names(CHAIRS))
    for (noise, ratio), times in counts(hearing).items():
        scene = noise if ratio is None else f"{noise} {ratio:g} dB"
        print(f"{scene}: {times} of {len(COMMANDS)} acted on")
    return 0


if __name__ == "__main__":
    sys.exit(main())
