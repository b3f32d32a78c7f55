"""What would have been done about talk that is for others? Counts for tests/bench/chatter.py."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, get_args

from assistant import app
from assistant.core import guesses, numbers
from assistant.core.events import Mode
from assistant.core.intents import Intent, Names, Words, understand
from assistant.forge.wake import CANDIDATES
from tests.bench import mode_shares
from tests.bench.events_an_hour import highest, per_hour

MODES: tuple[Mode, ...] = get_args(Mode)
CHAIRS = 4
AGO = 4.0  # seconds: what ended longer ago is not what was heard
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


# With the names of the ways in which it came out so, and what was being said.
Heard = tuple[Utterance, Sequence[str], str]


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
    guessed = any(text for piece in said.pieces for text, _ in piece)
    return whole if guessed else said.text


def does(intent: Intent, mode: Mode, words: Words) -> str:
    """One of EFFECTS: the worst it can do in any state of any head."""
    if mode not in REPLIES.get(intent.name, (mode,)):
        return "answers"
    if mode == "number" and not numbers.sound_alikes(intent.number or 0):
        return "answers"  # only the two that were asked about count there
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
    said: int  # what changed something and was said in just these words, to somebody else

    @property
    def state(self) -> int:
        """What changed something."""
        return sum(self.acted[effect] for effect in STATE)


def count(heard: Iterable[Heard], ways: Mapping[str, Way], names: Names) -> dict[str, Count]:
    """By way of listening."""
    counts = {name: Count(0, Counter(), Counter(), 0) for name in ways}
    for said, came_out, talk in heard:
        for name in came_out:
            way, one = ways[name], counts[name]
            text = weighed(said, way, names)
            one.woken += text.split()[:1] == [way.words.wake]
            intent = meant(text, way, names, woken=said.woken)
            if intent is not None:
                effect = does(intent, way.mode, way.words)
                one.acted[effect] += 1
                one.texts[effect, text] += 1
                one.said += effect in STATE and f" {text} " in f" {talk} "
    return counts


def read(path: Path, talk: Path | None = None) -> tuple[float, list[Heard]]:
    """Seconds of a stream, and what was heard; `talk` is the file that tells what was said."""
    head, *lines = path.read_text(encoding="utf-8").splitlines()
    sentences = [json.loads(one) for one in talk.read_text("utf-8").splitlines()] if talk else []
    found = []
    for line in lines:
        said: dict[str, Any] = json.loads(line)
        came_out, at = said.pop("ways"), said["at"]
        pieces = tuple(tuple((t, s) for t, s in piece) for piece in said.pop("pieces"))
        beside = [s["text"] for s in sentences if s["at"] < at and s["until"] > at - AGO]
        found.append((Utterance(**said, pieces=pieces), came_out, plain(" ".join(beside))))
    return json.loads(head)["seconds"], found


def plain(text: str) -> str:
    """Words only, as they are heard."""
    return " ".join(re.findall(r"[a-z']+", text.lower()))


def tables(results: Path, corpus: Path, streams: str, texts: bool) -> Iterator[str]:
    """One for each kind of sound, of its streams whose name is like that."""
    shares = mode_shares.shares()
    for folder in sorted(path for path in results.iterdir() if path.is_dir()):
        files = sorted(folder.glob(f"{streams}.heard"))
        talks = [(corpus / path.relative_to(results)).with_suffix(".jsonl") for path in files]
        read_ones = [read(path, talk) for path, talk in zip(files, talks, strict=True)]
        hours = sum(seconds for seconds, _ in read_ones) / 3600
        if hours:
            yield f"\n{folder.name}, {hours:.2f} h\n"
            yield from table([one for _, found in read_ones for one in found], hours, shares, texts)


def table(
    heard: Iterable[Heard], hours: float, shares: Mapping[Mode, float], texts: bool
) -> Iterator[str]:
    """One line for each way of listening."""
    book = app.read_book()
    counts = count(heard, every_way(book.words), book.names(CHAIRS))
    heads = ("listening", "woken an hour", *EFFECTS, "changes a state, an hour", "said so")
    yield f"| {' | '.join(heads)} |"
    yield "|---" * len(heads) + "|"
    for way, one in counts.items():
        acted = " | ".join(str(one.acted[effect]) for effect in EFFECTS)
        woken, state = per_hour(one.woken, hours), per_hour(one.state, hours)
        yield f"| {way} | {woken} | {acted} | {state} | {one.said} |"
    for what, states in (
        ("changes", {mode: counts[mode].state for mode in shares}),
        ("changes by words nobody said", {m: counts[m].state - counts[m].said for m in shares}),
    ):
        yield f"In a service, {what}: {service(states, shares, hours)} an hour."
    for way, one in counts.items() if texts else ():
        for (effect, text), times in one.texts.most_common():
            yield f"   {way:<10} {effect:<12} {times:>3}  {text}"


def service(events: Mapping[Mode, int], shares: Mapping[Mode, float], hours: float) -> str:
    """The rate if each mode is open for its share; the bound is the sum of all their bounds."""
    rate = sum(share * events[mode] for mode, share in shares.items()) / hours
    most = sum(share * highest(events[mode]) for mode, share in shares.items()) / hours
    return f"{rate:.2g} (< {most:.2g})"
