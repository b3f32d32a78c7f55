"""`python -m tests.bench.chatter hear CORPUS RESULTS | count RESULTS`: talk that is for others.

hear    feeds the streams of `chatter_corpus` through the product's Ears as fast as it goes: all
        listening modes, and open mode with each candidate for a wake word, at once and each for
        the whole length of each stream. Writes one file for a stream: every utterance with all
        guesses and scores. A file that is there is not made again.
count   what was acted on per hour, by mode and by what it does; `--texts` names it. With
        --behind-talk and --too-close the guesses are weighed again, without decoding.

A mode other than `open` is open for some seconds after a question or a call of ours; here it is
open all the time (`tests.bench.mode_shares` says how long it is). `hear` needs soundfile.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, get_args
from unittest import mock

from assistant import app
from assistant.core import guesses
from assistant.core.events import Mode
from assistant.core.intents import Intent, Names, Words, understand
from assistant.edges import ears as ears_module
from assistant.edges.ears import Ears, Listening
from assistant.edges.gate import Gate
from assistant.edges.level import loudness
from assistant.edges.microphone import Frame
from assistant.edges.recogniser import RATE, Listener, blocks, bundled_model
from assistant.forge.wake import CANDIDATES
from tests.bench.events_an_hour import per_hour
from tests.bench.one_decoding import Shared, SharedModel

MODES: tuple[Mode, ...] = get_args(Mode)
CHAIRS = 4
# What acting on it does, at worst. A question, "once more?" and a refusal change nothing.
EFFECTS = ("answers", "starts", "changes", "asks to stop", "alarm", "ends")
STATE = ("starts", "changes", "alarm", "ends")
REPLIES = {"which_chair": "which", "which_number": "number"}  # and what begins with "lesson"


@dataclass(frozen=True, slots=True)
class Way:
    """Of listening: in a mode, for a wake word."""

    name: str
    mode: Mode
    words: Words


@dataclass(frozen=True, slots=True)
class Utterance:
    """As it ended: seconds of the stream, what was chosen, and all guesses of its pieces."""

    at: float
    woken: bool
    text: str
    pieces: tuple[tuple[tuple[str, float], ...], ...]


Heard = tuple[Utterance, Sequence[str]]  # and the names of the ways in which it came out so


def every_way(words: Words) -> dict[str, Way]:
    """Each mode, then open mode with each other candidate for the wake word."""
    ways = [Way(mode, mode, words) for mode in MODES]
    others = [wake for wake in CANDIDATES if wake != words.wake]
    ways += [Way(wake, "open", replace(words, wake=wake)) for wake in others]
    return {way.name: way for way in ways}


# ---------------------------------------------------------------------- hear


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

    def _new(self, how: Listening) -> Listener:
        self._recognisers.clear()
        return super()._new(how)

    def _ended(self, text: str, at: float) -> None:
        # a look that came too early was the last piece of its recogniser, and does not count
        given_up, last = self._recognisers[:-1], self._recognisers[-1]
        pieces = [piece for one in given_up for piece in one.pieces[:-1]] + last.pieces
        said = Utterance(at, self._how.woken, text, tuple(tuple(piece) for piece in pieces))
        self._tells(self._way.name, said)
        super()._ended(text, at)


def utterances(
    model: SharedModel, ways: Iterable[Way], names: Names, sound: bytes
) -> Iterator[Heard]:
    """All that was heard of a stream."""
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


# ---------------------------------------------------------------------- count


def meant(text: str, way: Way, names: Names, *, woken: bool) -> Intent | None:
    """The command that a text is for who listens this way."""
    found = understand(text, way.words, names, way.mode, woken)
    return found if isinstance(found, Intent) else None


def weighed(said: Utterance, way: Way, names: Names) -> str:
    """Its text by the margins of this moment; as it stood if its last look found nothing."""
    whole = ""
    for piece in said.pieces:
        once: dict[str, float] = {}
        for text, score in piece:
            once.setdefault(text, score)

        def means(text: str, before: str = whole) -> Intent | None:
            return meant(f"{before} {text}".strip(), way, names, woken=said.woken)

        whole = f"{whole} {guesses.choose(list(once.items()), means)}".strip()
    return whole or said.text


def does(intent: Intent, mode: Mode, words: Words) -> str:
    """One of EFFECTS: the worst it can do in any state of any head."""
    if intent.name == "confirm":
        return "ends" if mode == "confirm" else "answers"
    if intent.name in REPLIES or intent.name.startswith("lesson"):
        return "changes" if mode == REPLIES.get(intent.name, "lesson") else "answers"
    if intent.name == "open":
        return "starts"
    risk = words.command(intent.name).risk
    return {"ask": "answers", "start": "changes", "stop": "asks to stop", "alarm": "alarm"}[risk]


@dataclass(slots=True)
class Count:
    """Of one way of listening: how often it was woken, and what was acted on."""

    woken: int
    acted: Counter[str]
    texts: Counter[tuple[str, str]]  # what it does, text

    @property
    def state(self) -> int:
        """What changed something."""
        return sum(self.acted[effect] for effect in STATE)


def count(heard: Iterable[Heard], ways: Mapping[str, Way], names: Names) -> dict[str, Count]:
    """By way of listening."""
    counts = {name: Count(0, Counter(), Counter()) for name in ways}
    for said, came_out in heard:
        for name in came_out:
            way, one = ways[name], counts[name]
            text = weighed(said, way, names)
            one.woken += text.split()[:1] == [way.words.wake]
            intent = meant(text, way, names, woken=said.woken)
            if intent is not None:
                effect = does(intent, way.mode, way.words)
                one.acted[effect] += 1
                one.texts[effect, text] += 1
    return counts


def read(path: Path) -> tuple[float, list[Heard]]:
    """Seconds of a stream, and what was heard."""
    head, *lines = path.read_text(encoding="utf-8").splitlines()
    found = []
    for line in lines:
        said: dict[str, Any] = json.loads(line)
        came_out = said.pop("ways")
        pieces = tuple(tuple((t, s) for t, s in piece) for piece in said.pop("pieces"))
        found.append((Utterance(**said, pieces=pieces), came_out))
    return json.loads(head)["seconds"], found


def counted(asked: argparse.Namespace) -> None:
    """A table for each kind of sound, or for several together."""
    for folder in sorted(path for path in asked.results.iterdir() if path.is_dir()):
        print("\n".join(table(folder.name, sorted(folder.glob("*.heard")), asked)))


def table(title: str, files: Sequence[Path], asked: argparse.Namespace) -> Iterator[str]:
    """Of so many streams."""
    book = app.read_book()
    ways, names = every_way(book.words), book.names(CHAIRS)
    streams = [read(path) for path in files]
    hours = sum(seconds for seconds, _ in streams) / 3600
    behind, close = asked.behind_talk, asked.too_close
    with (
        mock.patch.object(guesses, "BEHIND_TALK", behind or guesses.BEHIND_TALK),
        mock.patch.object(guesses, "TOO_CLOSE", close or guesses.TOO_CLOSE),
    ):
        counts = count((said for _, found in streams for said in found), ways, names)
    yield f"\n{title}, {hours:.2f} h\n"
    yield f"| listening | woken an hour | {' | '.join(EFFECTS)} | changes a state, an hour |"
    yield "|---" * (len(EFFECTS) + 3) + "|"
    for name, one in counts.items():
        acted = " | ".join(str(one.acted[effect]) for effect in EFFECTS)
        woken, state = per_hour(one.woken, hours), per_hour(one.state, hours)
        yield f"| {name} | {woken} | {acted} | {state} |"
    for name, one in counts.items() if asked.texts else ():
        for (effect, text), times in one.texts.most_common():
            yield f"   {name:<10} {effect:<12} {times:>3}  {text}"


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
    command.add_argument("results", type=Path)
    command.add_argument("--texts", action="store_true", help="name all that was acted on")
    command.add_argument("--behind-talk", type=float, help="nats; guesses.py has its own")
    command.add_argument("--too-close", type=float, help="nats; guesses.py has its own")
    command.set_defaults(run=counted)
    asked = parser.parse_args()
    asked.run(asked)
    return 0


if __name__ == "__main__":
    sys.exit(main())
