"""What is a record as it lies in the store?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
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
        """The day of a record, in UTC."""
        return datetime.fromtimestamp(self.first_utc, UTC).date()
