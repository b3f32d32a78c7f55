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


def test_waking_from_sleep_is_noticed_by_the_rhythm_that_was_missed() -> None:
    """No event tells of a sleep: all that is known is that a tone should have sounded long ago."""
    table = CallTable()
    assert _said(table, [OLD, NEW], 100.0) == {OLD}
    assert _said(table, [OLD, NEW], 109.0) == set()
    assert _said(table, [OLD, NEW], 130.0) == {OLD, NEW}


def test_a_tick_too_late_is_no_sleep() -> None:
    table = CallTable()
    assert _said(table, [OLD, NEW], 118.2) == {OLD}
    assert _said(table, [OLD, NEW], 130.2) == {NEW}  # two seconds late at most


DUE = Alarm("due", 3, 3, "ends", 120.0, 900.0)
PACE = Alarm("pace", 3, 3, "ends", 120.0, 900.0)


def test_what_was_on_its_way_when_the_program_died_comes_as_if_never_said() -> None:
    """A sounding limit lets nothing be said twice, and advice is said but once."""
    for alarm in (DUE, PACE):
        known = [OLD, alarm]
        table = CallTable()
        assert _said(table, known, 100.0) == {OLD}
        table.ended([OLD.key])
        assert alarm in _said(table, known, 120.0)  # and nobody heard it
        table.again(121.0)
        assert _said(table, known, 121.0) == {OLD, alarm}


def test_what_was_said_to_its_end_is_not_said_again_beside_a_limit() -> None:
    for alarm in (DUE, PACE):
        known = [OLD, alarm]
        table = CallTable()
        assert alarm in _said(table, known, 120.0)
        table.ended([OLD.key, alarm.key, "a call that is over"])
        table.again(121.0)
        assert _said(table, known, 121.0) == {OLD}


def test_what_was_cut_or_not_heard_has_ended_too() -> None:
    table = CallTable()
    assert _said(table, [DUE], 120.0) == {DUE}
    table.cut([DUE.key], 121.0)
    assert [call.said for call in table._calls.values()] == [0]
    table.again(121.5)
    assert _said(table, [DUE], 121.5) == {DUE}
    table.unheard([DUE.key], 122.0)
    table.again(123.0)
    assert [call.ended for call in table._calls.values()] == [True]
