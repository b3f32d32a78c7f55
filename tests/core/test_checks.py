"""Answers to a strand check, word for word: which zones they are about, how long, taken back."""

from __future__ import annotations

import pytest

from assistant.core.clocks import MINUTE
from assistant.core.events import Priority, Say
from assistant.core.recipe import Recipe
from assistant.core.replies import reply
from assistant.core.talk import Talk
from tests.core.recipes import TWO_ZONES, recipe, stage, window, zone
from tests.core.service import Service

THREE_ZONES = recipe(stage(zone("nape"), zone("crown"), zone("sides")))
UNLIKE = recipe(
    stage(
        zone("nape", window=window(5, 30, 40, every=5)),
        zone("crown", window=window(5, 20, 45, every=3)),
    )
)


def on(book: Recipe = TWO_ZONES, **zones: str) -> Service:
    """Opened and mixed at 0:00, and these zones on at these times; nape and crown at 1:00."""
    service = Service(book)
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    for name, time in (zones or {"nape": "01:00", "crown": "01:00"}).items():
        service.at(time).hear(f"{name} is on")
    return service


def looks(service: Service) -> list[float | None]:
    """When each zone is looked at again, in minutes."""
    at = [run.look_at for run in service.head().file.zones]
    return [None if look is None else look / MINUTE for look in at]


# ------------------------------------------------------------ ready


def test_the_head_may_be_rinsed_only_once_every_zone_is_ready() -> None:
    service = on(THREE_ZONES).at("08:00")
    assert service.hear("nape is ready") == ["Nape ready. Thirteen minutes to the limit."]
    assert service.hear("crown is ready")[0].startswith("Crown ready. Thirteen")  # sides not on
    service.at("10:00").hear("sides is on")
    assert service.at("16:00").hear("sides is ready") == [
        "Sides ready. You may rinse, five minutes left."  # the nape has as long
    ]


@pytest.mark.parametrize("time", ["21:00", "23:00"])
def test_ready_at_the_limit_or_past_it_is_to_be_rinsed_at_once(time: str) -> None:
    service = on(nape="01:00", crown="05:00").at(time)
    assert service.hear("everything is ready") == ["Nape and crown past the limit. Rinse at once."]
    assert on().at("20:59").hear("nape is ready") == ["Nape ready. Zero minutes to the limit."]


@pytest.mark.parametrize(
    ("said", "time"),
    [
        ("nape is ready", "08:00"),  # others are not
        ("everything is ready", "08:00"),
        ("everything is ready", "22:00"),
        ("nape is not ready", "08:00"),
        ("give nape thirteen minutes", "03:00"),
    ],
)
def test_an_answer_can_be_taken_back(said: str, time: str) -> None:
    wide = recipe(stage(zone("nape", window=window(5, 30, 50)), zone("crown")))
    service = on(wide).at(time)
    before = repr(service.head().file)
    service.hear(said)
    assert repr(service.head().file) != before
    service.hear("undo that")
    assert repr(service.head().file) == before


def test_a_zone_that_was_ready_is_called_again_if_it_is_given_more() -> None:
    service = on(nape="01:00", crown="05:00").at("08:00")
    service.hear("nape is ready")
    service.hear("give nape five minutes")
    assert "Chair one. Nape. Due. Check now." in service.at("13:00").calls("12:59")


def test_after_an_answer_the_next_zone_is_told_from_its_beginning() -> None:
    """The answer came between: where to put the sides is told again before how."""
    for answer in ("nape is ready", "nape is not ready"):
        service = on(THREE_ZONES).at("08:00")
        first = service.hear("where are we")[1]
        assert service.hear("next step") != [first]
        service.hear(answer)
        assert service.hear("next step") == ["Press, do not drag."]


# ------------------------------------------------------------ which zone


def test_without_a_name_it_is_about_the_zones_that_are_due() -> None:
    service = on().at("06:00")  # both have their first check
    assert service.hear("give it five") == ["Nape and crown: I call in five minutes."]
    later = on(nape="01:00", crown="03:00").at("06:00")
    assert later.hear("give it five") == ["Nape: I call in five minutes."]
    later.at("08:30").hear("give it six")  # the crown is due, the nape at eleven again
    assert looks(later) == [11, 14.5]


def test_without_a_name_and_before_anything_is_due_it_is_about_the_only_zone_that_is_on() -> None:
    assert on(nape="01:00").at("03:00").hear("it is ready")[0].startswith("Nape ready.")
    assert on().at("03:00").hear("it is ready") == ["Which zone? Nape and crown?"]


