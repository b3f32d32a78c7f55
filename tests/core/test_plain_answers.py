"""Questions about a head and the room, and what is read from plain sums: word for word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.core import numbers
from assistant.core.board_frame import Frame, decode, encode
from assistant.core.debrief import debrief
from assistant.core.debrief_words import spoken
from assistant.core.events import DeviceBack, DeviceLost, Priority, Resumed, Say, Touched
from assistant.core.mix_sheet import Extent, mix_sheet
from assistant.core.moment import LONGEST_AWAY, Away, Moment, away_between
from assistant.core.plan_clash import clash
from assistant.core.plan_greedy import greedy
from assistant.core.plan_head import service_plan
from assistant.core.plan_order import best_order
from assistant.core.plan_sheet import service_lines
from assistant.core.recipe import Recipe
from assistant.core.script import At, Line, Script
from assistant.core.snapshot import snapshot
from assistant.core.speaking import waits
from tests.core.days import one_zone_each
from tests.core.recipes import TWO_ZONES, recipe, stage, zone
from tests.core.service import Service
from tests.core.test_teaching import PLACE
from tests.core.test_teaching import gated as lesson


def gated(*lines: str) -> Service:
    service = Service(TWO_ZONES).at("00:05")
    service.hear("start test tap")
    service.gate()
    for line in lines:
        service.hear(line)
    return service


@pytest.mark.parametrize(
    ("lines", "reason"),
    [
        ((), "Softens the line."),  # a bowl without a reason of its own: the recipe's
        (("root bowl is mixed",), "A test."),
        (
            ("root bowl is mixed", "nape is on", "crown is on"),
            "Every zone has its own clock. The leaflet sets its limit.",
        ),
    ],
)
def test_why(lines: tuple[str, ...], reason: str) -> None:
    assert gated(*lines).hear("tell me why") == [reason]


def test_why_at_the_gate() -> None:
    service = Service(TWO_ZONES).at("00:05")
    service.hear("start test tap")
    assert service.hear("tell me why") == [
        "These answers protect the client. The leaflet comes first."
    ]


def test_where_in_the_middle_of_a_pass() -> None:
    assert gated("root bowl is mixed", "starting nape").hear("where are we") == [
        "Back to chair one, step seven: nape.",
        "Tell me when the nape has its product.",
    ]


def test_when_to_rinse_before_and_inside_the_window_and_if_none_fits() -> None:
    service = gated("root bowl is mixed", "nape is on")
    assert service.hear("when do we rinse") == [
        "In five minutes, until twenty minutes from now. Nape closes it."
    ]
    service.at("06:05")
    assert service.hear("when do we rinse") == [
        "You may rinse now, for fourteen minutes. Then nape is at its limit."
    ]
    service.at("16:05").hear("crown is on")
    assert service.hear("when do we rinse") == ["No single rinse fits. Nape comes off first."]


def test_a_zone_that_is_on_is_not_put_on_again_nor_rinsed_before_we_rinse() -> None:
    service = gated("root bowl is mixed", "nape is on")
    assert service.hear("nape is on") == ["Nape has its clock already."]
    assert service.hear("all rinsed") == ["Product is still on. Tell me when you rinse."]


def test_a_zone_ready_past_its_limit_is_to_be_rinsed() -> None:
    service = gated("root bowl is mixed", "nape is on").at("21:00")
    assert service.hear("nape is ready")[0].startswith("Nape")
    assert [text for _, text in service.head().file.zones[0].checks] == ["ready"]


def test_what_is_due_and_quiet() -> None:
    service = Service(TWO_ZONES).at("00:05")
    assert service.hear("what is due") == ["Nothing is coming up."]
    assert service.hear("quiet please") == ["Silent for two minutes, but never at a limit."]
    assert service.salon.calls.quiet_until == 125.0
    busy = gated("root bowl is mixed", "nape is on")
    assert busy.hear("what is due") == ["Chair one, nape: look in five minutes."]


def test_a_touch_of_the_board_is_like_the_words() -> None:
    service = gated("root bowl is mixed", "nape is on").at("05:10")
    assert service.event(Touched(service.now, 1, "heard")) == service.hear("heard you")
    assert service.event(Touched(service.now, 2, "heard")) == ["There is no call to answer."]
    service.event(Touched(service.now, 1, "rinsing"))
    assert service.head().file.zones[0].rinsing_at == service.now


def test_what_comes_back_is_greeted_once() -> None:
    service = gated().at("00:30")
    service.event(DeviceLost(service.now, "microphone"))
    assert service.event(DeviceBack(service.now, "microphone")) == ["Microphone is back."]
    assert service.event(DeviceBack(service.now, "microphone")) == []


def test_after_a_long_pause_without_product_no_clock_is_in_doubt() -> None:
    service = gated()
    service.event(Resumed(service.now + 600, 600.0, certain=False))
    assert service.head().file.uncertain_since is None


def test_a_frame_of_the_board_is_the_same_after_its_way() -> None:
    frame = Frame(3, snapshot(gated("root bowl is mixed", "nape is on").salon), "heard", "said")
    assert decode(encode(frame)) == frame


# ------------------------------------------------------------------ looking back, a lesson


def test_passes_that_nobody_began_are_told_by_their_spread() -> None:
    service = gated("root bowl is mixed", "nape is on").at("06:05")
    service.hear("crown is on")
    told = [one.phrase for one in spoken(debrief(service.head()))]
    assert told == ["debrief_order_kept", "debrief_spread"]  # nothing was to be looked at yet


def test_one_zone_without_its_beginning_has_no_times_to_tell() -> None:
    told = [one.phrase for one in spoken(debrief(gated("root bowl is mixed", "nape is on").head()))]
    assert told == ["debrief_order_kept"]


def test_the_reason_of_a_finishing_step() -> None:
    service = Service(replace(SHORT, finish_why=("it closes", "it shows"))).at("00:05")
    service.hear("start test tap")
    service.gate()
    for line in ("root bowl is mixed", "nape is on", "rinsing now", "all rinsed"):
        service.hear(line)
    assert service.hear("tell me why") == ["It closes."]


def test_a_question_is_not_put_again_in_the_middle_of_a_pass() -> None:
    service = lesson({PLACE + "crown": 2})
    for line in ("root bowl is mixed", "nape is on"):
        told = service.hear(line)
    assert told[-1].endswith("?")
    service.hear("starting crown")
    assert not any(text.endswith("?") for text in service.hear("nape is ready"))


def test_a_bowl_sized_from_the_head_tells_what_it_needs() -> None:
    measured = mix_sheet(SHORT, extents={"nape": Extent(20, 16, 30)})[0]
    assert measured.need is not None
    assert measured.need.spoken() in measured.sentences()


def test_leaving_out_a_zone_is_offered_where_it_mends_the_day() -> None:
    slow = recipe(stage(zone("nape"), zone("ends", optional=True)))
    day = one_zone_each(*[replace(slow, place="chair")] * 2, apart=0)  # passes of eight minutes
    found = clash(replace(day, house=replace(day.house, wait_minutes=5)), greedy)
    assert found is not None
    assert "leave out the ends on chair one" in found.options
    sooner = clash(replace(day, house=replace(day.house, wait_minutes=2)), greedy)
    assert sooner is not None
    assert not any("leave out" in option for option in sooner.options)  # four minutes are too many


# ------------------------------------------------------------------ times of one head


SHORT = recipe(stage(zone("nape")))
SLOW = recipe(stage(zone("nape"), zone("crown", apply_minutes=30)))
SHARED = recipe(stage(zone("nape"), zone("crown"), counts_from="shared"))


@pytest.mark.parametrize(
    ("book", "first", "rinses"),
    [
        (
            TWO_ZONES,
            "colour (counted from each zone's own start)",
            [
                "  one rinse serves all: from 13 to 24, best at 18; nape closes it",
                "  the passes may take 11 minutes longer in all",
            ],
        ),
        (
            SLOW,
            "colour (counted from each zone's own start)",
            [
                "  no single rinse fits at this pace: 2 rinses",
                "  rinse 1: nape at 14",
                "  rinse 2: crown at 44",
            ],
        ),
        (
            SHARED,
            "colour (counted from the first zone)",
            [
                "  one rinse serves all: from 9 to 24, best at 14; nape closes it",
                "  the passes may take 15 minutes longer in all",
            ],
        ),
    ],
)
def test_the_times_of_one_head_as_text(book: Recipe, first: str, rinses: list[str]) -> None:
    lines = service_lines(service_plan(book))
    assert lines[0] == first
    assert lines[2] == "  nape                   0-4       9      14      24"
    assert lines[4:] == rinses


def test_an_order_that_stands_says_so() -> None:
    assert best_order(TWO_ZONES.stages[0]).sentences()[0] == "The order of the recipe stands."


# ------------------------------------------------------------------ small sums


@pytest.mark.parametrize("number", [-1, 1_000_000])
def test_numbers_that_are_not_spoken(number: int) -> None:
    with pytest.raises(ValueError, match="is not spoken as one number"):
        numbers.spoken(number)
    assert numbers.spoken(999_999).startswith("nine hundred and ninety nine thousand")


def test_a_limit_waits_least_for_somebody_who_speaks() -> None:
    limit = Say(1, Priority.LIMIT, 1, "call_limit", call="limit/1/1/nape")
    assert waits(limit) == 3.0  # said before
    fresh = Say(2, Priority.LIMIT, 1, "call_limit", call="limit/1/1/nape", fresh=True)
    assert waits(fresh) == 1.0
    assert waits(Say(3, Priority.DUE, 1, "call_due")) == 5.0


def test_a_line_of_a_script_is_spoken_with_the_wake_word_only_if_it_is_meant_for_us() -> None:
    assert Line(At(0.0), say="how long").words("marigold") == "marigold how long"
    assert Line(At(0.0), answer="three zero").words("marigold") == "three zero"
    assert Line(At(0.0), talk="lovely weather").words("marigold") == "lovely weather"
    assert Script(1, "t", "a", (), ()).levels() == ()


NOW = Moment(100.0, 5_000.0, 900.0, "a")


@pytest.mark.parametrize(
    ("last", "away"),
    [
        (Moment(90.0, 1_000.0, 840.0, "a"), Away(60.0, True)),  # the same start: what it ticked
        (Moment(90.0, 3_800.0, 100.0, "b"), Away(1_200.0, True)),  # another: by the calendar
        (Moment(90.0, 4_800.0, 100.0, "b"), Away(900.0, False)),  # up for longer than that
        (Moment(90.0, 3_800.0, 100.0, ""), Away(1_200.0, False)),  # which start is not known
        (Moment(90.0, -90_000.0, 100.0, "b"), Away(LONGEST_AWAY, False)),
        (Moment(90.0, 4_000.0, 950.0, "a"), Away(1_000.0, False)),  # it ticked backwards
    ],
)
def test_how_long_we_were_away(last: Moment, away: Away) -> None:
    assert away_between(last, NOW) == away
