"""python -m assistant.forge COMMAND: one command per stage of making the speech model."""

from __future__ import annotations

import argparse
import logging
import sys
from collections.abc import Sequence
from pathlib import Path

from assistant.errors import AssistantError
from assistant.forge import commands

MODEL = Path(__file__).parents[1] / "speech_model"
RECORDINGS = Path(__file__).parents[2] / "audio_fixtures"


def parser() -> argparse.ArgumentParser:
    """Every stage with its options; the work is in commands.py."""
    top = argparse.ArgumentParser(prog="python -m assistant.forge", description=__doc__)
    stages = top.add_subparsers(dest="stage", required=True)
    whole = stages.add_parser("build", help="make the whole model: fetch, speak, teach, check")
    whole.add_argument("--folder", type=Path, required=True, help="where all of it is kept")
    whole.add_argument("--minutes", type=float, default=60.0, help="of speaking and teaching")
    whole.add_argument("--device", default="cpu", help="cpu, cuda (all there are) or cuda:1")
    whole.add_argument("--people", type=Path, help="folder with recordings of people and noise")
    whole.add_argument("--start", type=Path, help="a model folder to go on from")
    whole.add_argument("--seed", type=int, default=1)
    whole.add_argument("--processes", type=int, default=1, help="that speak at a time")
    whole.add_argument("--learners", type=int, default=1, help="networks at once")
    whole.add_argument("--bottleneck", type=int, default=0, help="of the layers, if wider")
    whole.add_argument("--until", default="", help="stop after this stage; the rest elsewhere")
    whole.add_argument("--smoke", action="store_true", help="tiny: do the stages fit?")
    whole.set_defaults(run=commands.build)
    graph = stages.add_parser("graph", help="rebuild the words of a model; no training")
    graph.add_argument("--model", type=Path, default=MODEL)
    graph.add_argument("--unknown-cost", type=float, default=None, help="nats per filler phone")
    graph.set_defaults(run=commands.graph)
    word = stages.add_parser("addword", help="teach the model one word, by its sounds")
    word.add_argument("word")
    word.add_argument("sounds", help='as in CMUdict: "R IH1 N S"')
    word.add_argument("--model", type=Path, default=MODEL)
    word.set_defaults(run=commands.add_word)
    tested = stages.add_parser("evaluate", help="how well a model hears a corpus file, in noise")
    tested.add_argument("corpus", type=Path, help="an index file: NAME.jsonl with NAME.raw beside")
    tested.add_argument("--model", type=Path, default=MODEL)
    tested.add_argument("--split", default="test")
    tested.add_argument("--limit", type=int, default=500, help="clips")
    tested.add_argument("--lines", type=int, default=60, help="different lines in the grammar")
    tested.set_defaults(run=commands.evaluate)
    made = stages.add_parser("fixtures", help="make the recordings that are missing")
    made.add_argument("--only", help="make one set or one file again")
    made.add_argument("--fresh", action="store_true", help="make all of them again")
    made.add_argument("--folder", type=Path, default=RECORDINGS)
    made.add_argument("--turns", type=int, default=1, help="more of every command: a larger set")
    made.set_defaults(run=commands.fixtures)
    woken = stages.add_parser("wake", help="how often each wake word is missed")
    woken.add_argument("--words", nargs="+", help="candidates (all that are built in)")
    woken.add_argument("--model", type=Path, default=MODEL)
    woken.set_defaults(run=commands.wake)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    logging.basicConfig(level=logging.INFO, format="%(message)s", stream=sys.stdout)
    options = parser().parse_args(argv)
    try:
        options.run(options)
    except AssistantError as problem:
        logging.getLogger("forge").error("%s", problem)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
