"""Events of an invented afternoon, and a journal writer that remembers what it was promised."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from assistant.core.client_card import Card
from assistant.core.events import (
    ClientKnown,
    ClockDue,
    DeviceBack,
    DeviceLost,
    Event,
    Heard,
    Resumed,
    SessionStarted,
    SpeechDone,
    Touched,
)
from assistant.core.moment import Moment
from assistant.edges.clock import VirtualClock
from assistant.edges.files import Files
from assistant.edges.journal import Journal
from assistant.errors import StoreError

FOLDER = Path("salon")
RESERVE = 512
SAID = ("chair one roots are on", "next", "ready", "give it five", "[unk]", "zwölf · “quoted”")


def afternoon(count: int, seed: int = 1) -> list[Event]:
    """A session's events: every class in turn, times rising, values from a seeded choice."""
    rng = Random(seed)
    events: list[Event] = [SessionStarted(0.0, 1_767_254_400.0, 3, (("tap.yaml", "name: tap\n"),))]
    at = 0.0
    while len(events) < count:
        at += rng.random() * 60
        kinds: tuple[Event, ...] = (
            Heard(
                at=at,
                text=rng.choice(SAID),
                began=at - rng.random() * 3,
                woken=rng.random() < 0.3,
                source=f"rec-{rng.randint(1, 150)}",
            ),
            Touched(at, rng.randint(1, 3), "heard"),
            ClockDue(at),
            SpeechDone(at, rng.randint(1, 99), "played"),
            DeviceLost(at, "microphone"),
            DeviceBack(at, "microphone"),
            Resumed(at, rng.random() * 600, rng.random() < 0.5),
            ClientKnown(at, rng.randint(1, 3), "client 417", Card(1, False, False, None, None)),
        )
        events.append(kinds[len(events) % len(kinds)])
    return events


@dataclass(slots=True)
class Writer:
    """Keeps events as the hub does: on a refusal it goes on in memory."""

    files: Files
    clock: VirtualClock = field(default_factory=VirtualClock)
    offered: list[Event] = field(default_factory=list)
    acknowledged: list[Event] = field(default_factory=list)
    refusals: list[str] = field(default_factory=list)
    journal: Journal | None = None
    torn_off: bytes = b""  # damaged bytes found at the start: never to be thrown away

    def create(self) -> None:
        """A new journal; tried again on a refusal, as a person would."""
        for _ in range(8):
            try:
                self.journal = Journal.create(FOLDER, self.moment, self.files, RESERVE)
                return
            except StoreError as error:
                self.refusals.append(str(error))

    def moment(self) -> Moment:
        """The clock's readings."""
        return self.clock.moment()

    def keep(self, events: Sequence[Event], between: Callable[[], None] | None = None) -> None:
        """Offer events one by one."""
        assert self.journal is not None
        for event in events:
            self.clock.jump(event.at)
            self.offered.append(event)
            try:
                self.journal.append(event)
                self.acknowledged = list(self.offered)
            except StoreError as error:
                self.refusals.append(str(error))
            if between:
                between()
