"""Plays a scripted service on the virtual clock, through the real hub, core, journal and voice.

Only three edges are swapped: the clock jumps, what is heard comes from recordings (or is
typed), and the voice speaks on the virtual clock. A kill in the script, or a killed process,
goes on from the journal as a live session would.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from assistant.core.events import (
    DeviceBack,
    DeviceLost,
    Effect,
    Event,
    Heard,
    Mode,
    Resumed,
    Say,
    SessionStarted,
)
from assistant.core.intents import Words
from assistant.core.moment import Moment
from assistant.core.phrases import Phrases
from assistant.core.recipe import Recipe
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.core.script import Line, Script
from assistant.edges.clock import VirtualClock
from assistant.edges.journal import Journal
from assistant.edges.journal_lines import Damage, Record
from assistant.edges.recogniser import Utterance
from assistant.edges.virtual_voice import Sentence, VirtualVoice
from assistant.hub import Hub, Records

AFTERWARDS = 15.0  # seconds that a rehearsal goes on after its last line or expectation


class Hearing(Protocol):
    """Turns a line of the script into what was understood."""

    def seconds(self, line: Line) -> float:
        """How long the recording is."""

    def hear(self, line: Line, mode: Mode) -> Utterance:
        """What the recogniser makes of it in this mode; `known_after` in samples at 16 kHz."""


@dataclass(frozen=True, slots=True)
class Stage:
    """Everything a rehearsal plays with."""

    words: Words
    phrases: Phrases
    recipes: Mapping[str, Recipe]
    recipe_texts: tuple[tuple[str, str], ...]
    rule: SalonRule
    hearing: Hearing
    seconds_of: Callable[[Say, str], float]
    records: Records
    begin: Callable[[], None] = lambda: None  # the records as they stood before
    clock: Callable[[], VirtualClock] = VirtualClock
    built: Callable[[Hub, VirtualClock], None] = lambda hub, clock: None  # also after a restart


@dataclass(frozen=True, slots=True)
class HeardLine:
    """One line of the script as it came out. `missed`: said while the voice was speaking."""

    at: float
    line: Line
    text: str
    missed: bool


@dataclass(frozen=True, slots=True)
class Played:
    """A rehearsal from its first to its last second."""

    salon: Salon
    spoken: tuple[Sentence, ...]
    heard: tuple[HeardLine, ...]
    ended_at: float
    damage: Damage | None


class ScriptedEars:
    """Remembers which mode was listened in from when: a recording is decoded in that mode."""

    def __init__(self, clock: VirtualClock) -> None:
        """Open mode until told otherwise."""
        self._clock = clock
        self._modes: list[tuple[float, Mode]] = [(0.0, "open")]

    def listen(self, mode: Mode) -> None:
        """From now on."""
        self._modes.append((self._clock.now(), mode))

    def mode_at(self, when: float) -> Mode:
        """The mode at a time."""
        return next(mode for since, mode in reversed(self._modes) if since <= when)


class Rehearsal:
    """One script being played into a folder (journal, later transcript, sound and picture)."""

    def __init__(self, script: Script, stage: Stage, folder: Path) -> None:
        """Nothing is played yet."""
        self._script = script
        self._stage = stage
        self._folder = folder
        self._spans = [
            (line.at.seconds, line.at.seconds + stage.hearing.seconds(line))
            for line in script.lines
            if not line.happens
        ]
        self._killed: set[int] = set()
        self._rebuild: Callable[[], None] | None = None
        self._damage: Damage | None = None
        self._clock = self._stage.clock()

    def play(self) -> Played:
        """From the beginning."""
        self._stage.begin()
        self._build(Journal.create(self._folder, self._moment, reserve=0))
        self._put_on_agenda(frozenset(), -1.0)
        self._hub.handle(
            SessionStarted(
                0.0,
                self._clock.moment().utc,
                self._script.chairs,
                self._stage.recipe_texts,
                self._script.trainee,
                self._script.levels(),
            )
        )
        for seat in self._script.seats:
            self._hub.look_up(seat.chair, seat.client, aloud=False)
        return self._go()

    def resume(self, journal: Path) -> Played:
        """From where the journal of a killed rehearsal ends."""
        opened, records, self._damage = Journal.open(journal, self._moment, reserve=0)
        if not records:
            opened.close()
            return self.play()
        self._go_on_from(opened, records, away=None)
        return self._go()

    # ----------------------------------------------------------- the parts

    def _moment(self) -> Moment:
        return self._clock.moment()

    def _build(self, journal: Journal) -> None:
        stage, clock = self._stage, self._clock
        self._journal = journal
        self._salon = Salon(stage.words, stage.recipes, self._script.chairs, stage.rule)
        self._voice = VirtualVoice(clock, stage.seconds_of, self._spans)
        self._ears = ScriptedEars(clock)
        self._heard: list[HeardLine] = []
        self._hub = Hub(
            self._salon,
            stage.phrases,
            clock=clock,
            journal=journal,
            voice=self._voice,
            ears=self._ears,
            records=stage.records,
        )
        self._hub.watch(self._watch)
        stage.built(self._hub, clock)

    def _watch(self, event: Event, effects: Sequence[Effect]) -> None:
        self._voice.ended(event)
        if isinstance(event, Heard):
            line = self._script.lines[int(event.source)]
            self._heard.append(HeardLine(event.at, line, event.text, not event.text))

    def _go(self) -> Played:
        while True:
            self._hub.run()
            if self._rebuild is None:
                break
            rebuild, self._rebuild = self._rebuild, None
            rebuild()
        self._journal.close()
        return Played(
            self._salon,
            tuple(self._voice.spoken),
            tuple(self._heard),
            self._clock.now(),
            self._damage,
        )

    # ------------------------------------------------------------- agenda

    def _put_on_agenda(self, done: frozenset[str], last: float) -> None:
        for index, line in enumerate(self._script.lines):
            at = line.at.seconds
            if line.happens:
                if at > last and index not in self._killed:
                    self._clock.at(at, self._happening(index, line))
            elif str(index) not in done:
                self._clock.at(at, self._cue(index, line))
        ends = [line.at.seconds for line in self._script.lines]
        ends += [want.by.seconds for want in self._script.expect]
        self._clock.at(max(ends) + AFTERWARDS, lambda: self._hub.stop())

    def _cue(self, index: int, line: Line) -> Callable[[], None]:
        """A recording starts: decode it in the mode of that moment, hand it over at its end."""
        begins, ends = self._spans_of(line)

        def start() -> None:
            mode = self._ears.mode_at(begins)
            heard = self._stage.hearing.hear(line, mode)
            known = begins + heard.known_after / 16_000

            def arrive() -> None:
                gated = self._voice.speaking(begins, min(ends, known))
                text = "" if gated else heard.text
                self._hub.handle(
                    Heard(max(known, self._clock.now()), text, begins, source=str(index))
                )

            self._clock.at(known, arrive)

        return start

    def _spans_of(self, line: Line) -> tuple[float, float]:
        begins = line.at.seconds
        return begins, begins + self._stage.hearing.seconds(line)

    def _happening(self, index: int, line: Line) -> Callable[[], None]:
        def happen() -> None:
            now = self._clock.now()
            match line.happens:
                case "microphone lost":
                    self._hub.handle(DeviceLost(now, "microphone"))
                case "microphone back":
                    self._hub.handle(DeviceBack(now, "microphone"))
                case "loudspeaker lost":
                    self._hub.handle(DeviceLost(now, "loudspeaker"))
                case "loudspeaker back":
                    self._hub.handle(DeviceBack(now, "loudspeaker"))
                case "kill" | "power lost":
                    self._killed.add(index)
                    away = line.minutes * 60 if line.happens == "power lost" else None
                    self._rebuild = lambda: self._reopen(away)
                    self._hub.stop()

        return happen

    # ------------------------------------------------------------- restart

    def _reopen(self, away: float | None) -> None:
        """The program is gone: everything comes back from the journal alone."""
        now, path = self._clock.now(), self._journal.path
        self._journal.close()
        journal, records, self._damage = Journal.open(path, self._moment, reserve=0)
        self._go_on_from(journal, records, away, now)

    def _go_on_from(
        self,
        journal: Journal,
        records: Sequence[Record],
        away: float | None,
        killed_at: float = 0.0,
    ) -> None:
        self._clock = self._stage.clock()
        self._build(journal)
        self._voice.replaying = True
        for record in records:
            self._clock.jump(record.event.at)
            self._hub.replay([record.event])
        done = frozenset(r.event.source for r in records if isinstance(r.event, Heard))
        last = records[-1].event.at
        self._put_on_agenda(done, last)
        if away is None:
            self._voice.go_on()
        else:
            self._voice.replaying = False
            self._clock.jump(killed_at + away)
            self._hub.handle(Resumed(self._clock.now(), away, certain=False))
