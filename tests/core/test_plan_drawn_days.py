"""Drawn days planned without any library: whatever comes out keeps every limit."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.plan import Plan, happened, rest
from assistant.core.plan_check import faults
from assistant.core.plan_day import Day
from assistant.core.plan_greedy import greedy
from tests.core.days import MORNING, SIZES, drawn


def planned(day: Day) -> Plan:
    plan = greedy(day)
    assert plan is not None
    return plan


@pytest.mark.parametrize("size", SIZES, ids=lambda s: "/".join(map(str, s)))
def test_no_plan_of_drawn_days_breaks_a_limit(size: tuple[int, int, int]) -> None:
    for seed in range(15):
        day = drawn(seed, *size)
        assert faults(day, planned(day)) == [], seed


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000), size=st.sampled_from(SIZES[:5]), later=st.integers(1, 240))
def test_what_has_begun_is_never_moved(seed: int, size: tuple[int, int, int], later: int) -> None:
    """Replanned at any moment: started tasks stay, the rest keeps every limit."""
    day = drawn(seed, *size)
    first = planned(day)
    now = MORNING + later / 2
    if now >= max(p.ends for p in first.placed):
        return
    left = happened(day, first, now)
    here = [h for h in range(len(day.bookings)) if max(p.ends for p in first.of(h)) > now]
    if len(here) < len(day.bookings):
        return  # a head that has left is no part of the day any more
    second = greedy(left) or rest(first, now)
    assert faults(left, second) == []
    for head, booking in enumerate(left.bookings):
        way = booking.facts.under_way
        if way is not None:
            same = next(p for p in second.of(head) if p.key.kind == way.kind)
            assert (same.begins, same.person) == (way.since, way.person)
        assert all(p.begins >= now for p in second.of(head)[1:])
