"""The program was away: is every limit that is up called at once, old or new?"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from assistant.core.call import Spoken
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


def _sentences(table: CallTable, known: list[Alarm], now: float) -> list[Spoken]:
    table.update([alarm for alarm in known if alarm.at <= now], known, now)
    return table.to_say(known, now)


def test_a_rhythm_late_by_more_than_two_seconds_means_that_the_machine_slept() -> None:
    table = CallTable()
    known = [OLD, Alarm("limit", 2, 2, "nape", 112.5, 112.5)]
    assert _said(table, known, 100.0) == {OLD}
    assert _said(table, known, 112.5) == set(known)


BURNS = Alarm("burns", 4, 4, "", 100.0, 100.0)


def test_words_of_a_limit_that_were_on_their_way_come_before_those_of_another_kind() -> None:
    table, known = CallTable(), [BURNS, OLD]
    assert _said(table, known, 100.0) == {BURNS, OLD}
    table.ended([BURNS.key, OLD.key])
    for now in (110.0, 120.0):
        _sentences(table, known, now)
    table.ended([BURNS.key, OLD.key])
    (spoken,) = _sentences(table, known, 130.0)
    assert (spoken.alarms, spoken.tone_only) == ((OLD,), False)
    table.again(131.0)  # the program died in it; the burning had been said to its end
    assert _sentences(table, known, 131.0)[0].alarms == (OLD,)


def test_words_that_waited_thirty_seconds_come_instead_of_the_tone_and_not_before() -> None:
    """Every new limit makes the next sound a tone, unless older words have waited so long."""
    for third, tone in ((19.9, True), (20.0, False)):
        known = [
            BURNS,
            *(Alarm("limit", n, n, "nape", 100.0 + at) for n, at in ((1, 10.0), (2, third))),
        ]
        table = CallTable()
        for now in (100.0, 110.0 - 1e-6, 110.0, 100.0 + third):
            _sentences(table, known, now)
        (spoken,) = _sentences(table, known, 110.0 + third)
        assert spoken.tone_only is tone, third


def test_advice_that_was_heard_is_settled_though_the_program_died_in_it() -> None:
    table = CallTable()
    assert _said(table, [PACE], 120.0) == {PACE}
    table.heard(None, 121.0)
    table.again(130.0)
    assert _said(table, [PACE], 130.0) == set()


@pytest.mark.parametrize("lose", [CallTable.cut, CallTable.unheard])
def test_lost_and_then_away_counts_as_lost_once(
    lose: Callable[[CallTable, list[str], float], None],
) -> None:
    table = CallTable()
    for now in (120.0, 150.0):
        assert _said(table, [DUE], now) == {DUE}
    lose(table, [DUE.key], 151.0)
    table.again(160.0)
    assert [spoken.repeat for spoken in _sentences(table, [DUE], 160.0)] == [1]


def test_a_limit_that_only_the_screen_showed_counts_as_said() -> None:
    """Its next sentence says how late it is."""
    table = CallTable()
    assert _said(table, [OLD], 100.0) == {OLD}
    table.unheard([OLD.key], 100.0)
    assert [spoken.repeat for spoken in _sentences(table, [OLD], 110.0)] == [1]


def test_only_what_is_said_early_stands_for_the_milder_calls_of_its_zone() -> None:
    """The burning is no zone's: once it is over the stylist is still asked for."""
    stylist, burns = Alarm("stylist", 4, 4, "", 100.0), Alarm("burns", 4, 4, "", 105.0, 105.0)
    table = CallTable()
    assert _said(table, [stylist], 100.0) == {stylist}
    assert _said(table, [stylist, burns], 105.0) == {burns}
    assert _said(table, [stylist], 131.0) == {stylist}
