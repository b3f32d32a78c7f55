"""Zone clocks taken alone: windows that touch, several zones on, none on. Numbers are ours."""

from __future__ import annotations

import pytest

from assistant.core import clocks
from assistant.core.clocks import MINUTE, RinseWindow, Waiting, ZoneClock
from tests.core.recipes import stage, window, zone

OWN = stage(zone("nape"), zone("crown"))  # checks from 5, target 10, limit 20 minutes
SHARED = stage(zone("nape"), zone("crown"), counts_from="shared")


def on(
    name: str, minute: float, check: float = 5, target: float = 10, limit: float = 20
) -> ZoneClock:
    start = minute * MINUTE
    return ZoneClock(name, start, start, window(check, target, limit))


def test_a_rinse_window_of_a_single_moment_still_fits() -> None:
    assert RinseWindow(300.0, 300.0, "nape", "crown").fits
    assert not RinseWindow(300.1, 300.0, "nape", "crown").fits


def test_no_zone_on_has_no_rinse_window() -> None:
    with pytest.raises(ValueError, match="no zone is on"):
        clocks.rinse_window([])


def test_a_zone_that_may_first_be_rinsed_at_anothers_limit_joins_its_rinse() -> None:
    together = [on("nape", 0), on("crown", 15)]  # the crown's first check is the nape's limit
    assert [r.zones for r in clocks.rinses(together)] == [("nape", "crown")]
    apart = [on("nape", 0), on("crown", 16)]
    assert [r.zones for r in clocks.rinses(apart)] == [("nape",), ("crown",)]


def test_three_zones_that_fit_are_one_rinse() -> None:
    one = clocks.rinses([on("nape", 0), on("crown", 2), on("fringe", 4)])
    assert [r.zones for r in one] == [("nape", "crown", "fringe")]
    assert (one[0].window.opens, one[0].window.closes) == (9 * MINUTE, 20 * MINUTE)


def test_a_rinse_takes_its_zones_only() -> None:
    """The second does not join the first, the third does: it is not served twice, none is lost."""
    late = on("crown", 30)
    quick = on("fringe", 12, check=1, target=30, limit=60)
    assert [r.zones for r in clocks.rinses([on("nape", 0), late, quick])] == [
        ("nape", "fringe"),
        ("crown",),
    ]


def test_nothing_can_be_missed_while_nothing_runs() -> None:
    waiting = Waiting("crown", 4, window())
    assert clocks.last_moment(OWN, [], [waiting]) is None
    assert clocks.first_moment(OWN, [], waiting) is None
    assert clocks.planned_start([], waiting, own=True) is None


def test_the_last_moment_is_ruled_by_the_zone_whose_limit_comes_first() -> None:
    """The nape's limit is 20, the crown's 30. A pass of 4 and a first check after 5 leave 11."""
    running = [on("nape", 0), on("crown", 10)]
    assert clocks.last_moment(OWN, running, [Waiting("fringe", 4, window())]) == 11 * MINUTE


def test_a_last_moment_under_a_shared_total_needs_the_pass_only() -> None:
    running = [on("nape", 0)]
    assert clocks.last_moment(SHARED, running, [Waiting("crown", 4, window())]) == 16 * MINUTE


def test_passes_add_up_before_the_last_moment() -> None:
    waiting = [Waiting("crown", 4, window()), Waiting("fringe", 6, window())]
    assert clocks.last_moment(OWN, [on("nape", 0)], waiting) == (20 - 4 - 6 - 5) * MINUTE


def test_a_single_rinse_that_was_lost_already_was_lost_when_the_last_zone_went_on() -> None:
    running = [on("nape", 0), on("crown", 17)]  # the crown may be rinsed at 22, the nape until 20
    assert clocks.last_moment(OWN, running, [Waiting("fringe", 4, window())]) == 17 * MINUTE


def test_windows_that_just_touch_still_have_a_last_moment() -> None:
    running = [on("nape", 0), on("crown", 15)]  # both may be rinsed at minute 20 alone
    assert clocks.last_moment(OWN, running, [Waiting("fringe", 4, window())]) == 11 * MINUTE


def test_a_short_zone_may_not_begin_before_the_others_can_be_rinsed() -> None:
    """Opens at 30 (the crown); a limit of 8 and a pass of 4 minutes: not before minute 18."""
    running = [on("nape", 0), on("crown", 10, check=20, target=30, limit=40)]
    short = Waiting("fringe", 4, window(2, 4, 8))
    assert clocks.first_moment(OWN, running, short) == 18 * MINUTE
    assert clocks.first_moment(SHARED, running, short) is None


def test_a_waiting_zone_is_planned_to_meet_the_latest_target() -> None:
    """Targets at 10 and 22; its own of 10 minutes and a pass of 4: begun at minute 8."""
    running = [on("nape", 0), on("crown", 12)]
    assert clocks.planned_start(running, Waiting("fringe", 4, window()), own=True) == 8 * MINUTE


def test_hot_roots_are_planned_after_the_start_of_the_total() -> None:
    """On 20 minutes after the first zone, so begun at 15 with a pass of 5; else at once."""
    running = [on("lengths", 0), on("ends", 3)]
    roots = Waiting("roots", 5, window(), start_after_minutes=20)
    assert clocks.planned_start(running, roots, own=False) == 15 * MINUTE
    assert clocks.planned_start(running, Waiting("roots", 5, window()), own=False) is None
