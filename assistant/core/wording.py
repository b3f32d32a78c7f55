"""Which phrase a call takes: chair, zone, state, action; lateness first on a repeat."""

from __future__ import annotations

from assistant.core import numbers
from assistant.core.call import Spoken
from assistant.core.calls import MOST_ITEMS
from assistant.core.events import Mode, Value

_ASKS: dict[str, Mode] = {
    "check": "check",
    "window": "check",
    "due": "check",
    "limit": "call",
    "near": "check",
    "rinsing": "rinse",
    "left_in": "rinse",
    "pace": "call",
    "bowl": "call",
    "start": "call",
    "stylist": "call",
    "burns": "call",
    "uncertain": "check",
    "broken": "call",
    "microphone": "call",
    "loudspeaker": "call",
    "disk": "call",
}


def call_phrase(
    spoken: Spoken, at: float
) -> tuple[str, tuple[tuple[str, Value], ...], Mode | None]:
    """Phrase, values and question of a call."""
    kinds = {alarm.kind for alarm in spoken.alarms if alarm.at <= at}
    first = spoken.alarms[0]
    kind = "window" if "window" in kinds else first.kind
    chairs = sorted({alarm.chair for alarm in spoken.alarms if alarm.chair is not None})
    if len(chairs) > 1:
        return f"call_{kind}_chairs", (("chairs", _named(chairs)),), _ASKS[kind]
    late = {int((at - alarm.at) // 60) for alarm in spoken.alarms}
    phrase = f"call_{kind}"
    # zones that are late by different minutes get no number: it would be wrong for one of them
    if kind in ("limit", "due") and spoken.repeat and len(late) == 1 and min(late) >= 1:
        phrase += "_late"
    by_limit = sorted(spoken.alarms, key=lambda alarm: alarm.limit_at)
    values: dict[str, Value] = {"zones": tuple(alarm.subject for alarm in by_limit)}
    if first.chair is not None:
        values["chair"] = first.chair
    if phrase.endswith("_late"):
        values["late"] = late.pop()
    if kind == "near":
        values["left"] = max(1, round((first.limit_at - at) / 60))
    return phrase, tuple(values.items()), _ASKS[kind]


def _named(chairs: list[int]) -> str:
    """ "chairs two and four", "four chairs": never more than three numbers in one breath."""
    if len(chairs) > MOST_ITEMS:
        return f"{numbers.spoken(len(chairs))} chairs"
    words = [numbers.spoken(chair) for chair in chairs]
    return f"chairs {', '.join(words[:-1])} and {words[-1]}"
