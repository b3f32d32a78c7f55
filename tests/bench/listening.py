"""`python -m tests.bench.listening latency | own | long`: what the ears do.

latency: true end of speech -> command known, on the shipped (synthetic) recordings.
own: own speech fed back at equal level. long: memory and processor over hours, fed fast.
"""

from __future__ import annotations

import argparse
import dataclasses
import random
import resource
import statistics
import sys
import tempfile
import time
from array import array
from pathlib import Path

from assistant import app
from assistant.core.events import Heard
from assistant.core.intents import Intent, understand
from assistant.edges import hearing, recordings, wav_files
from assistant.edges.clock import VirtualClock
from assistant.edges.ears import Ears
from assistant.edges.gate import Gate
from assistant.edges.microphone import Frame
from assistant.edges.played_room import PlayedRoom
from assistant.edges.recogniser import RATE, Model, blocks, bundled_model
from assistant.edges.renderer import Renderer
from assistant.edges.settings_file import Settings

CHAIRS = 4


def latency(asked: argparse.Namespace) -> None:
    """Only commands that were understood exactly count; the rest is in `swatchword hear`."""
    book = app.read_book()
    hears = app.recorded_hearing(book, Model(bundled_model()), CHAIRS)
    folder = recordings.recordings_folder()
    waits: dict[str, list[float]] = {}
    for one in recordings.read_manifest(folder):
        if one.speech_end is None or not one.text.lower().startswith(book.words.wake):
            continue
        sound = wav_files.read(folder / one.file)
        known = hears.hear_sound(sound, "open")
        meant = understand(known.text, hears.words, hears.names, "open", woken=False)
        if known.text == recordings.spoken_words(one.text) and isinstance(meant, Intent):
            waits.setdefault(one.noise, []).append(known.known_after / RATE - one.speech_end)
    for noise, found in [*waits.items(), ("all", [w for some in waits.values() for w in some])]:
        found.sort()
        p50, p95 = statistics.median(found), found[int(0.95 * (len(found) - 1))]
        print(f"{noise:<8} {len(found):>4} understood, p50 {p50:.2f} s, p95 {p95:.2f} s")


def own(asked: argparse.Namespace) -> None:
    """Every sentence without a blank again and again, echoing in the room."""
    clock, room = VirtualClock(), PlayedRoom(echo=1.0)
    book = app.read_book()
    chair = app.Chair(Model(bundled_model()), room, Renderer().rendered, Settings(), clock)
    live = app.live_session(chair, book, Path(tempfile.mkdtemp()))
    asks = Heard(0.0, f"{book.words.wake} what can i say", 0.0)
    triggered: list[str] = []
    live.parts.hub.watch(
        lambda event, effects: (
            triggered.append(event.text)
            if isinstance(event, Heard) and event.text != asks.text
            else None
        )
    )
    for second in range(8, int(asked.minutes * 60), 8):
        clock.at(
            float(second),
            lambda: live.parts.hub.handle(dataclasses.replace(asks, at=clock.now())),
        )
    live.begin()
    live.run_in(room, clock, asked.minutes * 60.0)
    live.close()
    print(f"{asked.minutes} min of own speech, equal level: {len(triggered)} triggers {triggered}")


def long(asked: argparse.Namespace) -> None:
    """Silence, noise and speech in turn, `minutes` of each."""
    model, book = Model(bundled_model()), app.read_book()
    ears = Ears(model, book.words, book.names(CHAIRS), Gate(), lambda event: None)
    rng = random.Random(1)
    folder = recordings.recordings_folder()
    spoken = [
        hearing.with_floor(wav_files.read(folder / one.file))
        for one in recordings.read_manifest(folder)[:40]
    ]
    noise = array("h", (rng.randint(-1500, 1500) for _ in range(60 * RATE))).tobytes()
    quiet = array("h", (rng.randint(-12, 12) for _ in range(60 * RATE))).tobytes()
    at = 0.0
    for name, sounds in (("silence", [quiet]), ("noise", [noise]), ("speech", spoken)):
        began, work = at, time.process_time()
        while at < began + asked.minutes * 60:
            for block in (b for sound in sounds for b in blocks(sound)):
                at += len(block) / 2 / RATE
                ears.take(Frame(at, block, RATE))
        share = (time.process_time() - work) / (at - began)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{name:<8} {(at - began) / 60:.0f} min: {share:.3f} of a core, peak {memory:.0f} MB")


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.listening", description=__doc__)
    parser.add_argument("what", choices=("latency", "own", "long"))
    parser.add_argument("--minutes", type=int, default=120)
    asked = parser.parse_args()
    {"latency": latency, "own": own, "long": long}[asked.what](asked)
    return 0


if __name__ == "__main__":
    sys.exit(main())
