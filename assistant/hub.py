"""The one loop: event in, journal, effects out, next deadline. It owns the state.

Everything else talks to it through one inbox. An event counts once the journal has it; a disk
that refuses never stops the clocks: the event stays pending, the trouble is spoken.
"""

from __future__ import annotations

import logging
import queue
from collections.abc import Callable, Sequence
from typing import Protocol, TypeVar

from assistant.core.client_card import Card
from assistant.core.events import (
    ClientKnown,
    ClockDue,
    DeviceBack,
    DeviceLost,
    Effect,
    Event,
    Listen,
    LookUp,
    Mode,
    Say,
    Unsay,
    WriteRecord,
)
from assistant.core.head import Head
from assistant.core.phrases import Phrases
from assistant.core.salon import Salon
from assistant.errors import StoreError

log = logging.getLogger(__name__)
Item = TypeVar("Item")
Errand = Callable[[], None]  # something to be done on the hub's thread
Watcher = Callable[[Event, Sequence[Effect]], None]


class Clock(Protocol):
    """What the hub needs of a clock (edges/clock.py)."""

    def now(self) -> float:
        """Salon time."""

    def wait(self, inbox: queue.Queue[Item], until: float | None) -> Item | None:
        """The next item, or None when `until` has come."""


class Journal(Protocol):
    """What the hub needs of a journal (edges/journal.py)."""

    @property
    def trouble(self) -> str:
        """One line while the disk refuses or its reserve is in use; else empty."""

    def append(self, event: Event) -> object:
        """Keep an event, those pending first; `StoreError` if they are only pending."""

    def retry(self) -> bool:
        """Write what is pending; True if all is well."""


class Voice(Protocol):
    """What the hub needs of a voice."""

    def say(self, say: Say, text: str) -> None:
        """Queue a sentence."""

    def unsay(self, unsay: Unsay) -> None:
        """Drop waiting sentences of these calls."""


class Ears(Protocol):
    """What the hub needs of a listener."""

    def listen(self, mode: Mode) -> None:
        """From the next utterance on, listen in this mode."""


class Records(Protocol):
    """What the hub needs of the record store."""

    def write(self, head: Head) -> None:
        """Write (or correct) the record of a head; `StoreError` if the disk refuses."""

    def card(self, client: str) -> Card:
        """What is known of a client; an `AssistantError` if the records cannot be read."""


