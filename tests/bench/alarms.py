"""`python -m tests.bench.alarms`: how often an alarm of the scalp is heard, and as what.

"It burns", "it stings" and the others, by the four voices that no speech model of ours learned
from, with the wake word in open mode and without it where a check listens for answers; clean and
beside a dryer, water or chatter. All of it is synthetic. Needs the extra `forge`.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator

from assistant import app
from assistant.core.events import Mode
from assistant.core.guesses import ALARM
from assistant.core.intents import Intent, understand
from assistant.edges.hearing import RecordedHearing
from assistant.edges.recogniser import Model, blocks, bundled_model
from assistant.forge.fixtures_studio import Studio
from assistant.forge.wake import SCENES, VOICES, Scene, in_a_room

OUTCOMES = ("alarm", "something else", "not taken")  # the first that comes out counts
CHAIRS = 4


def heard(hearing: RecordedHearing, sound: bytes, mode: Mode) -> str:
    """What comes of one recording: an alarm wherever in it, another command, or neither."""
    found, listener = set(), hearing.listener(mode)
    for block in blocks(sound):
        if text := listener.feed(block):
            found.add(meant(hearing, text, mode))
            listener = hearing.listener(mode)
    found.add(meant(hearing, listener.finish(), mode))
    return next(outcome for outcome in OUTCOMES if outcome in found)


def meant(hearing: RecordedHearing, text: str, mode: Mode) -> str:
    """One utterance; what is asked for again or passed over as talk is not taken."""
    said = understand(text, hearing.words, hearing.names, mode, woken=False)
    if not isinstance(said, Intent):
        return "not taken"
    return "alarm" if said.name == ALARM else "something else"


def counts() -> Iterator[tuple[str, dict[Scene, Counter[str]]]]:
    """With the wake word, then without: outcomes for each scene."""
    book, studio = app.read_book(), Studio()
    hearing = RecordedHearing(Model(bundled_model()), book.words, book.names(CHAIRS))
    ways: tuple[tuple[str, Mode, str], ...] = (
        ("with the wake word", "open", f"{book.words.wake.capitalize()}, "),
        ("without it, in a check", "check", ""),
    )
    for name, mode, before in ways:
        found: dict[Scene, Counter[str]] = {scene: Counter() for scene in SCENES}
        lines = [
            (voice, studio.cast.say(f"{before}{phrase}.", voice, 1.0))
            for voice in VOICES
            for phrase in book.words.command(ALARM).phrases
        ]
        for seed, (voice, line) in enumerate(lines):
            sounds = in_a_room(line, voice, SCENES, seed, studio)
            for scene, sound in zip(SCENES, sounds, strict=True):
                found[scene][heard(hearing, sound, mode)] += 1
        yield name, found


def main() -> int:
    for name, found in counts():
        print(f"\n{name}: {' / '.join(OUTCOMES)}")
        for (noise, ratio), outcomes in found.items():
            scene = noise if ratio is None else f"{noise} {ratio:g} dB"
            print(f"| {scene} | {' / '.join(str(outcomes[o]) for o in OUTCOMES)} |", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
