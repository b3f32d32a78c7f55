"""What may be said, word after word, and how likely is it? The recogniser's strict grammar.

One automaton for all listening modes: the wake word, a chair, a command; or a command without the
wake word, which only counts as an answer. From everywhere a dear way leads out into talk: any of
our words in any order, and `[unk]`. So what is nearly a command comes out as the talk it is,
instead of being bent into one. What counts in which mode is decided afterwards, on the text.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

from assistant.core import intents, numbers
from assistant.core.intents import UNKNOWN, Names, Words

CLIENT = "{client}"
START, ROOT, TALK = range(3)  # states: where it begins, where the phrases do, and talk


@dataclass(frozen=True, slots=True)
class Costs:
    """In nats; chosen on tuning recordings, see tests/bench/LISTENING_HISTORY.md.

    `talk` and `word_of_talk` go with the acoustic scale of the model's settings, 0.7.
    """

    without_wake: float = 2.0
    talk: float = 2.8  # from the first word on
    into_talk: float = 5.0  # leaving a command for talk
    word_of_talk: float = 2.2
    unknown_of_talk: float = 1.0  # on top of what the model's `[unk]` costs by itself
    address: float = 1.0  # ending after the wake word or the chair
    uneven_number: float = 2.0  # twenty seven; again from sixty on, but for the tens
    digits: float = 3.0  # two five instead of twenty five


class Arc(NamedTuple):
    """From a state to a state by a word ("" for none), at a cost."""

    source: int
    target: int
    word: str
    cost: float


@dataclass(frozen=True, slots=True)
class Language:
    """States are numbered from START; `ends` holds the cost of ending there."""

    arcs: tuple[Arc, ...]
    ends: tuple[tuple[int, float], ...]
    states: int


@lru_cache(maxsize=4)
def language(words: Words, names: Names, costs: Costs = Costs()) -> Language:
    """Everything that may be said in a session."""
    grown = _Grown(costs)
    for phrase, cost in _phrases(words, names, costs):
        grown.add(phrase, cost)
    for before in _before_clients(words, names):
        grown.lengthen(before, numbers.CLIENT_DIGITS)
    chairs = [chair.split() for chair in intents.closed_sets(names)["chair"]]
    everything = sorted(intents.every_word(words, names))
    return grown.closed(words.wake, chairs, everything)


def language_of_lines(lines: Collection[str], costs: Costs = Costs()) -> Language:
    """Only these lines, all equally likely, and the same ways out into talk.

    No wake word, no chair: for measuring how a model hears what is not our commands.
    """
    grown = _Grown(costs)
    for line in lines:
        grown.add(line.split(), 0.0)
    return grown.alone(sorted({word for line in lines for word in line.split()}))


@dataclass(slots=True)
class _Grown:
    """The tree of all phrases while it grows."""

    costs: Costs
    states: int = TALK + 1
    steps: dict[int, dict[str, int]] = field(default_factory=dict)
    ends: dict[int, float] = field(default_factory=dict)
    arcs: list[Arc] = field(default_factory=list)

    def state(self) -> int:
        self.states += 1
        return self.states - 1

    def walk(self, phrase: Sequence[str], state: int = ROOT) -> int:
        """The state after these words; made if nobody went there before."""
        for word in phrase:
            steps = self.steps.setdefault(state, {})
            if word not in steps:
                steps[word] = self.state()
            state = steps[word]
        return state

    def add(self, phrase: Sequence[str], cost: float) -> None:
        end = self.walk(phrase)
        self.ends[end] = min(cost, self.ends.get(end, cost))

    def lengthen(self, before: Sequence[str], digits: int) -> None:
        """After two digits more may follow, one by one."""
        figures = [numbers.digits(figure) for figure in range(10)]
        tails = [self.state() for _ in range(digits - 2)]
        for tail, onward in itertools.pairwise(tails):
            self.steps[tail] = dict.fromkeys(figures, onward)
        for first in figures[1:]:
            for second in figures:
                end = self.walk([*before, first, second])
                self.steps.setdefault(end, {}).update(dict.fromkeys(figures, tails[0]))
        self.ends.update(dict.fromkeys(tails, 0.0))

    def cheapest(self) -> dict[int, float]:
        """The cost of the cheapest phrase through each state; children are younger or tails."""
        found = dict(self.ends)
        for state in sorted(self.steps, reverse=True):
            onward = (found[target] for target in self.steps[state].values() if target in found)
            found[state] = min([*onward, found.get(state, math.inf)])
        return found

    def closed(self, wake: str, chairs: Sequence[Sequence[str]], everything: list[str]) -> Language:
        """With the wake word and the chair before, and talk beside."""
        costs, woken = self.costs, self.state()
        places = [self.place(chair) for chair in chairs]
        found = self.cheapest()
        chair_word = chairs[0][0]
        chair = self.state()
        for state, steps in list(self.steps.items()):
            for word, target in steps.items():
                cost = found[target] - found[state]
                if state != ROOT:
                    self.arcs.append(Arc(state, target, word, cost))
                    continue
                self.arcs.append(Arc(START, target, word, cost + costs.without_wake))
                if word != chair_word:
                    self.arcs += [Arc(place, target, word, cost) for place in (woken, *places)]
        self.arcs += [Arc(START, woken, wake, 0.0), Arc(woken, chair, chair_word, 0.0)]
        self.arcs += [Arc(chair, p, said[1], 0.0) for p, said in zip(places, chairs, strict=True)]
        ends = {s: c - found[s] for s, c in self.ends.items()}
        ends |= dict.fromkeys((woken, *places), costs.address)
        self.talk((*self.steps, *ends, woken, chair, *places), everything)
        return Language(tuple(self.arcs), (*ends.items(), (TALK, 0.0)), self.states)

    def alone(self, everything: list[str]) -> Language:
        """With talk beside and nothing before."""
        for state, steps in self.steps.items():
            source = START if state == ROOT else state
            self.arcs += [Arc(source, target, word, 0.0) for word, target in steps.items()]
        self.talk((*self.steps, *self.ends), everything)
        return Language(tuple(self.arcs), (*self.ends.items(), (TALK, 0.0)), self.states)

    def place(self, chair: Sequence[str]) -> int:
        """After the wake word and this chair; a phrase may itself begin with a chair."""
        place, said = self.state(), self.walk(chair)
        for word, target in self.steps.get(said, {}).items():
            self.arcs.append(Arc(place, target, word, 0.0))
        return place

    def talk(self, leaving: Sequence[int], everything: list[str]) -> None:
        """The ways out, and what is said there."""
        costs = self.costs
        self.arcs.append(Arc(START, TALK, "", costs.talk))
        self.arcs += [Arc(state, TALK, "", costs.into_talk) for state in {*leaving} - {ROOT}]
        self.arcs += [Arc(TALK, TALK, word, costs.word_of_talk) for word in everything]
        self.arcs.append(Arc(TALK, TALK, UNKNOWN, costs.unknown_of_talk))


def _phrases(words: Words, names: Names, costs: Costs) -> Iterator[tuple[list[str], float]]:
    """Every phrase and decoy with its slots filled."""
    phrases = [phrase for command in words.commands for phrase in command.phrases]
    for phrase in (*phrases, *words.decoys):
        filled: list[tuple[list[str], float]] = [([], 0.0)]
        for part in phrase.split():
            options = intents.options(part, names)
            priced = [
                (o.split(), _number(o, costs) if part == "{number}" else 0.0) for o in options
            ]
            filled = [([*b, *o], cost + more) for b, cost in filled for o, more in priced]
        yield from filled


def _number(said: str, costs: Costs) -> float:
    """Round numbers are said more often, and seldom digit by digit."""
    number = numbers.parse(said.split()) or 0
    cost = costs.uneven_number if number > 20 and number % 5 else 0.0
    if number > 60 and number % 10:
        cost += costs.uneven_number
    return cost + (0.0 if said == numbers.spoken(number) else costs.digits)


def _before_clients(words: Words, names: Names) -> Iterator[list[str]]:
    """What is said before a client's number, which may be longer than any other."""
    for command in words.commands:
        for phrase in command.phrases:
            if phrase.endswith(CLIENT):
                before = intents.filled(phrase.removesuffix(CLIENT), names)
                yield from (said.split() for said in before)
