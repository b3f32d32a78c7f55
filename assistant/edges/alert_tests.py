"""Which alert tests are on record for a client, and what comes of them for today?

A test is written down by a command, or was told at the gate of an earlier service. A reaction
counts for good, until somebody lifts it by name.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import Any, Literal

from assistant.core.client_card import PastTest
from assistant.errors import ConfigError

Result = Literal["clear", "reaction", "lifted"]
RESULTS: tuple[Result, ...] = ("clear", "reaction", "lifted")
_TOLD_CLEAR = re.compile(r"clear, (\d+) days ago")
_AT_THE_GATE = "told at the gate"


@dataclass(frozen=True, slots=True)
class AlertTest:
    """One test: `day` is the day it was made; days from the leaflet, 0 = the salon's rule."""

    client: str
    day: date
    line: str
    result: Result
    who: str
    least_days: int = 0
    most_days: int = 0

    def problem(self, today: date) -> str | None:
        """Why it cannot be written down, or None."""
        if self.day > today:
            return f"{self.day} is still to come: write the day the test was made"
        if self.result == "lifted" and not self.who:
            return "who lifts a reaction? add --who"
        if self.result == "clear" and not self.line:
            return "a test is for one product line: add --line"
        if self.least_days < 0 or self.most_days < 0:
            return "days cannot be below zero: write them as the leaflet prints them"
        if self.most_days and self.least_days > self.most_days:
            return "the leaflet's first day is after its last: change them over"
        return None

    def as_text(self) -> str:
        """For the store."""
        return json.dumps({**asdict(self), "day": self.day.isoformat()}, ensure_ascii=False)

    @classmethod
    def from_text(cls, text: str) -> AlertTest:
        """From the store."""
        plain = json.loads(text)
        return cls(**{**plain, "day": date.fromisoformat(plain["day"])})


def read_day(text: str) -> date:
    """ "2026-11-20"; `ConfigError` says how to write it."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise ConfigError(f"{text!r} is no day: write it as 2026-11-20") from error


def told_at_gate(client: str, day: date, service: dict[str, Any]) -> AlertTest | None:
    """The test that was told when a service of this day began."""
    answer = dict(service.get("gate", ())).get("alert test", "")
    line = _first_product(service)
    if answer == "reaction":
        return AlertTest(client, day, line, "reaction", _AT_THE_GATE)
    clear = _TOLD_CLEAR.match(answer)
    if clear is None:
        return None
    made = day - timedelta(days=int(clear[1]))
    return AlertTest(client, made, line, "clear", _AT_THE_GATE)


def burned(client: str, day: date, service: dict[str, Any]) -> AlertTest | None:
    """Burning that was reported and not taken back is a reaction to a product."""
    if service.get("burns_at") is None:
        return None
    return AlertTest(client, day, _first_product(service), "reaction", "burning was reported")


def reaction_stands(tests: Iterable[AlertTest]) -> bool:
    """Whether there was a reaction that nobody lifted afterwards."""
    tests = tuple(tests)
    lifted = max((t.day for t in tests if t.result == "lifted"), default=date.min)
    return any(t.result == "reaction" and t.day > lifted for t in tests)


def newest_clear(tests: Sequence[AlertTest], today: date) -> PastTest | None:
    """The newest clear test. Of two on one day the one that was written with its line counts."""
    clear = [t for t in tests if t.result == "clear"]
    if not clear:
        return None
    test = max(clear, key=lambda t: (t.day, t.who != _AT_THE_GATE))
    days_ago = max(0, (today - test.day).days)
    return PastTest(days_ago, test.line, test.who, test.least_days, test.most_days)


def _first_product(service: dict[str, Any]) -> str:
    bowls = service.get("bowls") or [{}]
    return str(bowls[0].get("product", ""))
