"""`python -m tests.bench.chatter hear | count CORPUS RESULTS`: talk that is for others.

hear    feeds the streams of `chatter_corpus` through the product's Ears as fast as it goes: all
        listening modes, and open mode with each candidate for a wake word, at once and each for
        the whole length of each stream. Writes one file for a stream: every utterance with all
        guesses and scores. A file that is there is not made again.
count   what was acted on per hour, by mode and by what it does; `--texts` names it. "Said so" of
        them were said to somebody else in just these words. With --too-close the guesses are
        weighed again, without decoding.

A mode other than `open` is open for some seconds after a question or a call of ours; here it is
open all the time. The last lines of a table weigh the modes by how long each is open in the shipped
rehearsals (`tests.bench.mode_shares`). `hear` needs the package soundfile.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path
from unittest import mock

from assistant import app
from assistant.core import guesses
from assistant.core.intents import Names
from assistant.edges import ears as ears_module
from assistant.edges.ears import Ears
from assistant.edges.gate import Gate
from assistant.edges.level import loudness
from assistant.edges.microphone import Frame
from assistant.edges.recogniser import RATE, Listener, blocks, bundled_model
from assistant.forge.wake import CANDIDATES
from tests.bench.chatter_count import CHAIRS, Utterance, Way, every_way, tables
from tests.bench.one_decoding import Shared, SharedModel


class Observed(Ears):
    """Ears that also tell how each utterance came about."""

    def __init__(
        self, model: SharedModel, way: Way, names: Names, tells: Callable[[str, Utterance], None]
    ) -> None:
        """Always listening this way."""
        super().__init__(model, way.words, names, Gate(), lambda event: None)
        self._shared, self._way, self._tells = model, way, tells
        self._recognisers: list[Shared] = []
        self.listen(way.mode)

    def take(self, frame: Frame) -> None:
        self._shared.own, self._shared.handed_out = self._words.wake, self._recognisers
        super().take(frame)

    def _new(self) -> Listener:
        self._recognisers.clear()
        return super()._new()

    def _ended(self, text: str, at: float) -> None:
        # a look that came too early was the last piece of its recogniser, and does not count
        given_up, last = self._recognisers[:-1], self._recognisers[-1]
        pieces = [piece for one in given_up for piece in one.pieces[:-1]] + last.pieces
        said = Utterance(at, self._how.woken, text, tuple(tuple(piece) for piece in pieces))
        self._tells(self._way.name, said)
        super()._ended(text, at)


def utterances(
    model: SharedModel, ways: Iterable[Way], names: Names, sound: bytes
) -> Iterator[tuple[Utterance, list[str]]]:
    """All that was heard of a stream, and the names of the ways in which it came out so."""
    found: dict[Utterance, list[str]] = {}

    def ended(way: str, said: Utterance) -> None:
        if said.text or any(text for piece in said.pieces for text, _ in piece):
            found.setdefault(said, []).append(way)

    ears = [Observed(model, way, names, ended) for way in ways]
    at = 0.0
    # how loud a block is they need not find out one after the other
    with mock.patch.object(ears_module, "loudness", lru_cache(maxsize=1)(loudness)):
        for block in blocks(sound):
            at = round(at + len(block) / 2 / RATE, 4)
            for one in ears:
                one.take(Frame(at, block, RATE))
            yield from found.items()
            found.clear()


def hear(asked: argparse.Namespace) -> None:
    """Stream after stream, the first of each kind before the second."""
    import soundfile

    book = app.read_book()
    names, ways = book.names(CHAIRS), every_way(book.words)
    model = SharedModel(asked.model, book.words, names, CANDIDATES)
    for path in sorted(asked.corpus.rglob("*.flac"), key=lambda path: (path.stem, path)):
        kept = asked.results / path.relative_to(asked.corpus).with_suffix(".heard")
        if kept.exists() or path.parent.name in asked.without:
            continue
        kept.parent.mkdir(parents=True, exist_ok=True)
        samples, rate = soundfile.read(path, dtype="int16")
        began = time.process_time()
        lines = [json.dumps({"seconds": len(samples) / rate})]
        for said, came_out in utterances(model, ways.values(), names, samples.tobytes()):
            lines.append(json.dumps({**asdict(said), "ways": came_out}))
        unfinished = kept.with_suffix(".part")
        unfinished.write_text("\n".join(lines) + "\n", encoding="utf-8")
        unfinished.replace(kept)
        work = (time.process_time() - began) / (len(samples) / rate)
        print(f"{path}: {len(lines) - 1} utterances, {work:.3f} of a core", flush=True)


def counted(asked: argparse.Namespace) -> None:
    """A table for each kind of sound."""
    with ExitStack() as stack:
        if asked.too_close is not None:
            stack.enter_context(mock.patch.object(guesses, "TOO_CLOSE", asked.too_close))
        for line in tables(asked.results, asked.corpus, asked.streams, asked.texts):
            print(line, flush=True)


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.chatter",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(required=True)
    command = commands.add_parser("hear")
    command.add_argument("corpus", type=Path)
    command.add_argument("results", type=Path)
    command.add_argument("--without", nargs="*", default=[], help="folders left out")
    command.add_argument("--model", type=Path, default=bundled_model())
    command.set_defaults(run=hear)
    command = commands.add_parser("count")
    command.add_argument("corpus", type=Path)
    command.add_argument("results", type=Path)
    command.add_argument("--streams", default="*", help="whose name is like that: '*_dryer'")
    command.add_argument("--texts", action="store_true", help="name all that was acted on")
    command.add_argument("--too-close", type=float, help="nats; guesses.py has its own")
    command.set_defaults(run=counted)
    asked = parser.parse_args()
    asked.run(asked)
    return 0


if __name__ == "__main__":
    sys.exit(main())
