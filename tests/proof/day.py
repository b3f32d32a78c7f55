"""A whole day of the real hub, salon and journal on a simulated machine that is treated badly."""

from __future__ import annotations

import queue
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from random import Random

from assistant.core.events import Effect, Event, Heard, Priority, Say, SessionStarted
from assistant.core.intents import Words
from assistant.core.phrases import Phrases
from assistant.core.recipe import Recipe
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.edges.clock import SystemClock
from assistant.edges.faulty_files import Fault, FaultyFiles, PowerCut
from assistant.edges.journal import Journal, latest
from assistant.edges.simulated_machine import SimulatedMachine
from assistant.edges.virtual_voice import Sentence, VirtualVoice
from assistant.hub import Hub
from tests.proof.kept_fold import KeptFold
from tests.proof.staff import Pause, Staff, Utterance
from tests.proof.stand_ins import Agenda, NoEars, NoRecords, SwitchedVoice

FOLDER = Path("salon")
CHAIRS = 8


class Killed(BaseException):
    """`kill -9`, or the end of the day."""


class PowerLost(BaseException):
    """The machine goes down with the program; what was not synced may be lost or half there."""


@dataclass(frozen=True, slots=True)
class Book:
    """What every life of the program reads at its start."""

    words: Words
    phrases: Phrases
    recipes: dict[str, Recipe]


@dataclass(slots=True)
class Log:
    """What was observed from outside, in true seconds."""

    calls: dict[str, list[float]] = field(default_factory=dict)  # call key -> when spoken
    urgent: list[float] = field(default_factory=list)  # when anything of priority 1 was spoken
    away: list[tuple[float, float]] = field(default_factory=list)
    sounded: dict[str, float] = field(default_factory=dict)  # limit key -> first heard in the room
    failures: int = 0
    events: int = 0


