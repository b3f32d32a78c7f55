"""What would have been done about talk that is for others? Counts for tests/bench/chatter.py."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, get_args
from unittest import mock

from assistant import app
from assistant.core import guesses
from assistant.core.events import Mode
from assistant.core.intents import Intent, Names, Words, understand
from assistant.forge.wake import CANDIDATES
from tests.bench.events_an_hour import highest, per_hour

MODES: tuple[Mode, ...] = get_args(Mode)
CHAIRS = 4
# What acting on it does, at worst. A question, "once more?" and a refusal change nothing.
EFFECTS = ("answers", "starts", "changes", "asks to stop", "alarm", "ends")
STATE = ("starts", "changes", "alarm", "ends")
# What is nothing unless this was asked.
REPLIES: dict[str, tuple[Mode, ...]] = {
    "which_chair": ("which",),
    "which_number": ("number", "lesson"),
    "lesson_ratio": ("lesson",),
    "lesson_volume": ("lesson",),
    "lesson_skip": ("lesson",),
    "confirm": ("confirm",),
}


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
    if mode not in REPLIES.get(intent.name, (mode,)):
        return "answers"
    if intent.name in REPLIES:
        return "ends" if intent.name == "confirm" else "changes"
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


def tables(
    folder: Path, shares: Mapping[Mode, float], margins: Mapping[str, float | None], *, texts: bool
) -> Iterator[str]:
    """Of the streams of one kind; `margins` are others than the constants of guesses.py."""
    book = app.read_book()
    ways, names = every_way(book.words), book.names(CHAIRS)
    streams = [read(path) for path in sorted(folder.glob("*.heard"))]
    hours = sum(seconds for seconds, _ in streams) / 3600
    with ExitStack() as stack:
        for name, margin in margins.items():
            if margin is not None:
                stack.enter_context(mock.patch.object(guesses, name, margin))
        counts = count((said for _, found in streams for said in found), ways, names)
    yield f"\n{folder.name}, {hours:.2f} h\n"
    yield f"| listening | woken an hour | {' | '.join(EFFECTS)} | changes a state, an hour |"
    yield "|---" * (len(EFFECTS) + 3) + "|"
    for way, one in counts.items():
        acted = " | ".join(str(one.acted[effect]) for effect in EFFECTS)
        woken, state = per_hour(one.woken, hours), per_hour(one.state, hours)
        yield f"| {way} | {woken} | {acted} | {state} |"
    states = {mode: counts[mode].state for mode in shares}
    yield f"\nA service: {service(states, shares, hours)} an hour change a state."
    for way, one in counts.items() if texts else ():
        for (effect, text), times in one.texts.most_common():
            yield f"   {way:<10} {effect:<12} {times:>3}  {text}"


def service(events: Mapping[Mode, int], shares: Mapping[Mode, float], hours: float) -> str:
    """The rate if each mode is open for its share; the bound is the sum of all their bounds."""
    rate = sum(share * events[mode] for mode, share in shares.items()) / hours
    most = sum(share * highest(events[mode]) for mode, share in shares.items()) / hours
    return f"{rate:.2g} (< {most:.2g})"
