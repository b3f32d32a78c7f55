"""`python -m tests.bench.unheard FOLDER`: recordings of commands by voices nothing learned from.

Every phrase of the word file some times over, with slots, chairs and ways of addressing drawn anew
(a phrase without any is a line of the shipped recordings too), by the four voices that are kept out
of all teaching, a room each, an equal number clean and at 20, 12, 6 and 0 dB over dryer, water and
chatter. All of it is synthetic.
Then `swatchword hear --recordings FOLDER` prints the tables. Needs the extra `forge`. Whoever looks
at single misses of a set must take another `--seed` for the next figures.
"""

from __future__ import annotations

import argparse
import logging
import sys
from collections.abc import Iterator
from pathlib import Path

from assistant.edges.recordings import CLEAN
from assistant.edges.word_files import load_commands
from assistant.forge import fixtures
from assistant.forge import fixtures_texts as texts
from assistant.forge.fixtures_studio import NOISES, Studio, Wanted
from assistant.forge.wake import VOICES

RATIOS = (20.0, 12.0, 6.0, 0.0)  # dB of speech over noise
SCENES: tuple[tuple[str, float | None], ...] = (
    *(((CLEAN, None),) * len(NOISES)),
    *((noise, ratio) for ratio in RATIOS for noise in NOISES),
)
STRIDE = 7  # prime to the number of scenes: neighbours in the list are heard in unlike ones
TURNS = 7  # about 230 recordings for each level of noise
log = logging.getLogger("forge")


def wanted(turns: int, seed: int) -> Iterator[Wanted]:
    """Each line once, by one voice in one scene; every scene equally often."""
    lines = texts.command_lines(texts.read_lines(), load_commands(), turns, seed)
    for place, (text, draw) in enumerate(lines):
        noise, ratio = SCENES[place * STRIDE % len(SCENES)]
        yield Wanted(text, draw.choice(VOICES), noise, ratio, "commands")


def make(folder: Path, turns: int, seed: int) -> int:
    """Recordings and their manifest; how many."""
    folder.mkdir(parents=True, exist_ok=True)
    chosen = {one.file: one for one in wanted(turns, seed)}
    studio, made = Studio(), []
    for count, one in enumerate(chosen.values(), start=1):
        made.append(studio.record(one, folder))
        if count % 50 == 0:
            log.info("%d of %d", count, len(chosen))
    fixtures.write_manifest(folder, made)
    return len(made)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.unheard", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--turns", type=int, default=TURNS, help="of every phrase")
    parser.add_argument("--seed", type=int, required=True, help="one that was not used before")
    asked = parser.parse_args()
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    print(make(asked.folder, asked.turns, asked.seed), "recordings")
    return 0


if __name__ == "__main__":
    sys.exit(main())
