"""How often is a client's number heard right, not at all, or as another client's?

`python -m tests.bench.client_numbers [--lines 96]`: makes the recordings with the workshop's
synthetic voices (extra `forge`), hears them through the bundled model and prints the table. A
number that is heard as another one is the error that matters: it opens somebody else's record.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections import Counter
from pathlib import Path

from assistant import app
from assistant.core import numbers
from assistant.core.intents import Intent, understand
from assistant.edges import wav_files
from assistant.edges.hearing import RecordedHearing
from assistant.edges.recogniser import RATE
from assistant.edges.recordings import CLEAN, spoken_words
from assistant.forge.fixtures_studio import Studio, Wanted
from assistant.forge.fixtures_voices import COMMAND_VOICES
from tests.wake import WAKE

SCENES: tuple[tuple[str, float | None], ...] = (
    (CLEAN, None), ("dryer", 20.0), ("water", 12.0), ("chatter", 12.0),
)  # fmt: skip
WAYS = ("one word", "two digits", "three digits", "four digits")


def client(way: str, draw: random.Random) -> tuple[str, str]:
    """A client's number in figures, and as it is said."""
    if way == "one word":
        number = draw.randint(10, 99)
        return str(number), numbers.spoken(number)
    figures = {"two digits": 2, "three digits": 3, "four digits": 4}[way]
    number = draw.randint(10 ** (figures - 1), 10**figures - 1)
    return str(number), numbers.digits(number)


def run(lines: int) -> int:
    """Make, hear, count."""
    book, studio, draw = app.read_book(), Studio(), random.Random("client numbers")
    hearing = RecordedHearing(app.load_model(None, book, 4), book.words, book.names(4))
    counted: Counter[tuple[str, str]] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for turn in range(lines):
            way = WAYS[turn % len(WAYS)]
            noise, snr = SCENES[turn // len(WAYS) % len(SCENES)]
            wanted, said = client(way, draw)
            chair = draw.randint(1, 4)
            text = f"{WAKE.capitalize()}, chair {numbers.spoken(chair)} is client {said}"
            line = Wanted(text, draw.choice(COMMAND_VOICES), noise, snr, "commands")
            kept = studio.record(line, Path(folder))
            outcome = heard(hearing, Path(folder) / kept.file, wanted, chair)
            counted[way, outcome] += 1
            counted[noise, outcome] += 1
            if outcome == "wrong":
                print(f"wrong: {spoken_words(text)} ({noise})")
    for row in (*WAYS, *(noise for noise, _ in SCENES)):
        print(row, {what: counted[row, what] for what in ("exact", "rejected", "wrong")})
    return 0


def heard(hearing: RecordedHearing, path: Path, wanted: str, chair: int) -> str:
    """Exact, rejected or wrong."""
    text = hearing.hear_sound(wav_files.read(path, rate=RATE), "open").text
    meant = understand(text, hearing.words, hearing.names, "open", woken=False)
    if not isinstance(meant, Intent):
        return "rejected"
    right = (meant.name, meant.client, meant.chair) == ("client", wanted, chair)
    return "exact" if right else "wrong"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.bench.client_numbers")
    parser.add_argument("--lines", type=int, default=96)
    raise SystemExit(run(parser.parse_args().lines))
