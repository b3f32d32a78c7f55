"""Back from a restart: do calls and commands go before the day's records?"""

from __future__ import annotations

from pathlib import Path

from assistant.core.client_card import Card
from assistant.core.events import Event, Heard, Resumed, SessionStarted
from assistant.core.head import Head
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.edges.clock import VirtualClock
from assistant.edges.faulty_files import FaultyFiles
from assistant.edges.journal import Journal
from assistant.edges.virtual_voice import VirtualVoice
from assistant.edges.word_files import load_commands, load_phrases
from assistant.hub import Hub
from assistant.rehearsal import ScriptedEars
from tests.core.recipes import TWO_ZONES
from tests.wake import WAKE


class _Session:
    """A hub that writes down in which order things happen."""

    def __init__(self) -> None:
        self.clock = VirtualClock()
        self.happened: list[str] = []
        self.events: list[Event] = []
        self.hub = Hub(
            Salon(load_commands(), {TWO_ZONES.name: TWO_ZONES}, 4, SalonRule()),
            load_phrases(),
            clock=self.clock,
            journal=Journal.create(Path("salon"), self.clock.moment, FaultyFiles(), reserve=0),
            voice=VirtualVoice(self.clock, lambda say, text: 2.0),
            ears=ScriptedEars(self.clock),
            records=self,
        )
        self.hub.watch(self._watch)

    def _watch(self, event: Event, effects: object) -> None:
        self.events.append(event)
        self.happened.append(type(event).__name__)

    def write(self, head: Head) -> None:
        self.happened.append(f"record {head.number}")

    def card(self, client: str) -> Card:
        raise AssertionError("nobody is looked up here")


def heard(text: str) -> Event:
    return Heard(1.0, f"{WAKE} {text}", 1.0)


def back_after_three_services() -> _Session:
    """Three services were ended, the first corrected afterwards; then the program died."""
    first = _Session()
    first.hub.handle(SessionStarted(0.0, 0.0, 4, ()))
    for chair in ("one", "two", "three"):
        first.hub.handle(heard(f"chair {chair} start test tap"))
        first.hub.handle(heard(f"chair {chair} end this service"))
        first.hub.handle(heard(f"confirm chair {chair}"))
    first.hub.handle(heard("chair one note warmer next time"))
    records = [what for what in first.happened if what.startswith("record")]
    assert records == ["record 1", "record 2", "record 3", "record 1"]
    session = _Session()
    session.hub.replay(first.events)
    session.happened.clear()
    session.hub.handle(Resumed(2.0, 600.0, certain=True))
    return session


def test_calls_and_commands_come_before_the_records_of_before() -> None:
    session = back_after_three_services()
    session.hub.inbox.put(heard("what is due"))
    session.clock.at(30.0, session.hub.stop)
    session.hub.run()
    happened = [what for what in session.happened if what != "SpeechDone"]
    assert happened == ["Resumed", "record 1", "Heard", "record 2", "record 3"]
    assert session.hub.failures == 0


def test_a_session_that_ends_at_once_has_written_them_all() -> None:
    session = back_after_three_services()
    session.hub.stop()
    session.hub.run()
    assert session.happened == ["Resumed", "record 1", "record 2", "record 3"]
    session.hub.handle(heard("chair two note warmer next time"))
    assert session.happened[-2:] == ["record 2", "Heard"]  # a later one at once, as ever
