"""Where in a recording is every phone? (Viterbi over the known words with a model's outputs)

A small graph per recording: every word in each of its ways, silence allowed between words. A word
that no dictionary knows is crossed by a state that takes anything and is marked as spoken noise.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from assistant.forge import phones
from assistant.forge.corpus import Placed

Scores = npt.NDArray[np.float32]
Ways = Mapping[str, Sequence[tuple[str, ...]]]
FRAME = 0.03  # seconds per output
START = -1
UNKNOWN_WORD = -0.5  # how much worse than the best phone a frame of an unknown word is


@dataclass(slots=True)
class WordGraph:
    """States in order: each one phone of one word (-1: silence), with what may precede it."""

    phone: list[int] = field(default_factory=list)
    word: list[int] = field(default_factory=list)
    before: list[list[int]] = field(default_factory=list)
    last: list[int] = field(default_factory=list)

    def add(self, phone: int, word: int, before: list[int]) -> int:
        self.phone.append(phone)
        self.word.append(word)
        self.before.append(before)
        return len(self.phone) - 1


def word_graph(words: Sequence[str], ways: Ways) -> WordGraph:
    graph = WordGraph()
    front = [START, graph.add(phones.SILENCE, -1, [START])]
    for place, word in enumerate(words):
        ends = []
        for way in ways.get(word, ()) or [()]:
            numbers = phones.phone_ids(way) or (phones.SPOKEN_NOISE,)
            before = front
            for number in numbers:
                state = graph.add(number, place, before)
                before = [state]
            ends.append(before[0])
        front = [*ends, graph.add(phones.SILENCE, -1, ends)]
    graph.last = front
    return graph


@dataclass(frozen=True, slots=True)
class Alignment:
    """Phones with their places, phones per word, and how well the words fit (0 is perfect)."""

    phones: list[Placed]
    word_lengths: list[int]
    fit: float


def align(scores: Scores, words: Sequence[str], ways: Ways) -> Alignment | None:
    """The best path through the words; None when the recording is too short for them."""
    graph = word_graph(words, ways)
    path = best_path(scores, graph)
    if path is None:
        return None
    best = scores.max(axis=1)
    enter = [phones.stay_output(graph.phone[s]) for s in path]
    speech = np.array([graph.word[s] >= 0 and graph.phone[s] > phones.SPOKEN_NOISE for s in path])
    misfit = scores[np.arange(len(path)), enter] - best
    fit = float(misfit[speech].mean()) if speech.any() else -99.0
    return Alignment(*phone_runs(path, graph, len(words)), fit)


def best_path(scores: Scores, graph: WordGraph) -> list[int] | None:
    """Viterbi; entering and staying in a phone are scored by different outputs."""
    stay, enter = state_scores(scores, graph)
    width = max(len(b) for b in graph.before)
    count = len(graph.phone)
    before = np.full((count, width), count, np.int64)  # column `count` is a state never reached
    for state, sources in enumerate(graph.before):
        inner = [s for s in sources if s != START]
        before[state, : len(inner)] = inner
    begins = [state for state, sources in enumerate(graph.before) if START in sources]
    alive = np.full(count + 1, -1e30, np.float32)
    alive[begins] = enter[0, begins]
    steps, rows = len(scores), np.arange(count)
    came = np.zeros((steps, count), np.int32)
    for t in range(1, steps):
        choice = alive[before]
        pick = choice.argmax(axis=1)
        moved = choice[rows, pick] + enter[t]
        kept = alive[:count] + stay[t]
        came[t] = np.where(kept >= moved, rows, before[rows, pick])
        alive[:count] = np.maximum(kept, moved)
    final = max((s for s in graph.last if s != START), key=lambda s: float(alive[s]))
    if alive[final] < -1e29:
        return None
    path = [final]
    for t in range(steps - 1, 0, -1):
        path.append(int(came[t, path[-1]]))
    return path[::-1]


def state_scores(scores: Scores, graph: WordGraph) -> tuple[Scores, Scores]:
    """(staying, entering) per frame and state; an unknown word takes any speech."""
    numbers = np.array(graph.phone)
    stay = scores[:, 2 * (numbers - 1) + 1]
    enter = scores[:, 2 * (numbers - 1)]
    unknown = numbers == phones.SPOKEN_NOISE
    if unknown.any():
        anything = scores[:, 2 * phones.SPOKEN_NOISE :].max(axis=1) + UNKNOWN_WORD
        stay = np.where(unknown, anything[:, None], stay)
        enter = np.where(unknown, anything[:, None], enter)
    return stay, enter


def phone_runs(path: Sequence[int], graph: WordGraph, words: int) -> tuple[list[Placed], list[int]]:
    placed: list[Placed] = []
    lengths = [0] * words
    for t, state in enumerate(path):
        if t and state == path[t - 1]:
            if graph.word[state] >= 0:
                number, start, _ = placed[-1]
                placed[-1] = (number, start, (t + 1) * FRAME)
        elif graph.word[state] >= 0:
            placed.append((graph.phone[state], t * FRAME, (t + 1) * FRAME))
            lengths[graph.word[state]] += 1
    return placed, lengths


def cut(
    placed: Sequence[Placed], lengths: Sequence[int], seconds: float, longest: float
) -> list[tuple[int, int, float, float]]:
    """Pieces of at most `longest` seconds, cut between words: (first word, last + 1, from, to)."""
    ends = np.cumsum([0, *lengths])
    spans = [(placed[a][1], placed[b - 1][2]) for a, b in itertools.pairwise(ends) if b > a]
    if len(spans) != len(lengths):
        return []
    pieces, first = [], 0
    while first < len(spans):
        last = first
        while last + 1 < len(spans) and spans[last + 1][1] - spans[first][0] <= longest:
            last += 1
        start = 0.0 if first == 0 else middle(spans[first - 1][1], spans[first][0])
        end = seconds if last + 1 == len(spans) else middle(spans[last][1], spans[last + 1][0])
        pieces.append(
            (first, last + 1, max(start, spans[first][0] - 0.4), min(end, spans[last][1] + 0.4))
        )
        first = last + 1
    return pieces


def middle(a: float, b: float) -> float:
    return (a + b) / 2
