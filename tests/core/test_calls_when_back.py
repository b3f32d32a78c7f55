"""The program was away: is every limit that is up called at once, old or new?"""

from __future__ import annotations

from assistant.core.calls import CallTable
from assistant.core.due import Alarm

OLD = Alarm("limit", 1, 1, "nape", 100.0, 100.0)
NEW = Alarm("limit", 2, 2, "nape", 130.0, 130.0)


def _said(table: CallTable, known: list[Alarm], now: float) -> set[Alarm]:
    table.update([alarm for alarm in known if alarm.at <= now], known, now)
    return {alarm for spoken in table.to_say(known, now) for alarm in spoken.alarms}


def test_a_limit_called_before_does_not_wait_behind_one_that_passed_meanwhile() -> None:
    table = CallTable()
    assert _said(table, [OLD, NEW], 100.0) == {OLD}
    table.again(140.0)
    assert _said(table, [OLD, NEW], 140.0) == {OLD, NEW}


def test_a_new_limit_alone_does_not_repeat_the_others() -> None:
    table = CallTable()
    assert _said(table, [OLD, NEW], 125.0) == {OLD}
    assert _said(table, [OLD, NEW], 130.0) == {NEW}
