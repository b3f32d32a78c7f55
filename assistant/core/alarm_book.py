"""Every alarm of every head, worked out anew only when its facts have changed.

A restart folds the events of a whole day, and most of them change nothing, or one head of eight.
"""

from __future__ import annotations

from collections.abc import Iterable

from assistant.core import due
from assistant.core.due import Alarm
from assistant.core.head import Head
from assistant.core.head_file import HeadFile

Facts = tuple[int, str, HeadFile]  # the head's number, its state, what happened


class AlarmBook:
    """The alarms of the heads that sit, or last sat, in the chairs."""

    def __init__(self) -> None:
        """No head yet."""
        self.broken: dict[int, Exception] = {}  # heads whose alarms cannot be worked out
        self._known: dict[int, tuple[Facts, list[Alarm]]] = {}  # chair -> its head's

    def of_all(self, heads: Iterable[Head]) -> list[Alarm]:
        """Past and to come."""
        return [alarm for head in heads for alarm in self._of(head)]

    def _of(self, head: Head) -> list[Alarm]:
        known = self._known.get(head.chair)
        if known is None or known[0] != (head.number, head.state, head.file):
            known = (head.number, head.state, head.file.copy()), self._worked_out(head)
            self._known[head.chair] = known
        return known[1]

    def _worked_out(self, head: Head) -> list[Alarm]:
        """What cannot be worked out must not silence the other chairs."""
        try:
            return due.alarms(head)
        except Exception as error:  # noqa: BLE001 - whatever it is, the others go on
            self.broken[head.number] = error
            return due.bare_limits(head)
