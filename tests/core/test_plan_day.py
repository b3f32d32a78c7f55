"""A day planned without any library: every plan read by the checker, the checker by wrong plans."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core.plan import Plan, cost, happened
from assistant.core.plan_check import faults
from assistant.core.plan_clash import clash
from assistant.core.plan_day import (
    SKILLS,
    Booking,
    Break,
    Day,
    Facts,
    House,
    Person,
    TimeOfDay,
    problems,
)
from assistant.core.plan_greedy import greedy
from assistant.core.plan_sheet import by_time, lanes
from assistant.core.plan_tasks import Key
from tests.core.days import CREW, MORNING, drawn, one_zone_each, shipped
from tests.core.recipes import recipe, stage, window, zone

SHORT = replace(recipe(stage(zone("nape"))), place="chair")  # 5/10/20, a pass of four minutes


def planned(day: Day) -> Plan:
    plan = greedy(day)
    assert plan is not None
    return plan


def test_a_head_that_runs_late_is_planned_anew() -> None:
    """The second client comes twenty minutes late: the first keeps what has begun."""
    day = one_zone_each(SHORT, SHORT)
    plan = planned(day)
    late = replace(day.bookings[1], arrives=day.bookings[1].arrives + 20)
    now = MORNING + 6
    left = replace(happened(day, plan, now), bookings=(happened(day, plan, now).bookings[0], late))
    again = planned(left)
    assert faults(left, again) == []
    assert again.of(1)[0].begins >= late.arrives
    assert left.bookings[0].facts.on == {"nape": MORNING + 4}


# ------------------------------------------------------------- the checker against wrong plans


def moved(plan: Plan, key: Key, **change: object) -> Plan:
    placed = tuple(
        replace(p, **change) if p.key == key else p
        for p in plan.placed  # type: ignore[arg-type]
    )
    return Plan(placed)


WRONG = [
    ("rinse", {"begins": MORNING + 24.5, "ends": MORNING + 29.5}, "past its limit"),
    ("rinse", {"begins": MORNING + 8, "ends": MORNING + 13}, "before its first check"),
    ("rinse", {"ends": MORNING + 12}, "a rinse is too short"),
    ("check", {"begins": MORNING + 5, "ends": MORNING + 6}, "looked at before"),
    ("apply", {"begins": MORNING + 1}, "the pass of nape is too short"),
    ("apply", {"begins": MORNING - 3, "ends": MORNING + 1}, "before the client is there"),
    ("check", {"person": "Nobody"}, "nobody is called"),
    ("apply", {"person": "Tom"}, "Tom may not apply"),
]


@pytest.mark.parametrize(("kind", "change", "told"), WRONG)
def test_the_checker_finds_each_broken_rule(
    kind: str, change: dict[str, object], told: str
) -> None:
    day = one_zone_each(SHORT, people=2)
    plan = planned(day)
    assert faults(day, plan) == []
    key = next(p.key for p in plan.placed if p.key.kind == kind)
    found = faults(day, moved(plan, key, **change))
    assert any(told in fault for fault in found), found


def test_the_checker_finds_two_places_at_once_and_too_few_basins() -> None:
    day = one_zone_each(SHORT, SHORT, apart=0)
    good = planned(day)
    both = Plan(
        tuple(replace(p, key=p.key._replace(head=head)) for head in (0, 1) for p in good.of(0))
    )
    found = faults(day, both)
    assert any("in two places" in fault for fault in found)
    assert any("2 heads at 1 basins" in fault for fault in found)


def test_the_checker_finds_what_is_missing() -> None:
    day = one_zone_each(SHORT)
    plan = planned(day)
    for kind, told in (("apply", "never put on"), ("check", "nobody looks"), ("rinse", "rinsed")):
        less = Plan(tuple(p for p in plan.placed if p.key.kind != kind))
        assert any(told in fault for fault in faults(day, less)), kind


def test_the_checker_finds_work_in_a_break_a_long_wait_and_an_old_bowl() -> None:
    crew = (Person("Ines", SKILLS, (Break(MORNING + 2, MORNING + 12),)),)
    day = replace(one_zone_each(SHORT), people=crew)
    plan = planned(one_zone_each(SHORT))
    assert any("in the break" in fault for fault in faults(day, plan))
    impatient = replace(day, people=CREW[:1], house=replace(day.house, wait_minutes=2))
    late = planned(replace(day, people=CREW[:1], now=MORNING + 10))
    assert any("waits until" in fault for fault in faults(impatient, late))
    two = replace(
        recipe(stage(zone("nape"), zone("crown", window=window(1, 5, 60)))), place="chair"
    )
    day = one_zone_each(two)
    plan = planned(day)
    crown = next(p.key for p in plan.placed if p.key.subject == "crown")
    old = moved(plan, crown, begins=MORNING + 30, ends=MORNING + 34)
    assert any("minutes old" in fault for fault in faults(day, old))


def test_a_toner_follows_its_rinse() -> None:
    two = replace(recipe(stage(zone("nape")), stage(zone("lengths"))), place="chair")
    day = one_zone_each(two)
    plan = planned(day)
    assert faults(day, plan) == []
    rinse = next(p for p in plan.placed if p.key.kind == "rinse" and p.key.stage == 0)
    tone = next(p for p in plan.placed if p.key.kind == "apply" and p.key.stage == 1)
    assert 0 <= tone.begins - rinse.ends <= day.house.tone_within_minutes
    early = moved(plan, tone.key, begins=rinse.begins - 4, ends=rinse.begins)
    assert any("before the one before it" in fault for fault in faults(day, early))


# ------------------------------------------------------------- sums of a plan


def test_the_cost_is_waiting_plus_twice_what_is_off_target() -> None:
    """One zone: on at 4, look at 9, rinse at its target 14, gone at 19: nothing is off."""
    day = one_zone_each(SHORT)
    plan = planned(day)
    assert cost(day, plan) == 19
    rinse = next(p for p in plan.placed if p.key.kind == "rinse")
    later = moved(plan, rinse.key, begins=rinse.begins + 3, ends=rinse.ends + 3)
    assert cost(day, later) == 19 + 3 + 2 * 3


def test_somebody_who_can_only_rinse_does_the_rinsing() -> None:
    day = one_zone_each(SHORT, people=2)
    assert {p.person for p in planned(day).placed if p.key.kind == "rinse"} == {"Tom"}


# ------------------------------------------------------------- clashes


def test_a_day_that_fits_has_no_clash() -> None:
    assert clash(one_zone_each(SHORT, SHORT), greedy) is None


def test_two_heads_at_once_are_told_in_one_sentence_with_two_options() -> None:
    """One pair of hands, both at ten, nobody waits: start one later, or get a second person."""
    day = one_zone_each(SHORT, SHORT, apart=0)
    found = clash(replace(day, house=replace(day.house, wait_minutes=0)), greedy)
    assert found is not None
    assert len(found.options) == 2
    assert found.sentence() == (
        "Chairs one and two both need hands at 10:00. "
        "Start chair one four minutes later, or get one more person at 10:00."
    )
    assert found.plan is not None


def test_two_limits_at_once_name_both_chairs_and_what_is_missing() -> None:
    """Both were put on at 10:00 with a limit of twenty; one person, one basin, 10:18."""
    on = Facts(on={"nape": MORNING}, prepared=True)
    heads = tuple(Booking(c, SHORT, MORNING - 10, facts=on) for c in (1, 2))
    house = House(prepare_minutes=0, finish_minutes=0)
    day = Day(heads, CREW[:1], 1, MORNING + 18, house)
    found = clash(day, greedy)
    assert found is not None
    assert found.sentence() == (
        "Chairs one and two both need hands and the basin at 10:20. "
        "Get one more person and free a basin at 10:20."
    )


def test_an_option_that_is_offered_works() -> None:
    day = one_zone_each(SHORT, SHORT, apart=0)
    tight = replace(day, house=replace(day.house, wait_minutes=0))
    found = clash(tight, greedy)
    assert found is not None
    assert found.plan is not None
    assert faults(day, found.plan) == []
    assert greedy(replace(tight, people=CREW[::2])) is not None


# ------------------------------------------------------------- bad days


FOILS = shipped()["quarter foils"]
BAD = [
    ({"people": ()}, "nobody may apply"),
    ({"people": (Person("Ines", ("apply", "check")),)}, "nobody may rinse"),
    ({"people": (CREW[0], CREW[0])}, "is there twice"),
    ({"people": (Person("Ines", SKILLS, (Break(700, 690),)),)}, "ends before it begins"),
    ({"basins": 0}, "0 basins"),
    ({"bookings": ()}, "there is no head"),
    ({"bookings": (Booking(1, SHORT, MORNING, by="Anna"),)}, "nobody is called 'Anna'"),
    ({"bookings": (Booking(0, SHORT, MORNING),)}, "there is no chair 0"),
    ({"bookings": (Booking(1, SHORT, MORNING, ("crown",)),)}, "no zone 'crown'"),
    ({"bookings": (Booking(1, SHORT, MORNING, ("nape",)),)}, "cannot be left out"),
    ({"bookings": (Booking(1, FOILS, MORNING), Booking(1, SHORT, MORNING))}, "not free before"),
    (
        {"bookings": (Booking(1, SHORT, MORNING, facts=Facts(on={"nape": MORNING + 1})),)},
        "is on later than now",
    ),
]


@pytest.mark.parametrize(("change", "told"), BAD)
def test_a_bad_day_is_told_with_its_mend(change: dict[str, object], told: str) -> None:
    day = replace(Day((Booking(1, SHORT, MORNING),), CREW, 1), **change)  # type: ignore[arg-type]
    found = problems(day)
    assert any(told in what for _, what, _ in found), found
    assert all(mend for *_, mend in found)


def test_times_of_day() -> None:
    assert TimeOfDay.parse("10:40") == TimeOfDay(640)
    assert str(TimeOfDay.parse("9:05")) == "09:05"
    for wrong in ("25:00", "10:60", "1040", "-1:00", "10:4"):
        with pytest.raises(ValueError, match="hours and minutes"):
            TimeOfDay.parse(wrong)


def test_the_text_shows_every_head_person_and_basin_and_every_task() -> None:
    day = drawn(3, 4, 2, 1)
    plan = planned(day)
    text = lanes(day, plan)
    names = [line.split("|")[0].strip() for line in text if "|" in line]
    assert names == [*(f"chair {b.chair}" for b in day.bookings), "Ines", "Tom", "basin 1"]
    told = "\n".join(by_time(day, plan))
    for placed in plan.placed:
        assert placed.key.subject in told
        assert str(TimeOfDay(placed.begins)) in told or placed.key.kind == "apply"
    assert max(len(line) for line in text) <= 110
