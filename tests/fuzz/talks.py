"""Whole conversations: real commands, devices lost and found, absences, touches of the board.

An input is a text that can be read and kept for years. A line is a wait in seconds and what then
is said, `90 <wake> nape is on`, or what happens: `3 !lost microphone`, `0 !back microphone`,
`5 !away 600 doubt`, `0 !touch 2 heard`. A line without a number follows at once.
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
    Resumed,
    Say,
    SessionStarted,
    SpeechDone,
    Touched,
)
from assistant.core.intents import Names
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.core.script import Script
from assistant.core.session_names import names_of
from assistant.edges import script_files
from assistant.edges.word_files import load_commands, load_phrases
from tests.core.service import GATE
from tests.fuzz.files import shipped_recipes

DEVICES: tuple[Device, ...] = get_args(Device)
TOUCHES = ("heard", "rinsing")
CHAIRS = 3
LONGEST = 120  # lines of one conversation
LONGEST_WAIT = 3600.0
AWAKE = 12  # moments of one wait that it wakes for; then it sleeps to the end of the wait
OPENING = (*GATE, "root bowl is mixed", "starting nape", "nape is on")


class Talk:
    """A salon that is talked to; its clocks must outlive whatever is said."""

    def __init__(self) -> None:
        self.salon = Salon(load_commands(), shipped_recipes(), CHAIRS, SalonRule())
        self.now = 0.0
        self._phrases = load_phrases()
        self._step(SessionStarted(0.0, 0.0, CHAIRS, ()))

    def line(self, text: str) -> None:
        """One line of an input."""
        first, _, rest = text.partition(" ")
        seconds = _number(first)
        self.wait(min(seconds or 0.0, LONGEST_WAIT))
        said = text if seconds is None else rest
        self._step(_event(said.split(), self.now) or Heard(self.now, said, self.now))

    def wait(self, seconds: float) -> None:
        """With what falls due meanwhile; a limit repeated for an hour would only take time."""
        until = self.now + seconds
        for _ in range(AWAKE):
            moment = self.salon.next_moment()
            if moment is None or moment > until:
                break
            if moment < self.now:
                raise AssertionError(f"to be woken at {moment}, which is past {self.now}")
            self.now = moment
            self._step(ClockDue(moment))
        self.now = until
        self._step(ClockDue(until))

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
    """A conversation, line by line."""
    session = Talk()
    for line in data.decode("utf-8", "replace").splitlines()[:LONGEST]:
        session.line(line)


def _number(text: str) -> float | None:
    return float(text) if text.isascii() and text.replace(".", "", 1).isdigit() else None


def _event(words: list[str], now: float) -> Event | None:
    """What happens besides speech, or None if the line is speech."""
    match words:
        case ["!lost", name] if name in DEVICES:
            return DeviceLost(now, name)
        case ["!back", name] if name in DEVICES:
            return DeviceBack(now, name)
        case ["!away", seconds, *doubt] if (away := _number(seconds)) is not None:
            return Resumed(now, min(away, 2 * LONGEST_WAIT), not doubt)
        case ["!touch", chair, ("heard" | "rinsing") as intent] if chair.isdecimal():
            return Touched(now, int(chair[:3]), intent)
    return None


# ------------------------------------------------------------ inputs


@cache
def names() -> Names:
    """The closed sets of the shipped recipes."""
    return names_of(load_commands(), shipped_recipes(), CHAIRS)


@cache
def _fillings() -> dict[str, tuple[str, ...]]:
    """What may stand in each slot of a phrase."""
    known = names()
    return {
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


def said(phrase: str, rng: Random) -> str:
    """A phrase with its slots filled; mostly with the wake word, often with a chair."""
    filled = _fillings()
    parts = [
        rng.choice(filled[part.strip("{}")]) if part.startswith("{") else part
        for part in phrase.split()
    ]
    if rng.random() < 0.5:
        parts.insert(0, rng.choice(filled["chair"]))
    if rng.random() < 0.8:
        parts.insert(0, load_commands().wake)
    return " ".join(parts)


def _any_line(rng: Random) -> str:
    """A command of any kind, seldom an event."""
    wait = rng.choice((0, 1, 5, 30, 100, 300, 1000, 3000))
    if rng.random() < 0.1:
        return f"{wait} {_any_event(rng)}"
    return f"{wait} {said(rng.choice(rng.choice(load_commands().commands).phrases), rng)}"


def _any_event(rng: Random) -> str:
    device, chair = rng.choice(DEVICES), rng.randint(1, CHAIRS)
    away = f"!away {rng.randint(0, 7200)}{rng.choice(('', ' doubt'))}"
    touch = f"!touch {chair} {rng.choice(TOUCHES)}"
    return rng.choice((f"!lost {device}", f"!back {device}", away, touch))


def _service(rng: Random) -> list[str]:
    """A client seated and the first zone on."""
    wake, chair = load_commands().wake, rng.choice(_fillings()["chair"])
    return [f"3 {wake} {chair} {text}" for text in ("start root tap", *OPENING)]


def changed(data: bytes, rng: Random) -> bytes:
    """One to eight changes of lines: put in, taken out, moved, at another time."""
    lines = data.decode("utf-8", "replace").splitlines()
    for _ in range(rng.choice((1, 2, 4, 8))):
        at = rng.randrange(len(lines) + 1)
        match rng.randrange(8):
            case 0 if lines:
                del lines[at - 1]
            case 1 if lines:
                lines.insert(at, lines.pop(rng.randrange(len(lines))))
            case 2 if lines:
                lines[at - 1] = f"{rng.randint(0, 1500)} {lines[at - 1].partition(' ')[2]}"
            case 3 if rng.random() < 0.3:
                lines[at:at] = _service(rng)
            case _:
                lines.insert(at, _any_line(rng))
    return "\n".join(lines[:LONGEST]).encode()


def seeds() -> Iterator[bytes]:
    """A service begun in the usual order; what is spoken in every shipped rehearsal."""
    yield "\n".join(_service(Random(1))).encode()
    for name in script_files.names():
        yield _spoken(script_files.load(name)).encode()


def _spoken(script: Script) -> str:
    told, before = [], 0.0
    for line in script.lines:
        device, _, what = (line.happens or "").partition(" ")
        event = f"!{what} {device}" if device in DEVICES else "!away 600 doubt"
        told.append(f"{line.at.seconds - before:g} {line.words(load_commands().wake) or event}")
        before = line.at.seconds
    return "\n".join(told)
