"""Days with no room left, and starts asked for by voice: what is in the way, and what mends it."""

from __future__ import annotations

from dataclasses import replace

from assistant.core.clocks import MINUTE
from assistant.core.plan_clash import clash
from assistant.core.plan_day import (
    SKILLS,
    Booking,
    Break,
    Day,
    Facts,
    House,
    Person,
    UnderWay,
    problems,
)
from assistant.core.plan_greedy import greedy
from assistant.core.plan_live import MayStart, may_start
from assistant.core.plan_sheet import lanes
from assistant.core.plan_tasks import Key
from assistant.core.recipe import Recipe
from assistant.core.rule import SalonRule
from tests.core.days import CREW, MORNING, one_zone_each
from tests.core.recipes import TWO_ZONES, recipe, stage, window, zone
from tests.core.service import Service

NAPE = replace(recipe(stage(zone("nape"))), place="chair")  # 5/10/20, a pass of four minutes
DRY = replace(TWO_ZONES, place="chair", name="dry tap")
HOT = recipe(  # one total; the roots are on for the last fifteen minutes of it
    stage(
        zone("ends", window=window(20, 30, 40)),
        zone("roots", window=window(20, 30, 40), wait_for_start=True, start_after_minutes=15),
        counts_from="shared",
    )
)
# under one total of a minute the second zone is off before it is on: nobody can do that
NEVER = recipe(
    stage(
        zone("nape", window=window(1, 1, 1)), zone("crown", apply_minutes=30), counts_from="shared"
    )
)


def on_since(minutes_ago: float, *others: Booking, crew: tuple[Person, ...] = CREW[:1]) -> Day:
    facts = Facts(on={"nape": MORNING - minutes_ago}, prepared=True)
    first = Booking(1, NAPE, MORNING - minutes_ago, facts=facts)
    return Day((first, *others), crew, 1, MORNING)


def told(day: Day) -> str:
    found = clash(day, greedy)
    assert found is not None
    return found.sentence()


def impatient(day: Day, minutes: float = 0) -> Day:
    return replace(day, house=replace(day.house, wait_minutes=minutes))


# ------------------------------------------------------------------ clashes


def test_a_limit_long_past_is_told_and_nothing_mends_it() -> None:
    assert told(on_since(90)) == "Chair one needs hands at 10:00. Nothing tried here mends it."


def test_a_limit_just_past_is_told_at_the_moment_it_came() -> None:
    assert told(on_since(25)) == "Chair one needs hands at 09:55. Nothing tried here mends it."


def test_a_limit_in_a_break_asks_for_one_more_person() -> None:
    alone = (Person("Ines", SKILLS, (Break(MORNING, MORNING + 22),)),)
    assert told(on_since(2, crew=alone)).startswith("Chair one needs")


def test_several_must_wait_and_the_one_that_waits_longest_is_named() -> None:
    three = impatient(one_zone_each(NAPE, NAPE, NAPE, apart=0))
    assert told(three).startswith("Chairs one and three both need hands at 10:00.")


def test_a_basin_that_is_kept_is_told_with_the_chair_that_keeps_it() -> None:
    there = replace(NAPE, place="basin")
    two = impatient(one_zone_each(there, there, apart=0))
    found = told(replace(two, people=(CREW[0], CREW[2])))
    assert found == (
        "Chairs one and two both need the basin at 10:00. "
        "Start chair one nineteen minutes later, or free one more basin at 10:00."
    )


def test_a_rinse_of_a_later_stage_is_never_the_limit_that_is_past() -> None:
    toned = replace(recipe(stage(zone("nape")), stage(zone("ends"))), place="chair")
    first = Booking(1, toned, MORNING, facts=Facts(on={"nape": MORNING - 25}, prepared=True))
    second = Booking(2, NAPE, MORNING, facts=Facts(on={"nape": MORNING - 2}, prepared=True))
    day = Day((first, second), CREW[:1], 1, MORNING)
    found = clash(day, greedy)
    assert found is not None
    assert found.at == MORNING + 18  # the second one's, while the first is looked at and rinsed
    assert found.options == ()


def test_whoever_may_nothing_or_not_apply_is_told() -> None:
    idle = Person("Tom", ())
    rinser = Person("Eve", ("check", "rinse"))
    day = Day((Booking(1, NAPE, MORNING, by="Eve"),), (*CREW[:1], idle, rinser), 1)
    assert [what for _, what, _ in problems(day)] == ["Tom may do nothing", "Eve may not apply"]


def test_a_zone_that_is_on_is_one_of_the_present_stage() -> None:
    day = Day((Booking(1, NAPE, MORNING, facts=Facts(on={"moon": MORNING})),), CREW[:1], 1, MORNING)
    assert [what for _, what, _ in problems(day)] == ["no zone 'moon' is next"]
    good = replace(day, bookings=(Booking(1, NAPE, MORNING, facts=Facts(on={"nape": MORNING})),))
    assert problems(good) == []


