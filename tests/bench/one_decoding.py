"""Several ears, one decoding: exactly what each would hear by itself, for the work of one.

A recogniser's answer depends only on the sound it was given since it was made. Ears in different
modes get the same blocks and make their recognisers at the same moments, until a command that
counts in one of them ends an utterance early. So what was given is kept as a tree: whoever stands
at the same place of it gets the same answers, computed once; when ways part, the way that has no
recogniser any more is decoded again from its beginning. (The recogniser adds a random hiss of its
own, so talk that is no command may come out in other words when it is decoded again.)
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection
from dataclasses import replace
from pathlib import Path
from typing import Any
from weakref import WeakValueDictionary

from assistant.core.intents import Names, Words
from assistant.core.language import Language, language
from assistant.edges.recogniser import RATE, Model

Make = Callable[[], Any]  # a fresh recogniser


class Place:
    """All that one recogniser was given so far, and what it answered to the last block."""

    __slots__ = ("__weakref__", "answer", "block", "children", "ended", "final", "parent", "real")

    def __init__(self, parent: Place | None = None, block: bytes = b"") -> None:
        """After `parent`, one block more."""
        self.parent, self.block = parent, block
        self.children: WeakValueDictionary[bytes, Place] = WeakValueDictionary()
        self.real: Any = None  # the recogniser, while nobody took it further
        self.ended, self.answer = False, ""
        self.final: str | None = None

    def recogniser(self, make: Make) -> Any:
        """One that was given all this; it is the caller's from now on."""
        real, self.real = self.real, None
        if real is None:
            real = make()
            for block in self._blocks():
                if real.AcceptWaveform(block):
                    real.Result()
        return real

    def _blocks(self) -> list[bytes]:
        found: list[bytes] = []
        place: Place | None = self
        while place is not None and place.parent is not None:
            found.append(place.block)
            place = place.parent
        return found[::-1]

    def after(self, block: bytes, make: Make) -> Place:
        """The place one block further."""
        onward = self.children.get(block)
        if onward is None:
            onward = self.children[block] = Place(self, block)
            onward.real = self.recogniser(make)
            onward.ended = bool(onward.real.AcceptWaveform(block))
            onward.answer = onward.real.Result() if onward.ended else onward.real.PartialResult()
        return onward

    def end(self, make: Make) -> str:
        """What is heard if the utterance ends here."""
        if self.final is None:
            self.final = str(self.recogniser(make).FinalResult())
        return self.final


class Shared:
    """What a listener takes for its recogniser.

    Guesses with words that are not its own are none; its partial answers are everybody's.
    """

    def __init__(self, start: Place, make: Make, others: frozenset[str]) -> None:
        """At the start, nothing given. `others` are words of somebody else's language."""
        self._place, self._make, self._others = start, make, others
        self.pieces: list[list[tuple[str, float]]] = []  # all guesses of each piece it heard

    def AcceptWaveform(self, block: bytes) -> bool:
        self._place = self._place.after(block, self._make)
        return self._place.ended

    def PartialResult(self) -> str:
        return self._place.answer

    def Result(self) -> str:
        return self._own(self._place.answer)

    def FinalResult(self) -> str:
        return self._own(self._place.end(self._make))

    def _own(self, answer: str) -> str:
        said = json.loads(answer)
        own = [g for g in said["alternatives"] if not self._others & {*g["text"].split()}]
        self.pieces.append([(guess["text"].strip(), guess["confidence"]) for guess in own])
        return json.dumps({**said, "alternatives": own or [{"text": "", "confidence": 0.0}]})


class SharedModel(Model):
    """A model whose recognisers are shared by those who give them the same sound.

    It speaks one language for several wake words: each of them wakes, none costs more than the
    others. Without the guesses that hold another's, what is left is what a session with one of
    them would guess: taking ways out of an automaton leaves the price of the others as it was.
    """

    def __init__(self, folder: Path, words: Words, names: Names, wakes: Collection[str]) -> None:
        """Loaded once; `wakes` are heard beside the one of `words`."""
        super().__init__(folder)
        self.wakes = frozenset((words.wake, *wakes))
        one = language(words, names)
        more = [
            arc._replace(word=wake)
            for wake in sorted(self.wakes - {words.wake})
            for arc in one.arcs
            if arc.word == words.wake
        ]
        self._everybodys = replace(one, arcs=(*one.arcs, *more))
        super().speak(self._everybodys)
        self._start = Place()
        self.own = words.wake  # of whoever asks for a recogniser now
        self.handed_out: list[Shared] = []  # to whoever asks for one now
        self.made = 0

    def speak(self, language: Language) -> None:
        """It does so already."""

    def recogniser(self, language: Language, rate: int = RATE) -> Any:
        """Seems fresh. One rate at a time: it is not told apart."""
        shared = Shared(self._start, self._fresh, self.wakes - {self.own})
        self.handed_out.append(shared)
        return shared

    def _fresh(self) -> Any:
        self.made += 1
        return super().recogniser(self._everybodys)