class Day:
    """One day: eight chairs, a machine, a disk, and a program that is killed and started again."""

    def __init__(
        self, book: Book, seed: int, rtc: bool = True, folds: KeptFold | None = None
    ) -> None:
        """With `folds` most restarts go on from the fold of the one before."""
        self.machine = SimulatedMachine(rtc=rtc)
        self.disk = FaultyFiles()
        self.log = Log()
        self.rng = Random(seed)
        self.staff = [Staff(n + 1, Random(seed * 100 + n), book.recipes) for n in range(CHAIRS)]
        self.salon: Salon
        self._work = [iter(each.work()) for each in self.staff]
        self._said: dict[str, float] = {}  # what waits to be taken in -> when it was said
        self._waiting_words: dict[str, tuple[int, Utterance]] = {}
        self._book = book
        self._folds = folds
        self._agenda: Agenda | None = None
        self._replaying = False
        self._stepped = 0.0
        self._down_since: float | None = None

    # --------------------------------------------------------------- a life

    def run(self, until: float) -> None:
        """Start the program, and again after every death, until the day ends."""
        self.machine.at(until, self._end)
        for chair in range(CHAIRS):
            self._go_on(chair)
        while self.machine.true < until:
            machine_too = self._until_death()
            if self._down_since is None:  # else it died again before it was back
                self._down_since = self.machine.true
            if self._agenda:
                self._agenda.alive = False
            self._agenda = None
            self.disk = self.disk.survivor("some" if machine_too else "everything", self.rng)
            if machine_too:
                self.machine.restart(off_seconds=self.rng.uniform(1, 1800))
            elif self.machine.true < until:
                self._stay_dead()
        if self._down_since is not None:
            self.log.away.append((self._down_since, float("inf")))

    def _until_death(self) -> bool:
        """One life of the program; whether the machine died too."""
        try:
            self._live()
        except (Killed, PowerCut):
            return False
        except PowerLost:
            return True
        return False

    def _live(self) -> None:
        clock = SystemClock(self.machine.sources(), self.machine.get)
        path = latest(FOLDER, self.disk)
        if path is None:
            journal, events, resumed = self._first(clock)
        else:
            journal, records, _ = Journal.open(path, clock.moment, self.disk, 0)
            events = [record.event for record in records]
            resumed = clock.resume(records[-1].moment)
        salon, known = self._new_salon(), 0
        if self._folds is not None:
            salon, known = self._folds.begin(events, self._new_salon)
        hub = self._hub(clock, journal, salon)
        self._replaying = True
        hub.replay(events[known:])
        self._replaying = False
        if self._folds is not None:
            self._folds.keep(events, salon)
        self._voice_starts(hub, clock)
        hub.handle(resumed)
        if self._down_since is not None:
            self.log.away.append((self._down_since, self.machine.true))
            self._down_since = None
        self._say_again()
        hub.run()

    def _first(self, clock: SystemClock) -> tuple[Journal, list[Event], Event]:
        journal = Journal.create(FOLDER, clock.moment, self.disk, 0)
        return journal, [], SessionStarted(clock.now(), 0.0, CHAIRS, ())

    def _new_salon(self) -> Salon:
        return Salon(self._book.words, self._book.recipes, CHAIRS, SalonRule())

    def _hub(self, clock: SystemClock, journal: Journal, salon: Salon) -> Hub:
        self.salon = salon
        self._voice = SwitchedVoice()
        hub = Hub(
            salon,
            self._book.phrases,
            clock=clock,
            journal=journal,
            voice=self._voice,
            ears=NoEars(),
            records=NoRecords(),
        )
        hub.watch(self._watch)
        self._inbox, self._clock, self._live_hub = hub.inbox, clock, hub
        return hub

    def _voice_starts(self, hub: Hub, clock: SystemClock) -> None:
        """A fresh voice: what was being said or waiting to be said at the death is gone."""
        self._agenda = Agenda(self.machine, clock, hub.inbox)
        self._voice.to = VirtualVoice(self._agenda, lambda say, text: 0.5 + 0.06 * len(text))

    def _watch(self, event: Event, effects: Sequence[Effect]) -> None:
        self.log.failures = max(self.log.failures, self._live_hub.failures)
        if isinstance(event, Heard) and event.source in self._said:
            self._taken_in(event.source)
        if self._replaying:
            return
        self.log.events += 1
        for effect in effects:
            if isinstance(effect, Say):
                if effect.priority == Priority.LIMIT:
                    self.log.urgent.append(self.machine.true)
                for key in effect.call.split():
                    self.log.calls.setdefault(key, []).append(self.machine.true)
        if self._voice.to:
            self._voice.to.ended(event)
            self._listen_in(self._voice.to.spoken)

    def _listen_in(self, spoken: list[Sentence]) -> None:
        """When a limit was first heard in the room; sentences long over are forgotten."""
        for sentence in spoken:
            for key in sentence.say.call.split():
                if key.startswith("limit/"):
                    begins = self.machine.true + sentence.starts_at - self._clock.now()
                    self.log.sounded.setdefault(key, begins)
        del spoken[:-1]

    # --------------------------------------------------------------- people

    def _go_on(self, chair: int) -> None:
        step = next(self._work[chair])
        if isinstance(step, Pause):
            self.machine.at(self.machine.true + step.seconds, partial(self._paused, chair))
        else:
            self._speak(chair, step, f"{chair}/{self.rng.random()}")

    def _paused(self, chair: int) -> None:
        self.staff[chair].done_at = self.machine.true
        self._go_on(chair)

    def _speak(self, chair: int, words: Utterance, source: str) -> None:
        if self._agenda is None:  # nobody answers: say it again in a moment
            self.machine.at(self.machine.true + 2.0, partial(self._speak, chair, words, source))
            return
        now = self._clock.now()
        self._said[source] = self.machine.true
        self._waiting_words[source] = (chair, words)
        self._inbox.put(Heard(now, words.text, max(0.0, now - 2.0), source=source))

    def _say_again(self) -> None:
        """After a restart: whatever the program does not know of is said once more."""
        for source, (chair, words) in list(self._waiting_words.items()):
            self._speak(chair, words, source)

    def _taken_in(self, source: str) -> None:
        chair, _ = self._waiting_words.pop(source)
        person = self.staff[chair]
        person.done_at = self._said.pop(source)
        person.head = self.salon.heads[chair + 1].number
        self.machine.at(self.machine.true, partial(self._go_on, chair))

    # ------------------------------------------------------------ ill treatment

    def treat(self, until: float, kills: int, steps: int, sleeps: int, powers: int) -> None:
        """Spread so many of each over the day."""
        for _ in range(powers):
            self.machine.at(self.rng.uniform(60, until), self.lose_power)
        for _ in range(kills):
            self.machine.at(self.rng.uniform(60, until), self._kill)
        for _ in range(steps):
            self.machine.at(self.rng.uniform(60, until), self._step_clock)
        for _ in range(sleeps):
            self.machine.at(self.rng.uniform(60, until), self._sleep)

    def _kill(self) -> None:
        """At once, or inside one of the next calls to the disk."""
        if self._agenda is None:
            return
        if self.rng.random() < 0.4:
            raise Killed
        nth = len(self.disk.calls) + self.rng.randint(1, 6)
        self.disk.fault = Fault(nth, nth, torn=self.rng.randint(0, 200))

    def lose_power(self) -> None:
        """Not just after the clock was set: then nobody could know how long it was off."""
        if self._agenda is not None and self.machine.true - self._stepped > 120:
            raise PowerLost

    def _step_clock(self) -> None:
        self._stepped = self.machine.true
        size = self.rng.choice((1.0, 262.0, 3600.0, 86_400.0))
        if self.rng.random() < 0.2:
            self.machine.set_utc(0.0)
        else:
            self.machine.step_utc(self.rng.choice((-size, size)))

    def _sleep(self) -> None:
        began = self.machine.true
        self.machine.sleep(self.rng.uniform(10, 1800))
        if self._agenda is not None:
            self.log.away.append((began, self.machine.true))

    def _stay_dead(self) -> None:
        """Until somebody starts it again; people go on working meanwhile."""
        back = self.machine.true + self.rng.choice((0.5, 2.0, 5.0, 60.0, 400.0))
        nobody: queue.Queue[Event] = queue.Queue()
        while self.machine.true < back:
            with suppress(Killed, PowerLost):
                self.machine.get(nobody, back - self.machine.true)

    def _end(self) -> None:
        raise Killed
