"""What stands around the hub in a simulated day: an agenda, a voice that can be off, and nobody."""

from __future__ import annotations

import queue
from functools import partial

from assistant.core.client_card import Card
from assistant.core.events import Event, Mode, Say
from assistant.core.head import Head
from assistant.edges.clock import SystemClock
from assistant.edges.simulated_machine import SimulatedMachine
from assistant.edges.virtual_voice import VirtualVoice
from assistant.hub import Errand


class NoEars:
    def listen(self, mode: Mode) -> None:
        """People speak whenever they like."""


class NoRecords:
    def write(self, head: Head) -> None:
        """Other proofs look at the records."""

    def card(self, client: str) -> Card:
        """Nobody was here before."""
        return Card(0, reaction=False, more=False, test=None, last=None)


class Agenda:
    """The voice's view of a machine: salon time, and things handed to the hub's inbox."""

    def __init__(
        self, machine: SimulatedMachine, clock: SystemClock, inbox: queue.Queue[Event | Errand]
    ) -> None:
        self._machine, self._clock, self._inbox = machine, clock, inbox
        self.alive = True

    def now(self) -> float:
        return self._clock.now()

    def at(self, when: float, item: object) -> None:
        self._machine.at(self._machine.true + when - self._clock.now(), partial(self._put, item))

    def _put(self, item: object) -> None:
        if self.alive:
            self._inbox.put(item)  # type: ignore[arg-type] # events and errands, as the hub's own


class SwitchedVoice:
    """The hub's voice: silent while the journal is folded, real afterwards."""

    def __init__(self) -> None:
        self.to: VirtualVoice | None = None

    def say(self, say: Say, text: str) -> None:
        if self.to:
            self.to.say(say, text)

    def unsay(self, unsay: object) -> None:
        if self.to:
            self.to.unsay(unsay)  # type: ignore[arg-type] # an Unsay, as the hub says it
