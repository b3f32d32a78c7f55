"""Does the loop go on when the disk refuses or a sentence cannot be made?"""

from __future__ import annotations

import errno
from pathlib import Path

from assistant.core.events import DeviceBack, DeviceLost, Event, Heard, SessionStarted
from assistant.core.phrases import Phrases
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.edges.clock import VirtualClock
from assistant.edges.faulty_files import Fault, FaultyFiles
from assistant.edges.journal import Journal, read
from assistant.edges.service_sheets import ServiceSheets
from assistant.edges.virtual_voice import VirtualVoice
from assistant.edges.word_files import load_commands, load_phrases
from assistant.hub import Hub
from assistant.rehearsal import ScriptedEars
from tests.core.recipes import TWO_ZONES
from tests.core.service import GATE
from tests.wake import WAKE

FOREVER = 10**9


class _Session:
    """A hub on a failing disk; every line is typed and waits for nothing."""

    def __init__(self, folder: Path, files: FaultyFiles, phrases: Phrases | None = None) -> None:
        self.clock = VirtualClock()
        self.files = files
        self.journal = Journal.create(Path("salon"), self.clock.moment, files, reserve=1000)
        self.voice = VirtualVoice(self.clock, lambda say, text: 2.0)
        self.hub = Hub(
            Salon(load_commands(), {TWO_ZONES.name: TWO_ZONES}, 4, SalonRule()),
            phrases or load_phrases(),
            clock=self.clock,
            journal=self.journal,
            voice=self.voice,
            ears=ScriptedEars(self.clock),
            records=ServiceSheets(folder),
        )
        self.events: list[Event] = []
        self.hub.watch(lambda event, effects: self.events.append(event))
        self.hub.watch(lambda event, effects: self.voice.ended(event))
        self.hub.handle(SessionStarted(0.0, 0.0, 4, ()))

    def hear(self, *lines: str) -> None:
        for line in lines:
            now = self.clock.now()
            self.hub.handle(Heard(now, f"{WAKE} {line}", now))

    def zone_on(self) -> None:
        """Up to the first clock."""
        self.hear("start test tap", *GATE, "root bowl is mixed", "starting nape", "nape is on")

    def until(self, seconds: float) -> None:
        self.clock.at(seconds, self.hub.stop)
        self.hub.run()

    def said(self) -> str:
        return " / ".join(sentence.text for sentence in self.voice.spoken)


def test_a_full_disk_is_spoken_and_every_clock_goes_on(tmp_path: Path) -> None:
    session = _Session(tmp_path, FaultyFiles())
    session.files.fault = Fault(1, FOREVER, errno.EIO, only="write")
    session.zone_on()
    session.until(21 * 60.0)
    assert sum(isinstance(event, DeviceLost) for event in session.events) == 1
    assert "disk" in session.said().lower()
    assert "Limit" in session.said()
    assert session.hub.failures == 0


def test_all_events_of_a_lost_disk_are_written_when_it_is_back(tmp_path: Path) -> None:
    session = _Session(tmp_path, FaultyFiles())
    session.files.fault = Fault(1, FOREVER, errno.EIO, only="write")
    session.zone_on()
    session.until(10.0)
    session.files.fault = None
    session.hear("what is due")
    assert isinstance(session.events[-1], DeviceBack)
    records, damage = read(session.journal.path, session.files)
    assert [record.event for record in records] == session.events
    assert damage is None


def test_a_disk_that_lives_on_its_reserve_is_spoken_too(tmp_path: Path) -> None:
    session = _Session(tmp_path, FaultyFiles(room=1200))
    session.zone_on()
    assert not session.journal.pending or session.journal.trouble
    assert sum(isinstance(event, DeviceLost) for event in session.events) == 1


def test_who_looks_on_and_fails_stops_nothing(tmp_path: Path) -> None:
    session = _Session(tmp_path, FaultyFiles())
    looked: list[Event] = []

    def look(event: Event, effects: object) -> None:
        looked.append(event)
        raise RuntimeError("a board that fails")

    session.hub.watch(look)
    session.zone_on()
    session.until(21 * 60.0)
    assert session.hub.failures == len(looked) > 10
    assert "Limit" in session.said()


def test_an_errand_that_fails_stops_nothing(tmp_path: Path) -> None:
    session = _Session(tmp_path, FaultyFiles())
    done: list[str] = []

    def fail() -> None:
        raise RuntimeError("a press that fails")

    session.hub.inbox.put(fail)
    session.hub.inbox.put(lambda: done.append("the next one"))
    session.hub.inbox.put(session.hub.stop)
    session.hub.run()
    assert session.hub.failures == 1
    assert done == ["the next one"]


def test_a_sentence_that_cannot_be_made_stops_nothing(tmp_path: Path) -> None:
    good = load_phrases()
    without_hello = {name: text for name, text in good.phrases.items() if name != "hello"}
    session = _Session(tmp_path, FaultyFiles(), Phrases(good.version, without_hello))
    assert session.hub.failures == 1
    session.zone_on()
    session.until(21 * 60.0)
    assert session.hub.failures == 1
    assert "Limit" in session.said()
