"""`python -m tests.bench.chatter_corpus TARGET`: hours of talk and noise that is no command.

Makes folders of ten-minute streams (16 kHz FLAC, and beside each a .jsonl of what is said when):

  human_NAME    clips of people from a folder with a manifest.jsonl (--people), with pauses
  readers_NAME  the clips of a corpus file of the forge (--held-out) that were not for training;
                single words in strings of one speaker
  talk          invented small talk (chatter_texts.yaml), WordNet's example sentences and requests
                of other rooms, by espeak-ng and flite, in small rooms, quiet or over a dryer, water
                or six other voices at 5 to 25 dB
  noise_NAME    dryer, water and six voices alone, and the recorded noises of --people

None of it is shipped. Needs the extra `forge`, and espeak-ng, flite and wordnet-base of Debian. The
same seed makes the same streams; the texts, voices and rooms were never used to choose anything.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from assistant.errors import AssistantError
from assistant.forge import fixtures_noise as noises
from assistant.forge import fixtures_room as rooms
from assistant.forge import texts
from assistant.forge.fixtures_room import HZ, Wave
from assistant.forge.fixtures_voices import cut_to_speech
from assistant.forge.recordings import read_wave
from assistant.forge.synth import run_tool
from tests.bench.chatter_people import STREAM, Stream, held_out, people, quiet

TEXTS = Path(__file__).with_name("chatter_texts.yaml")
SALON, SENTENCES = 0.6, 0.85  # of the lines are of the salon; from there to here, WordNet's
ACCENTS = (
    "en-gb en-gb-scotland en-gb-x-gbclan en-gb-x-rp en-gb-x-gbcwmd en-us en-us-nyc en-029".split()
)
TIMBRES = "m1 m2 m3 m4 m5 m6 m7 m8 f1 f2 f3 f4 f5 klatt2 klatt4 grandma grandpa".split()
FLITE = ("slt", "rms", "awb", "kal16")
FLITE_SHARE = 0.35
BEHIND = ("quiet", "dryer", "water", "chatter")
RATIOS = (5.0, 25.0)  # dB
SPEECH_DBFS = (-32.0, -22.0)
NOISE_DBFS = (-45.0, -25.0)
ROOMS, BACKGROUND = 40, 60.0  # so many rooms; seconds of a noise before it comes again
SENTENCE_PAUSE, TURN_PAUSE = (0.15, 0.9), (0.3, 2.5)  # seconds


# ---------------------------------------------------------------------- machines


@dataclass(frozen=True, slots=True)
class Voice:
    """A synthesiser with its settings; `name` says them."""

    name: str
    command: tuple[str, ...]
    room: Wave

    def say(self, text: str, level: float) -> Wave:
        """In its room, as loud as that (dB of full scale)."""
        with tempfile.TemporaryDirectory() as folder:
            out = str(Path(folder) / "said.wav")
            run_tool([part.format(text=text, out=out) for part in self.command], self.command[0])
            said, rate = soundfile.read(out)
        said = cut_to_speech(noises.resample(said, rate, HZ))
        heard = rooms.reverberate(said, self.room)
        return heard * 10 ** ((level - noises.level_db(heard[: len(said)])) / 20)


def any_voice(draw: random.Random, places: Sequence[Wave]) -> Voice:
    """Another voice, speed and pitch each time."""
    room = draw.choice(places)
    if draw.random() < FLITE_SHARE:
        voice, stretch = draw.choice(FLITE), draw.uniform(0.85, 1.2)
        said = ("flite", "-voice", voice, "--setf", f"duration_stretch={stretch:.2f}")
        return Voice(f"flite {voice} {stretch:.2f}", (*said, "-t", "{text}", "{out}"), room)
    voice = f"{draw.choice(ACCENTS)}+{draw.choice(TIMBRES)}"
    speed, pitch = draw.randint(135, 200), draw.randint(30, 65)
    said = ("espeak-ng", "-v", voice, "-s", str(speed), "-p", str(pitch), "-w", "{out}", "{text}")
    return Voice(f"espeak {voice} {speed} {pitch}", said, room)


class Lines:
    """What is said."""

    def __init__(self, draw: random.Random) -> None:
        """Another order for another draw."""
        self._draw = draw
        self._salon, self._requests = texts.Requests(TEXTS), texts.Requests()
        self._sentences = texts.sentences()

    def next(self) -> str:
        """One more line."""
        share = self._draw.random()
        if share < SALON:
            return self._salon.line(self._draw)
        if share < SENTENCES:
            return self._draw.choice(self._sentences)
        return self._requests.line(self._draw)


def background(name: str, lines: Lines, draw: random.Random, places: Sequence[Wave]) -> Wave:
    """A minute of a noise, at level 1."""
    seeded = np.random.default_rng(draw.randrange(2**32))
    if name == "dryer":
        made = noises.dryer(BACKGROUND, seeded)
    elif name == "water":
        made = noises.water(BACKGROUND, seeded)
    else:
        voices = [any_voice(draw, places) for _ in range(noises.CHATTER_VOICES)]
        talkers = [
            np.concatenate([voice.say(lines.next(), -20.0) for _ in range(6)]) for voice in voices
        ]
        made = noises.chatter(BACKGROUND, talkers, seeded)
    return made / made.std()


def talk(target: Path, hours: float, seed: int) -> None:
    """Two or three people a stream, in turns, over one of the noises."""
    places = list(_places(seed))
    for number in range(round(hours * 3600 / STREAM)):
        name = BEHIND[number % len(BEHIND)]
        draw = random.Random(f"{seed} {number}")
        lines, stream = Lines(draw), Stream()
        voices = [any_voice(draw, places) for _ in range(draw.choice((2, 2, 3)))]
        level, ratio = draw.uniform(*SPEECH_DBFS), draw.uniform(*RATIOS)
        place = target / "talk" / f"{number:03d}_{name}.flac"
        if place.exists():
            continue
        while stream.seconds < STREAM:
            voice = draw.choice(voices)
            for _ in range(draw.randint(1, 4)):
                text = lines.next()
                stream.add(voice.say(text, level), voice.name, text)
                stream.add(quiet(draw, SENTENCE_PAUSE))
            stream.add(quiet(draw, TURN_PAUSE))
        behind = None if name == "quiet" else background(name, lines, draw, places)
        stream.write(place, None if behind is None else behind * 10 ** ((level - ratio) / 20))
        print(place.name, f"{stream.seconds:.0f} s", flush=True)


def _places(seed: int) -> Iterator[Wave]:
    draw = np.random.default_rng(seed)
    for _ in range(ROOMS):
        yield rooms.impulse_response(rooms.draw_room(draw), draw)


# ---------------------------------------------------------------------- noise


def noise(target: Path, hours: float, seed: int, folder: Path | None) -> None:
    """So many hours of each kind alone, at levels that change every minute."""
    places = list(_places(seed))
    draw = random.Random(seed)
    recorded = list(_recorded(folder)) if folder else []
    for name in ("dryer", "water", "chatter", *(("recorded",) if recorded else ())):
        for number in range(round(hours * 3600 / STREAM)):
            stream = Stream()
            while stream.seconds < STREAM:
                if name == "recorded":
                    made = draw.choice(recorded)
                else:
                    made = background(name, Lines(draw), draw, places)
                stream.add(made * 10 ** ((draw.uniform(*NOISE_DBFS)) / 20))
            stream.write(target / f"noise_{name}" / f"{number:03d}.flac")


def _recorded(folder: Path) -> Iterator[Wave]:
    for line in (folder / "manifest.jsonl").read_text(encoding="utf-8").splitlines():
        one = json.loads(line)
        if one["kind"] == "noise":
            sound = read_wave(folder / one["path"]) / 32768
            yield sound / (sound.std() + 1e-6)


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.chatter_corpus",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("target", type=Path, help="folder to fill; what is there already is kept")
    parser.add_argument("--people", type=Path, help="folder with manifest.jsonl and its clips")
    parser.add_argument("--held-out", type=Path, nargs="*", default=[], help="corpus files, .jsonl")
    parser.add_argument("--talk", type=float, default=8.0, help="hours")
    parser.add_argument("--noise", type=float, default=0.5, help="hours of each kind")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    try:
        if asked.people:
            people(asked.people, asked.target)
        for index in asked.held_out:
            held_out(index, asked.target)
        noise(asked.target, asked.noise, asked.seed, asked.people)
        talk(asked.target, asked.talk, asked.seed)
    except AssistantError as problem:
        print(problem)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