def test_an_optional_zone_may_be_left_out_of_a_shared_total() -> None:
    both = recipe(stage(zone("nape"), zone("ends", optional=True), counts_from="shared"))
    assert problems(Day((Booking(1, both, MORNING, ("ends",)),), CREW[:1], 1)) == []


# ------------------------------------------------------------------ plans


def test_hot_roots_are_planned_for_the_end_of_their_total() -> None:
    day = one_zone_each(HOT)
    plan = greedy(day)
    assert plan is not None
    begins = {p.key.subject: p for p in plan.placed if p.key.kind == "apply"}
    assert begins["roots"].ends - begins["ends"].ends == 15


def test_a_rinse_under_way_keeps_its_basin_and_its_time() -> None:
    under_way = UnderWay("rinse", "nape", MORNING - 2, "Ines")
    facts = Facts(on={"nape": MORNING - 12}, prepared=True, under_way=under_way)
    house = House(prepare_minutes=0, finish_minutes=0)
    plan = greedy(Day((Booking(1, NAPE, MORNING, facts=facts),), CREW[:1], 1, MORNING, house))
    assert plan is not None
    assert [(p.key, p.begins, p.basin) for p in plan.placed] == [
        (Key(0, 0, "rinse", "nape"), MORNING - 2, 0)
    ]


def test_two_heads_that_hold_one_basin_already_cannot_be_planned() -> None:
    there = replace(NAPE, place="basin")
    facts = Facts(on={"nape": MORNING - 5}, prepared=True)
    heads = tuple(Booking(chair, there, MORNING, facts=facts) for chair in (1, 2))
    day = Day(heads, (CREW[0], CREW[2]), 1, MORNING, House(finish_minutes=0))
    assert greedy(day) is None
    assert greedy(replace(day, basins=2)) is not None


def test_what_nobody_can_do_is_given_up() -> None:
    assert greedy(one_zone_each(NEVER)) is None


def test_lanes_show_the_basin_a_head_keeps_and_leave_out_what_is_beyond_them() -> None:
    there = replace(NAPE, place="basin")
    day = one_zone_each(there)
    far = (
        Person(
            "Ines", SKILLS, (Break(MORNING - 90, MORNING - 80), Break(MORNING + 60, MORNING + 70))
        ),
    )
    plan = greedy(replace(day, people=far))
    assert plan is not None
    drawn = lanes(replace(day, people=far), plan)
    basin = next(line for line in drawn if line.startswith("basin 1"))
    assert basin.count("1") - 1 == 19  # from the first pass to the end of the rinse
    assert not any("x" in line for line in drawn if line.startswith("Ines"))
    passes = replace(plan, placed=tuple(p for p in plan.placed if p.key.kind == "apply"))
    head = next(line for line in lanes(day, passes) if line.startswith("chair 1"))
    assert "-" not in head  # no rinse is planned, so nothing develops to an end


# ------------------------------------------------------------------ may a chair be started


def two(book: Recipe, *lines: str) -> Service:
    service = Service(book, NEVER).at("00:05") if book is not NEVER else Service(book).at("00:05")
    for chair in ("chair one", "chair two"):
        service.hear(f"{chair} start {book.name}")
        service.gate(chair)
        service.hear(f"{chair} root bowl is mixed")
    for line in lines:
        service.hear(f"chair one {line}")
    return service


def test_a_pass_under_way_is_waited_for() -> None:
    service = two(DRY, "nape is on", "starting crown")
    assert service.hear("can i start chair two now") == [
        "Chair one needs you first. Begin chair two in four minutes."
    ]


def test_a_rinse_under_way_is_waited_for() -> None:
    service = two(DRY, "nape is on", "crown is on").at("08:00")
    service.hear("chair one rinsing now")
    service.at("10:00")
    assert service.hear("can i start chair two now") == [
        "Chair one needs you first. Begin chair two in three minutes."
    ]


def test_a_recipe_that_nobody_can_keep_is_not_started() -> None:
    rule = SalonRule()
    assert may_start(NEVER, 2, [], 0.0, rule) == MayStart(None, None)
    busy = two(DRY, "nape is on").head(1)
    assert may_start(NEVER, 2, [busy], MINUTE, rule) == MayStart(None, 1)
    service = Service(NEVER).at("00:05")
    service.hear("start test tap")
    service.gate()
    assert service.hear("can i start chair one now") == [
        "No. With chair one begun, a rinse comes too late."
    ]


def test_with_another_head_on_a_recipe_that_nobody_can_keep_is_not_started_either() -> None:
    service = Service(DRY, replace(NEVER, name="never tap")).at("00:05")
    service.hear("chair one start dry tap")
    service.gate("chair one")
    for line in ("root bowl is mixed", "nape is on"):
        service.hear(f"chair one {line}")
    service.hear("chair two start never tap")
    service.gate("chair two")
    assert service.hear("can i start chair two now") == [
        "No. With chair two begun, a rinse comes too late."
    ]
