"""What is a record as it lies in the store?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class Entry:
    """What somebody wrote into a field, and when: the last one of a field is the valid one."""

    utc: float
    field: str
    value: str
    who: str


@dataclass(frozen=True, slots=True)
class Stored:
    """One record as it lies in the store."""

    id: int
    session: str
    head: int
    first_utc: float
    service: dict[str, Any]
    entries: tuple[Entry, ...]
    asked: dict[str, str | float]  # the client's newest consultation of then

    def written(self) -> dict[str, str]:
        """The valid value of every field that was written."""
        return {entry.field: entry.value for entry in self.entries}

    @property
    def client(self) -> str:
        """Who it was: what people wrote comes before what was heard."""
        return self.written().get("client") or str(self.service.get("client", ""))

    @property
    def day(self) -> date:
        """The day of a record, as the salon's calendar has it."""
        return local_day(self.first_utc)


def local_day(utc: float) -> date:
    """The day at this place: two days to wait are two nights here, not in Greenwich."""
    return datetime.fromtimestamp(utc).date()
