"""Everything that can happen (events) and everything the core may ask for (effects).

All are frozen dataclasses. `at` is salon time: seconds on one line that only `edges/clock.py`
makes (it survives sleep, clock steps and restarts). Events are what the journal keeps; a test
finds every event class and round-trips it.
"""

from __future__ import annotations

import types
from dataclasses import asdict, dataclass, is_dataclass
from enum import IntEnum
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from assistant.core import client_card

Mode = Literal[
    "open",
    "gate",
    "mix",
    "guide",
    "check",
    "rinse",
    "comfort",
    "call",
    "confirm",
    "which",
    "number",
    "lesson",
]
Device = Literal["microphone", "loudspeaker", "disk"]


class Priority(IntEnum):
    """What is spoken unasked, most urgent first (4 answers and guides)."""

    LIMIT = 1
    DUE = 2
    CHECK = 3
    GUIDE = 4


# ---------------------------------------------------------------- events


@dataclass(frozen=True, slots=True)
class SessionStarted:
    """The first record of a journal: it stands alone, so the recipes travel in it as text."""

    at: float
    utc: float  # seconds since 1970, for the record only
    chairs: int
    recipes: tuple[tuple[str, str], ...]  # (file name, its text)
    trainee: str = ""  # a pseudonym: the heads of this session are taught
    levels: tuple[tuple[str, int], ...] = ()  # (step, level) as they stood at the beginning


@dataclass(frozen=True, slots=True)
class Heard:
    """One whole utterance, known at `at`, begun at `began`; empty: something not to be heard.

    Words outside the grammar arrive as "[unk]" and are never stored. An answer begun before a
    question of ours expired still answers it.
    """

    at: float
    text: str
    began: float
    woken: bool = False  # a pedal or key stood in for the wake word
    source: str = ""  # recording id in a rehearsal, so that a resumed one does not repeat it


@dataclass(frozen=True, slots=True)
class Touched:
    """A large button on the board: "heard" or "rinsing" for one chair; chair 0: heard, the room."""

    at: float
    chair: int
    intent: Literal["heard", "rinsing"]


@dataclass(frozen=True, slots=True)
class ClockDue:
    """The time the salon asked to be woken at has come."""

    at: float


@dataclass(frozen=True, slots=True)
class SpeechDone:
    """A sentence ended: played to its end, cut by a more urgent one, or never sounded."""

    at: float
    say: int
    outcome: Literal["played", "cut", "failed"]


@dataclass(frozen=True, slots=True)
class DeviceLost:
    """A device went away. Clocks go on."""

    at: float
    device: Device


@dataclass(frozen=True, slots=True)
class DeviceBack:
    """A device is there again."""

    at: float
    device: Device


@dataclass(frozen=True, slots=True)
class Resumed:
    """The program was away. `certain` is False when the length of the gap is in doubt."""

    at: float
    away_seconds: float
    certain: bool


@dataclass(frozen=True, slots=True)
class ClientKnown:
    """Who sits, or will sit, in a chair, and what the records know; no card: they were not read."""

    at: float
    chair: int
    client: str  # a pseudonym or a number
    card: client_card.Card | None
    aloud: bool = True  # named by voice, so it is read back


Event = (
    SessionStarted
    | Heard
    | Touched
    | ClockDue
    | SpeechDone
    | DeviceLost
    | DeviceBack
    | Resumed
    | ClientKnown
)
EVENTS: dict[str, type[Any]] = {kind.__name__: kind for kind in get_args(Event)}
_HINTS = {kind: get_type_hints(kind) for kind in EVENTS.values()}

# --------------------------------------------------------------- effects

Value = str | int | float | tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Say:
    """Speak a phrase of `words/phrases.yaml`. `call` names the unasked call it belongs to."""

    id: int
    priority: Priority
    chair: int | None
    phrase: str
    values: tuple[tuple[str, Value], ...] = ()
    call: str = ""
    asks: Mode | None = None  # a question: this mode needs no wake word for some seconds after
    tone_only: bool = False  # a limit between two times in words
    fresh: bool = False  # a call that was never said yet: it goes before repeated ones


@dataclass(frozen=True, slots=True)
class Unsay:
    """What these calls say is no longer true: drop them from the queue if not yet spoken."""

    calls: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Listen:
    """From the next utterance on, listen in this mode."""

    mode: Mode


@dataclass(frozen=True, slots=True)
class WriteRecord:
    """A service ended (or changed after its end): the record of that chair is to be written."""

    chair: int
    head: int  # number of the head in this session


@dataclass(frozen=True, slots=True)
class LookUp:
    """What do the records know of this client? The answer comes as `ClientKnown`."""

    chair: int
    client: str


Effect = Say | Unsay | Listen | WriteRecord | LookUp

# ----------------------------------------------------------------- codec


def encode(event: Event) -> dict[str, Any]:
    """An event as plain JSON values, its class under "event"."""
    return {"event": type(event).__name__, **asdict(event)}


def decode(plain: dict[str, Any]) -> Event:
    """The event of `encode`; `ValueError` if the class or a field is unknown or missing."""
    given = dict(plain)
    kind = EVENTS.get(str(given.pop("event", "")))
    if kind is None:
        raise ValueError(f"unknown event {plain.get('event')!r}")
    hints = _HINTS[kind]
    if unknown := given.keys() - hints.keys():
        raise ValueError(f"{kind.__name__} has no field {sorted(unknown)[0]!r}")
    try:
        made: Event = kind(**{k: _typed(hints[k], v) for k, v in given.items()})
    except TypeError as error:
        raise ValueError(f"{kind.__name__}: {error}") from error
    return made


def _typed(hint: Any, value: Any) -> Any:
    """JSON has no tuples and no int/float difference: give back what the field declares."""
    origin = get_origin(hint)
    if origin is tuple:
        inner = get_args(hint)
        if not isinstance(value, (list, tuple)):
            raise ValueError(f"expected a list, found {value!r}")
        if inner[-1] is Ellipsis:
            return tuple(_typed(inner[0], item) for item in value)
        return tuple(_typed(kind, item) for kind, item in zip(inner, value, strict=True))
    if origin is Literal:
        if value not in get_args(hint):
            raise ValueError(f"expected one of {get_args(hint)}, found {value!r}")
        return value
    if origin in (Union, types.UnionType):
        parts = [kind for kind in get_args(hint) if is_dataclass(kind)]
        return _nested(parts[0], value) if parts and value is not None else value
    if is_dataclass(hint):
        return _nested(hint, value)
    if hint is float and isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    if not isinstance(value, hint):
        raise ValueError(f"expected {hint.__name__}, found {value!r}")
    return value


def _nested(kind: Any, value: Any) -> Any:
    """A dataclass inside an event."""
    hints = get_type_hints(kind)
    if not isinstance(value, dict) or set(value) - set(hints):
        raise ValueError(f"expected {kind.__name__}, found {value!r}")
    return kind(**{name: _typed(hints[name], part) for name, part in value.items()})
