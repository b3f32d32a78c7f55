"""A trainee at the chair: the reason, the question, the silence; nothing is ever held up."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.events import Listen
from assistant.core.head import GATE
from assistant.core.head_file import ZoneRun
from assistant.core.levels import Asked, Level
from assistant.core.mix import Ratio
from assistant.core.recipe import Recipe
from assistant.core.script import At
from tests.core.recipes import bowl, recipe, stage, window, zone
from tests.core.service import GATE as GATE_ANSWERS
from tests.core.service import Service

TAP = recipe(
    dataclasses.replace(
        stage(
            zone("nape", why="The nape takes slowest", window=window(12, 15, 25)),
            zone("crown", why="The crown is warm", challenge="limit", window=window(5, 10, 13)),
            zone("hairline", why="It stains", challenge="target", window=window(5, 30, 40)),
            bowls=(dataclasses.replace(bowl(), why="Thin enough to tap"),),
        ),
        rinse_why="It goes on working",
    )
)
SAID = (
    "one to two",
    "twelve minutes",
    "skip the question",
    "root bowl is mixed",
    "next step",
    "starting nape",
    "nape is on",
    "crown is on",
    "undo that",
)
MIX = "test tap / colour / mix / root bowl"
PLACE = "test tap / colour / place / "
MIX_TOLD = "Root bowl: twenty grams colour, forty grams developer, three percent. Ratio one to two."
NAPE_TOLD = "Next, nape: half a centimetre from the scalp."


def gated(levels: dict[str, int] | None = None, service_recipe: Recipe = TAP) -> Service:
    service = Service(service_recipe, trainee="robin", levels=levels).at("00:01")
    service.hear("start test tap")
    service.gate()
    return service


def asked(service: Service, step: str) -> Asked:
    lesson = service.head().file.lesson
    assert lesson is not None
    return lesson.asked[step]


def run_of(service: Service, name: str) -> ZoneRun:
    run = service.head().zone(name)
    assert run is not None
    return run


# ------------------------------------------------------------------ read-do


def test_at_first_every_step_is_told_with_its_reason() -> None:
    service = gated()
    assert service.calls()[-2:] == [MIX_TOLD, "Because thin enough to tap."]
    said = service.hear("root bowl is mixed")
    assert said[1:] == [NAPE_TOLD, "Because the nape takes slowest."]
    assert service.utter("next step") == ["Press, do not drag."]  # no reason twice
    for name in ("nape", "crown", "hairline"):
        service.hear(f"{name} is on")
    assert service.calls()[-2] == (
        "Because every zone has its own clock, and the leaflet sets its limit."
    )
    assert service.calls()[-1].endswith("Ask how the scalp feels.")
    assert service.at("05:30").hear("rinsing now") == [
        "Nape, crown and hairline: rinse noted. Tell me when it runs clear.",
        "Rinse until clear.",
        "Because it goes on working.",
    ]


def test_say_again_gives_the_step_and_not_its_reason_alone() -> None:
    service = gated()
    assert service.hear("say again") == [MIX_TOLD]


def test_the_reason_does_not_shut_the_ears() -> None:
    service = gated()
    assert service.utter("root bowl is mixed")[0] == "Root bowl noted. Its age counts from now."


def test_nobody_is_taught_who_did_not_ask_for_it() -> None:
    service = Service(TAP).at("00:01")
    service.hear("start test tap")
    service.gate()
    assert service.calls()[-1] == MIX_TOLD
    assert service.head().file.lesson is None
    assert service.hear("one to two") == ["I had not asked anything."]
    assert service.hear("twelve minutes") == ["I had not asked anything."]


def test_the_safety_gate_is_asked_whatever_the_levels_say() -> None:
    everything = {f"test tap / colour / gate / {question}": 3 for question in GATE}
    service = Service(TAP, trainee="robin", levels=everything).at("00:01")
    service.hear("start test tap")
    service.gate()
    for question in ("how many days ago", "Healthy or sore", "Gloves?", "leaflet", "sixteen"):
        assert any(question in text for text in service.calls()), question


# ---------------------------------------------------------------- challenge


def test_a_question_is_answered_with_its_value() -> None:
    service = gated({MIX: 2, f"{PLACE}nape": 2})
    assert service.calls()[-1] == "Root bowl: which ratio?"
    assert Listen("lesson") in service.effects
    assert service.utter("one to two") == ["One to two is right.", MIX_TOLD]
    assert asked(service, MIX).came == "right"
    assert service.utter("root bowl is mixed")[1] == "Nape: first look after how many minutes?"
    assert service.utter("twelve minutes") == ["Twelve minutes is right.", NAPE_TOLD]
    assert service.utter("next step") == ["Press, do not drag."]


def test_a_wrong_answer_is_told_the_right_one_and_why() -> None:
    service = gated({MIX: 2})
    assert service.utter("one to one") == [
        "It is one to two, not one to one.",
        "Because thin enough to tap.",
        MIX_TOLD,
    ]
    assert asked(service, MIX).came == "wrong"
    assert service.hear("one to two") == ["I had not asked anything."]  # the first answer counts
    service.hear("root bowl is mixed")
    assert service.head().state == "place"


@pytest.mark.parametrize("words", ["skip the question", "tell me the answer"])
def test_a_question_may_be_skipped(words: str) -> None:
    service = gated({MIX: 2})
    assert service.utter(words) == [
        "It is one to two.",
        "Because thin enough to tap.",
        MIX_TOLD,
    ]
    assert asked(service, MIX).came == "skipped"


def test_looking_up_is_allowed_and_noted() -> None:
    service = gated({MIX: 2})
    assert service.hear("what is the ratio") == [MIX_TOLD]
    assert asked(service, MIX).came == "looked up"
    service = gated({MIX: 2})
    assert service.hear("next step") == [MIX_TOLD]
    assert asked(service, MIX).came == "looked up"


def test_every_kind_of_question_has_its_answer() -> None:
    weighed = dataclasses.replace(bowl(), challenge="volume")
    tap = recipe(dataclasses.replace(TAP.stages[0], bowls=(weighed,)))
    service = gated({MIX: 2, **{f"{PLACE}{z}": 2 for z in ("nape", "crown", "hairline")}}, tap)
    assert service.calls()[-1] == "Root bowl: developer of which volume?"
    assert service.utter("twenty four")[0] == "Root bowl: developer of which volume?"
    assert service.utter("ten volume")[0] == "Ten volume is right."  # 3 %, trade rule
    service.hear("root bowl is mixed")
    service.at("01:00").hear("nape is on")
    assert service.calls()[-1] == "Crown: limit after how many minutes?"
    assert service.utter("five minutes")[0] == "It is thirteen minutes, not five minutes."
    service.at("02:00").hear("crown is on")
    assert service.calls()[-1] == "Hairline: due after how many minutes?"
    assert service.utter("thirty")[0] == "Thirty minutes is right."


def test_under_a_shared_total_minutes_are_asked_for_from_the_first_zone() -> None:
    shared = dataclasses.replace(TAP.stages[0], counts_from="shared")
    service = gated({f"{PLACE}crown": 2}, recipe(shared))
    service.hear("root bowl is mixed")
    service.hear("nape is on")
    assert service.calls()[-1] == "Crown: limit how many minutes after the first zone?"


def test_thirteen_heard_as_thirty_is_no_error_of_the_trainee() -> None:
    service = gated({f"{PLACE}crown": 2})
    service.hear("root bowl is mixed")
    service.hear("nape is on")
    assert service.utter("thirty minutes")[0] == "Thirteen minutes is right."


@pytest.mark.parametrize("heard", ["one to to", "one two two", "one too two"])
def test_two_and_to_sound_the_same(heard: str) -> None:
    assert gated({MIX: 2}).utter(heard)[0] == "One to two is right."


def test_an_answer_of_another_kind_is_asked_again() -> None:
    service = gated({MIX: 2})
    assert service.utter("twelve minutes") == ["Root bowl: which ratio?"]
    assert asked(service, MIX).came == "open"
    assert service.utter("one to two")[0] == "One to two is right."


def test_an_answer_can_be_taken_back_when_it_was_misheard() -> None:
    service = gated({MIX: 2})
    service.utter("one to one")
    assert service.hear("undo that") == [
        "Taken back. Clocks as they were.",
        "Root bowl: which ratio?",
    ]
    assert service.utter("one to two")[0] == "One to two is right."


def test_an_answer_hides_no_act_from_undo() -> None:
    """A zone started by mistake can be taken back, also after the next question was answered."""
    service = gated({f"{PLACE}crown": 2})
    service.hear("root bowl is mixed")
    service.at("01:00").hear("nape is on")
    service.hear("five minutes")
    service.hear("undo that")
    assert asked(service, f"{PLACE}crown").came == "open"
    assert run_of(service, "nape").on_at == 60
    service.hear("undo that")
    assert run_of(service, "nape").on_at is None
    assert service.hear("undo that") == ["There is nothing left to take back."]


def test_a_late_answer_needs_the_wake_word_and_counts() -> None:
    service = gated({MIX: 2}).at("00:40")
    assert service.utter("one to two") == []
    assert service.hear("one to two")[0] == "One to two is right."


def test_a_value_that_no_voice_can_give_is_not_asked_for() -> None:
    odd = dataclasses.replace(bowl(), ratio=Ratio.parse("1:7"))
    service = gated({MIX: 2}, recipe(dataclasses.replace(TAP.stages[0], bowls=(odd,))))
    assert service.calls()[-1].startswith("Root bowl: ")
    assert service.calls()[-1].endswith("Ratio one to seven.")


# ------------------------------------------------- never in the way of work


def test_an_unanswered_question_holds_up_nothing() -> None:
    service = gated({MIX: 2, f"{PLACE}nape": 2})
    assert service.hear("root bowl is mixed")[1] == "Nape: first look after how many minutes?"
    assert service.hear("starting nape") == ["Quiet for the nape."]
    said = service.at("03:00").hear("nape is on")
    assert said[0] == "Nape on. Check in twelve minutes, limit twenty five."
    assert run_of(service, "nape").on_at == 180
    assert asked(service, MIX).came == asked(service, f"{PLACE}nape").came == "open"


def test_an_answer_during_a_pass_says_no_more_than_whether_it_is_right() -> None:
    service = gated({f"{PLACE}nape": 2})
    service.hear("root bowl is mixed")
    service.hear("starting nape")
    assert service.hear("twelve minutes") == ["Twelve minutes is right."]
    assert service.head().state == "pass"


def test_a_call_cuts_the_lesson_and_the_answer_still_counts_afterwards() -> None:
    service = gated({f"{PLACE}crown": 2})
    service.hear("root bowl is mixed")
    service.at("01:00").hear("nape is on")
    assert service.calls()[-1] == "Crown: limit after how many minutes?"
    assert "Chair one. Nape. Check a strand." in service.at("13:00").calls("12:59")
    assert service.hear("nape is ready") == [
        "Nape ready. Thirteen minutes to the limit.",
        "Crown: limit after how many minutes?",
    ]
    assert service.hear("nape is not ready")[1:] == []  # asked once more, not for ever
    assert service.hear("thirteen minutes")[0] == "Thirteen minutes is right."


@pytest.mark.parametrize("kind", ["check", "due", "near", "limit"])
@pytest.mark.parametrize("level", list(Level))
def test_no_call_of_any_priority_is_kept_back_by_a_lesson(kind: str, level: Level) -> None:
    """The same calls at the same seconds, whatever is taught: a lesson moves no alarm."""
    moment = {"check": "13:00", "due": "16:00", "near": "23:00", "limit": "26:00"}[kind]

    def calls(trainee: str) -> list[tuple[float, str]]:
        every = {f"{PLACE}{name}": int(level) for name in ("nape", "crown", "hairline")}
        service = Service(TAP, trainee=trainee, levels=every).at("00:01")
        service.hear("start test tap")
        service.gate()
        service.hear("root bowl is mixed")
        service.at("01:00").hear("nape is on")
        service.at(moment)
        return [(at, text) for at, text in service.said if text.startswith("Chair one. ")]

    taught, untaught = calls("robin"), calls("")
    assert taught == untaught
    assert any(at == At.parse(moment).seconds for at, _ in taught)


@pytest.mark.parametrize("answer", ["one to one", "skip the question", "one to two"])
def test_no_answer_moves_a_clock(answer: str) -> None:
    service = gated({f"{PLACE}crown": 2, f"{PLACE}hairline": 2})
    service.hear("root bowl is mixed")
    service.at("01:00").hear("nape is on")
    before = [alarm for alarm in service.salon.alarms() if alarm.subject == "nape"]
    service.hear(answer)
    service.hear("ninety minutes")
    assert [alarm for alarm in service.salon.alarms() if alarm.subject == "nape"] == before


# ------------------------------------------------------- silent, with checks


def test_a_silent_step_tells_its_clock_and_nothing_else() -> None:
    service = gated({MIX: 2, f"{PLACE}nape": 3, f"{PLACE}crown": 3})
    assert service.hear("root bowl is mixed") == ["Root bowl noted. Its age counts from now."]
    said = service.at("01:00").hear("nape is on")
    assert said == ["Nape on. Check in twelve minutes, limit twenty five."]
    assert service.hear("next step") == ["Next, crown: half a centimetre from the scalp."]
    assert service.hear("next step") == ["Press, do not drag."]
    assert "Chair one. Nape. Check a strand." in service.at("13:00").calls("12:59")


def test_a_zone_that_waits_is_told_at_every_level() -> None:
    late = zone("ends", wait_for_start=True, window=window(3, 5, 20))
    slow = zone("nape", window=window(20, 25, 30))
    service = gated({f"{PLACE}ends": 3}, recipe(stage(slow, late)))
    service.hear("root bowl is mixed")
    assert "Ends can wait" in service.hear("nape is on")[1]


@pytest.mark.parametrize("level", list(Level))
def test_a_zone_before_its_turn_is_told_and_goes_on_all_the_same(level: Level) -> None:
    service = gated({f"{PLACE}{name}": level for name in ("nape", "crown")})
    service.hear("root bowl is mixed")
    said = service.at("02:00").hear("crown is on")
    assert said[:3] == [
        "Crown on. Check in five minutes, limit thirteen.",
        "The nape was to come before the crown.",
        "Because the nape takes slowest.",
    ]
    assert run_of(service, "crown").on_at == 120


def test_the_lesson_comes_back_from_the_journal_with_everything_else() -> None:
    """The levels travel in the first event, so folding the same events asks the same."""
    first, second = gated({MIX: 2}), gated({MIX: 2})
    first.utter("one to one")
    second.utter("one to one")
    assert first.head().file.lesson == second.head().file.lesson
    assert first.said == second.said


@settings(max_examples=80, deadline=None)
@given(st.lists(st.sampled_from([*GATE_ANSWERS, *SAID]), max_size=30))
def test_no_lesson_passes_over_the_safety_gate(words: list[str]) -> None:
    everything = dict.fromkeys((MIX, *(f"{PLACE}{z}" for z in ("nape", "crown"))), 3)
    service = Service(TAP, trainee="robin", levels=everything).at("00:01")
    service.hear("start test tap")
    for text in words:
        service.hear(text)
        file = service.head().file
        if file.mixed or any(run.on_at is not None for run in file.zones):
            assert set(file.gate) == set(GATE)