def test_without_anything_on_there_is_nothing_to_ask_which() -> None:
    service = on(nape="01:00").at("07:00")
    service.hear("rinsing now")
    for said in ("it is ready", "not ready", "give it five"):
        assert service.hear(said) == ["Not now. We are at the crown."]


# ------------------------------------------------------------ not ready


@pytest.mark.parametrize(
    ("at", "again"),
    [
        ("06:00", 9),  # the crown's rhythm is three minutes
        ("20:00", 21),  # the crown's target
        ("21:29", 24 + 29 / 60),
        ("28:29", 31),  # the nape's target
        ("38:29", 41),  # the nape's limit
    ],
)
def test_not_ready_looks_again_in_the_shortest_rhythm_and_not_past_a_target_or_limit(
    at: str, again: float
) -> None:
    service = on(UNLIKE).at(at)
    service.hear("not ready")
    assert looks(service) == [again, again]


def test_at_its_target_a_zone_is_looked_at_again_in_its_rhythm() -> None:
    service = on(nape="01:00").at("11:00")
    assert service.hear("nape is not ready") == ["Nape: I call in five minutes."]


def test_minutes_may_end_at_the_very_limit() -> None:
    assert on().at("16:00").hear("give nape five minutes") == ["Nape: I call in five minutes."]


def test_minutes_are_given_by_the_first_limit_of_the_zones_they_are_for() -> None:
    service = on(UNLIKE).at("38:29")
    assert service.hear("give it five") == ["Not five. Nape and crown: two minutes to the limit."]
    assert service.hear("give it two") == ["Nape and crown: I call in two minutes."]
    assert on(UNLIKE).at("40:59").hear("give nape five minutes") == [
        "Not five. Nape: zero minutes to the limit."
    ]


@pytest.mark.parametrize("said", ["not ready", "give it two"])
def test_at_the_first_of_two_limits_neither_zone_is_given_more(said: str) -> None:
    refused = ["No. Nape and crown at the limit. Rinse at once."]
    assert on(UNLIKE).at("41:00").hear(said) == refused


@pytest.mark.parametrize(("answered", "fits"), [("11:00", True), ("11:01", False)])
def test_the_answer_to_thirteen_or_thirty_may_fit_to_the_second(answered: str, fits: bool) -> None:
    service = on(UNLIKE).at("10:56")  # the nape's limit is 41:00
    assert service.hear("give it thirteen") == ["Thirteen, one three, or thirty, three zero?"]
    told = service.at(answered).utter("thirty")
    assert told[0].startswith("Nape and crown: I call in thirty" if fits else "Not thirty")


def test_the_answer_to_thirteen_or_thirty_is_about_the_zone_that_was_asked_about() -> None:
    book = recipe(stage(zone("nape", window=window(5, 30, 50)), zone("crown")))
    service = on(book).at("06:00")  # the crown has its first check too
    assert service.hear("give nape thirteen minutes")[0].startswith("Thirteen")
    assert service.utter("thirty") == ["Nape: I call in thirty minutes, three zero."]
    assert looks(service) == [36, None]


def test_only_the_two_that_were_asked_about_answer_thirteen_or_thirty() -> None:
    """ "Five" in the talk of the room is no answer (heard in people's talk); "once more?" follows
    and the question stays what it was."""
    service = on(UNLIKE).at("10:56")
    service.hear("give it thirteen")
    assert service.utter("five") == ["Sorry, once more?"]
    meanwhile = 10 + 56 / 60 + 13  # the shorter one is armed
    assert looks(service) == pytest.approx([meanwhile, meanwhile])
    assert service.at("11:00").utter("thirty")[0].startswith("Nape and crown: I call in thirty")


def test_what_was_refused_is_in_the_record() -> None:
    service = on().at("19:00")
    service.hear("give nape five minutes")
    service.at("21:00").hear("nape is not ready")
    assert service.head().file.zones[0].checks == [
        (19 * MINUTE, "give it 5: refused"),
        (21 * MINUTE, "not ready: refused, at the limit"),
    ]


def test_a_call_of_several_chairs_is_not_about_the_one_called_before() -> None:
    """Whoever answers it with a command has to say which chair."""
    talk = Talk()
    for number, chair in ((1, 1), (2, None)):
        say = Say(number, Priority.LIMIT, chair, "limit", call="limit/1")
        talk.saying(say, reply("limit", asks="call"), 0.0)
    assert talk.question is not None
    assert talk.question.chair is None