class Hub:
    """Runs a session until `stop` is called or nothing can happen any more."""

    def __init__(
        self,
        salon: Salon,
        phrases: Phrases,
        *,
        clock: Clock,
        journal: Journal,
        voice: Voice,
        ears: Ears,
        records: Records,
    ) -> None:
        """A hub over a salon and its edges; `inbox` takes events and errands from any thread."""
        self.salon = salon
        self.failures = 0  # events and effects that raised: 0 in every rehearsal
        self.inbox: queue.Queue[Event | Errand] = queue.Queue()
        self._phrases = phrases
        self._clock = clock
        self._journal = journal
        self._voice = voice
        self._ears = ears
        self._records = records
        self._watchers: list[Watcher] = []
        self._broken: set[int] = set()  # heads whose failing alarms were logged
        self._asked: list[LookUp] = []  # of clients, not answered yet
        self._replaying = False
        self._unwritten: dict[int, WriteRecord] = {}  # head -> its record of before a restart
        self._stopped = False

    def watch(self, watcher: Watcher) -> None:
        """Be told of every event with its effects, on the hub's thread."""
        self._watchers.append(watcher)

    def sentence(self, say: Say) -> str:
        """The words of a sentence."""
        return self._phrases.sentence(say)

    def stop(self) -> None:
        """Leave the loop after the present event."""
        self._stopped = True

    def run(self) -> None:
        """The loop."""
        while not self._stopped:
            try:
                item = self._clock.wait(self.inbox, self.salon.next_moment())
            except queue.Empty:  # a rehearsal has come to its end
                return
            if item is None:
                self.handle(ClockDue(self._clock.now()))
            elif callable(item):
                self._run(item)
            else:
                self.handle(item)
        while self._unwritten:
            self._run(self._write_next)

    def _run(self, errand: Errand) -> None:
        """Whoever sent it, a failing errand must not stop the clocks."""
        try:
            errand()
        except Exception:
            self.failures += 1
            log.exception("errand failed: %r", errand)

    def replay(self, events: Sequence[Event]) -> None:
        """Fold a journal's events: state and sentences as they were.

        Records are written again, since the program may have died between journal and record:
        one at a time while the loop runs, or a long day's would delay the first call by seconds.
        """
        self._replaying = True
        for event in events:
            self._carry_out(event, self._step(event))
        self._replaying = False

    def handle(self, event: Event) -> None:
        """One event: journal, step, effects."""
        trouble = self._keep(event)
        self._carry_out(event, self._step(event))
        if trouble is not None:
            self.handle(trouble)
        while self._asked:
            asked = self._asked.pop(0)
            self.look_up(asked.chair, asked.client, aloud=True)

    def look_up(self, chair: int, client: str, *, aloud: bool) -> None:
        """Who sits in a chair, and what the records know: an event, so that the journal has it."""
        card = None  # then the gate asks as for anybody
        try:
            card = self._records.card(client)
        except StoreError as error:
            log.error("the records of the client of chair %s cannot be read: %s", chair, error)
        except Exception:  # whatever it is, the clocks go on
            self.failures += 1
            log.exception("the records of the client of chair %s cannot be read", chair)
        self.handle(ClientKnown(self._clock.now(), chair, client, card, aloud))

    def _keep(self, event: Event) -> Event | None:
        """Journal it. The disk's going and coming back are events too.

        While the disk is lost every event is still offered: the journal keeps it pending.
        """
        lost = "disk" in self.salon.lost
        try:
            self._journal.append(event)
            if lost:
                return DeviceBack(event.at, "disk") if self._journal.retry() else None
        except StoreError as error:
            log.error("%s", error)
        about_disk = isinstance(event, DeviceLost | DeviceBack) and event.device == "disk"
        if lost or about_disk or not self._journal.trouble:
            return None
        return DeviceLost(event.at, "disk")

    def _step(self, event: Event) -> Sequence[Effect]:
        """A failing step is logged and counted; the clocks go on."""
        try:
            effects = self.salon.step(event)
        except Exception:
            self.failures += 1
            log.exception("event failed: %r", event)
            return ()
        for number in self.salon.broken.keys() - self._broken:
            self.failures += 1
            log.error("alarms of head %d failed", number, exc_info=self.salon.broken[number])
            self._broken.add(number)
        return effects

    def _carry_out(self, event: Event, effects: Sequence[Effect]) -> None:
        if isinstance(event, ClientKnown):  # a journal played again has the answer, too
            self._asked = [
                a for a in self._asked if (a.chair, a.client) != (event.chair, event.client)
            ]
        for effect in effects:
            try:
                self._carry_out_one(effect)
            except Exception:  # a sentence that cannot be made must not keep the next from sounding
                self.failures += 1
                log.exception("effect failed: %r", effect)
        for watcher in self._watchers:
            try:
                watcher(event, effects)
            except Exception:  # whoever looks on must not stop the clocks
                self.failures += 1
                log.exception("watching failed: %r", event)

    def _carry_out_one(self, effect: Effect) -> None:
        match effect:
            case Say():
                self._voice.say(effect, self.sentence(effect))
            case Unsay():
                self._voice.unsay(effect)
            case Listen():
                self._ears.listen(effect.mode)
            case WriteRecord() if self._replaying:
                if not self._unwritten:
                    self.inbox.put(self._write_next)
                self._unwritten[effect.head] = effect
            case WriteRecord():
                self._write_record(effect)
            case LookUp():
                self._asked.append(effect)

    def _write_next(self) -> None:
        """One record of before the restart; whatever came meanwhile goes before the next one."""
        if self._unwritten:
            effect = self._unwritten.pop(next(iter(self._unwritten)))  # in their order
            self.inbox.put(self._write_next)
            self._write_record(effect)

    def _write_record(self, effect: WriteRecord) -> None:
        try:
            self._records.write(self.salon.history[effect.head - 1])
        except StoreError as error:  # the journal still has it: written again at the next start
            log.error("record of chair %s: %s", effect.chair, error)
