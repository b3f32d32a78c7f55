"""What may be heard: any words in any mode, and whole conversations of real commands.

An input of `talk` is read as bytes that choose: who speaks, which command with which fillings,
and how long until the next one.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from random import Random
from typing import get_args

from assistant.core import numbers
from assistant.core.events import (
    ClockDue,
    Device,
    DeviceBack,
    DeviceLost,
    Event,
    Heard,
    Mode,
    Resumed,
    Say,
    SessionStarted,
    SpeechDone,
    Touched,
)
from assistant.core.intents import (
    Chatter,
    Intent,
    Names,
    Unclear,
    is_address,
    is_complete,
    understand,
)
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.core.session_names import names_of
from assistant.edges.word_files import load_commands, load_phrases
from tests.core.service import GATE
from tests.fuzz.files import shipped_recipes

MODES: tuple[Mode, ...] = get_args(Mode)
DEVICES: tuple[Device, ...] = get_args(Device)
CHAIRS = 3
LONGEST = 80  # steps of one conversation
OPENING = ("start root tap", *GATE, "root bowl is mixed", "starting nape", "nape is on")


@cache
def names() -> Names:
    """The closed sets of the shipped recipes."""
    return names_of(load_commands(), shipped_recipes(), CHAIRS)


def words(data: bytes) -> None:
    """Any text in any mode: understood, unclear or chatter; without the wake word no command."""
    if not data:
        return
    mode, woken = MODES[data[0] % len(MODES)], bool(data[0] & 128)
    text = data[1:].decode("utf-8", "replace")
    told, known = load_commands(), names()
    meant = understand(text, told, known, mode, woken)
    if not isinstance(meant, Intent | Unclear | Chatter):
        raise AssertionError(f"{meant!r} is no meaning")
    if isinstance(meant, Intent) and mode == "open" and not woken and told.wake not in text:
        raise AssertionError(f"{text!r} without the wake word is taken as {meant}")
    if is_complete(text, told, known, mode) and not isinstance(
        understand(text, told, known, mode, woken=False), Intent
    ):
        raise AssertionError(f"{text!r} is complete, but nothing")
    is_address(text, told, known, mode)


# ------------------------------------------------------------ conversations


class Talk:
    """A salon that is talked to; its clocks must outlive whatever is said."""

    def __init__(self) -> None:
        self.salon = Salon(load_commands(), shipped_recipes(), CHAIRS, SalonRule())
        self.now = 0.0
        self._phrases = load_phrases()
        self._step(SessionStarted(0.0, 0.0, CHAIRS, ()))

    def hear(self, text: str) -> None:
        """Said, and answered aloud."""
        self._step(Heard(self.now, text, self.now))

    def wait(self, seconds: float) -> None:
        """With all that falls due meanwhile."""
        until = self.now + seconds
        while (moment := self.salon.next_moment()) is not None and moment <= until:
            if moment < self.now:
                raise AssertionError(f"to be woken at {moment}, which is past {self.now}")
            self.now = moment
            self._step(ClockDue(moment))
        self.now = until

    def happens(self, event: Event) -> None:
        """Any other event."""
        self._step(event)

    def _step(self, event: Event) -> None:
        running = self._running()
        effects = self.salon.step(event)
        if self.salon.broken:
            raise AssertionError(f"alarms that cannot be worked out: {self.salon.broken}")
        if not isinstance(event, Heard | Touched) and running - self._running():
            raise AssertionError(f"{event} stopped {running - self._running()}")
        for say in (effect for effect in effects if isinstance(effect, Say)):
            self._phrases.sentence(say)
            self._step(SpeechDone(self.now, say.id, "played"))

    def _running(self) -> set[tuple[int, str]]:
        return {
            (head.number, zone.zone.name)
            for head in self.salon.heads.values()
            for zone in head.file.zones
            if zone.running
        }


def talk(data: bytes) -> None:
    """Three bytes are a step: whom and what, which filling, how long until the next."""
    session = Talk()
    commands = session.salon.words.commands
    for place in range(0, min(len(data), 3 * LONGEST) - 2, 3):
        what, filling, pause = data[place : place + 3]
        rng = Random(filling)
        if what < len(GATE) + 5:
            session.hear(f"juniper {OPENING[what % len(OPENING)]}")
        elif what > 250:
            session.happens(_other(what, rng, session.now))
        else:
            command = commands[what % len(commands)]
            session.hear(_said(command.phrases[filling % len(command.phrases)], rng))
        session.wait(pause * pause / 20)


def _said(phrase: str, rng: Random) -> str:
    """A phrase with its slots filled; mostly with the wake word, often with a chair."""
    known = names()
    filled = {
        "zone": known.zones,
        "bowl": known.bowls,
        "recipe": known.recipes,
        "note": known.notes,
        "outcome": known.outcomes,
        "feel": known.feels,
        "number": tuple(numbers.vocabulary()),
        "ratio": ("one to one and a half", "one to two"),
        "client": ("four one seven", "twelve"),
        "chair": tuple(f"chair {numbers.spoken(n + 1)}" for n in range(CHAIRS)),
    }
    parts = [
        rng.choice(filled[part.strip("{}")]) if part.startswith("{") else part
        for part in phrase.split()
    ]
    if rng.random() < 0.5:
        parts.insert(0, rng.choice(filled["chair"]))
    if rng.random() < 0.8:
        parts.insert(0, load_commands().wake)
    return " ".join(parts)


def _other(what: int, rng: Random, now: float) -> Event:
    device = rng.choice(DEVICES)
    chair = rng.randint(1, CHAIRS)
    events: tuple[Event, ...] = (
        DeviceLost(now, device),
        DeviceBack(now, device),
        Resumed(now, rng.random() * 7200, rng.random() < 0.5),
        Touched(now, chair, "heard"),
        Touched(now, chair, "rinsing"),
    )
    return events[what % len(events)]


def seeds(name: str) -> Iterator[bytes]:
    """Sentences of every command; a service begun in the usual order."""
    if name == "words":
        for nth, command in enumerate(load_commands().commands):
            said = _said(command.phrases[0], Random(nth))
            yield bytes([nth % len(MODES)]) + said.encode()
        return
    yield bytes(byte for n in range(len(OPENING)) for byte in (n, n, 30))
    yield bytes(Random(1).randbytes(300))
