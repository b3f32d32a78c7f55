"""Does choosing stop what must stop, rank by the table, and never decide?"""

from dataclasses import fields
from typing import Any, get_args, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.choose import (
    MUST_STOP,
    STYLIST_DECIDES,
    Advice,
    Condition,
    RuleBook,
    Stop,
    advise,
    condition_problem,
)
from assistant.core.consultation import FACTS, Amount, Consultation, Words, consultation_from
from assistant.edges.choosing_file import load_rules
from assistant.errors import SumError

calm = settings(deadline=None)
BOOK = load_rules()
SAFE: dict[str, Any] = {"earlier_reaction": "none", "scalp": "sound", "age": "sixteen and over"}


def answers_of(fact: Words | Amount) -> st.SearchStrategy[Any]:
    if isinstance(fact, Words):
        return st.none() | st.sampled_from(fact.answers)
    return st.none() | st.floats(fact.least, fact.most)


heads = st.fixed_dictionaries({name: answers_of(fact) for name, fact in FACTS.items()}).map(
    lambda answers: Consultation(**answers)
)


def chosen(**answers: Any) -> Advice:
    return advise(BOOK, Consultation(**SAFE, **answers))


def first(**answers: Any) -> str:
    return chosen(**answers).proposals[0].recipe


# --------------------------------------------------------------- what stops


@calm
@given(heads)
def test_nothing_is_proposed_while_anything_stops_or_is_unsafe_to_guess(
    head: Consultation,
) -> None:
    advice = advise(BOOK, head)
    unsafe = any(head.answer(fact) == answer for fact, answer in MUST_STOP)
    unasked = any(head.answer(fact) is None for fact, _ in MUST_STOP)
    if unsafe:
        assert advice.stops
    if advice.stops or unasked:
        assert not advice.proposals
        assert "stylist decides" not in advice.spoken()
    else:
        assert {proposal.recipe for proposal in advice.proposals} == {
            candidate.name for candidate in BOOK.candidates
        }


@pytest.mark.parametrize(("fact", "answer"), MUST_STOP)
def test_each_contra_indication_stops_with_its_reason_and_source(fact: str, answer: str) -> None:
    advice = advise(BOOK, consultation_from({**SAFE, fact: answer, "effect": "soft blend"}))
    assert len(advice.stops) == 1
    assert "tukes.fi" in advice.stops[0].source  # EU label wording for oxidative hair dyes
    assert advice.spoken() == f"Stop. {advice.stops[0].say}"


@pytest.mark.parametrize(
    ("fact", "answer"),
    [("earlier_colour", "henna"), ("earlier_colour", "metal salts"), ("condition", "breaking")],
)
def test_the_tables_own_stops_stop_too(fact: str, answer: str) -> None:
    assert advise(BOOK, consultation_from({**SAFE, fact: answer})).stops


def test_safety_questions_come_first_and_one_at_a_time() -> None:
    advice = advise(BOOK, Consultation(effect="soft blend"))
    assert advice.ask_first == ("earlier_reaction", "scalp", "age")
    assert advice.spoken() == (
        "Ask first. Any earlier reaction to hair colour or to a henna tattoo?"
    )
    assert len(advice.sentences()) == 4


def test_nothing_ever_claims_the_law_or_says_safe() -> None:
    said = [line.say for line in (*BOOK.stops, *BOOK.rules)]
    said += [candidate.about for candidate in BOOK.candidates]
    for line in said:
        assert "law" not in line.lower().split()
        assert "safe" not in line.lower().split()
        assert line.endswith(".")


# ------------------------------------------------------------- what is ranked


@pytest.mark.parametrize(
    ("answers", "recipe"),
    [
        # All of these are common practice, put into points by us.
        ({"effect": "natural root", "wish": "fading", "highlights": "even"}, "root tap"),
        ({"effect": "natural root", "hair": "damp"}, "root tap"),
        ({"highlights": "stripy", "hair": "dry"}, "dry root tap"),
        ({"highlights": "bled", "wish": "lasting"}, "dry root tap"),
        ({"effect": "natural root", "highlights": "stripy"}, "dry root tap"),
        ({"effect": "deeper root"}, "root stretch"),
        ({"effect": "deeper root", "highlights": "stripy"}, "root stretch"),
        ({"effect": "soft blend", "lifted_level": 9}, "root melt"),
        ({"effect": "grey cover", "grey_percent": 60, "regrowth_mm": 15}, "regrowth touch up"),
        ({"effect": "grey cover", "wish": "lasting", "hair": "dry"}, "regrowth touch up"),
        ({"effect": "brighter", "lifted_level": 6}, "quarter foils"),
        ({"effect": "brighter", "hair": "dry", "regrowth_mm": 30}, "quarter foils"),
    ],
)
def test_the_first_proposal(answers: dict[str, Any], recipe: str) -> None:
    assert first(**answers) == recipe


@pytest.mark.parametrize("name", [candidate.name for candidate in BOOK.candidates])
def test_every_recipe_can_come_first_and_has_something_against_it(name: str) -> None:
    for sign in (1, -1):
        assert any(rule.points * sign > 0 and name in rule.recipes for rule in BOOK.rules)


@calm
@given(heads)
def test_the_ranking_follows_the_points_and_reasons_their_sign(head: Consultation) -> None:
    proposals = advise(BOOK, head).proposals
    points = [proposal.points for proposal in proposals]
    assert points == sorted(points, reverse=True)
    for proposal in proposals:
        assert all(reason.points > 0 for reason in proposal.speaks_for)
        assert all(reason.points < 0 for reason in proposal.speaks_against)
        for reason in (*proposal.speaks_for, *proposal.speaks_against):
            assert reason.source


@calm
@given(heads)
def test_it_never_decides(head: Consultation) -> None:
    advice = advise(BOOK, head)
    if advice.proposals:
        assert advice.sentences()[-1] == STYLIST_DECIDES
        assert advice.spoken().endswith(STYLIST_DECIDES)


@calm
@given(heads)
def test_a_fact_not_asked_gives_no_reason(head: Consultation) -> None:
    for stop_or_rule in (*BOOK.stops, *BOOK.rules):
        for condition in stop_or_rule.when:
            if head.answer(condition.fact) is None:
                assert not condition.holds(head)


def test_without_a_reason_it_says_so() -> None:
    assert chosen().spoken() == (
        "Nothing asked so far speaks clearly for one recipe. The stylist decides."
    )
    assert "Not asked yet: earlier colour, condition, effect" in chosen().sentences()[-2]


def test_for_and_against_are_sentences() -> None:
    advice = chosen(effect="natural root", wish="fading", highlights="stripy")
    tap = next(p for p in advice.proposals if p.recipe == "root tap")
    assert tap.sentences() == (
        "Root tap: Demi colour on damp hair at the basin, about half a centimetre on the root.",
        "For: Demi on damp hair fades gradually and grows out softer.",
        "For: A tap puts the natural level back at the root and leaves the lengths light.",
        "Against: Demi may not cover a stripe or a bleed for long.",
    )


def test_the_spoken_answer_is_short_and_names_the_second_best() -> None:
    said = chosen(effect="natural root", wish="lasting", hair="damp").spoken()
    assert said == (
        "Dry root tap. Permanent colour on dry hair lasts until it grows out. Against it: It "
        "wants dry hair. Dry it fully first. Or root tap. The stylist decides."
    )


def test_a_second_best_without_points_is_not_named() -> None:
    said = chosen(effect="brighter", lifted_level=6).spoken()
    assert said == "Quarter foils. Only lightener makes the lengths brighter. The stylist decides."


def test_one_point_is_enough_to_be_named_and_none_is_not() -> None:
    barely = chosen(regrowth_mm=22, lifted_level=7)
    assert [p.points for p in barely.proposals[:4]] == [2, 1, 1, 1]
    porous = chosen(condition="porous")
    assert [p.points for p in porous.proposals] == [0, 0, 0, 0, -1, -4]
    assert porous.spoken().startswith("Nothing asked so far")
    assert chosen(lifted_level=8).spoken() == (
        "Root melt. Light lengths take a melted toner well. The stylist decides."
    )


# -------------------------------------------------------------- facts, conditions


def test_the_facts_are_those_of_the_consultation_with_the_same_answers() -> None:
    assert tuple(FACTS) == tuple(field.name for field in fields(Consultation))
    hints = get_type_hints(Consultation)
    for name, fact in FACTS.items():
        if isinstance(fact, Words):
            literal = next(part for part in get_args(hints[name]) if part is not type(None))
            assert fact.answers == get_args(literal)


@pytest.mark.parametrize(
    ("fact", "answer"),
    [
        ("effect", "stronger"),
        ("highlights", ""),
        ("grey_percent", "101"),
        ("grey_percent", "-1"),
        ("grey_percent", "nan"),
        ("regrowth_mm", "-3"),
        ("regrowth_mm", "long"),
        ("lifted_level", "0"),
        ("lifted_level", "11"),
        ("shoe_size", "42"),
    ],
)
def test_answers_that_cannot_be_are_refused(fact: str, answer: str) -> None:
    with pytest.raises(SumError, match=fact.replace("_", "[ _]")):
        consultation_from({fact: answer})


@pytest.mark.parametrize(
    ("fact", "least", "most"),
    [("lifted_level", 1, 10), ("grey_percent", 0, 100), ("regrowth_mm", 0, 300)],
)
def test_the_ends_of_a_range_are_answers_and_past_them_is_not(
    fact: str, least: float, most: float
) -> None:
    for end, past in ((least, least - 0.5), (most, most + 0.5)):
        assert consultation_from({fact: str(end)}).answer(fact) == end
        with pytest.raises(SumError):
            consultation_from({fact: str(past)})


@pytest.mark.parametrize(
    ("condition", "holds"),
    [
        (Condition("grey_percent", at_least=50), [False, False, True, True]),
        (Condition("grey_percent", below=50), [True, True, False, False]),
        (Condition("grey_percent", at_least=25, below=50), [False, True, False, False]),
    ],
)
def test_number_conditions_take_their_lower_end(condition: Condition, holds: list[bool]) -> None:
    greys = (10, 25, 50, 100)
    assert [condition.holds(Consultation(grey_percent=grey)) for grey in greys] == holds


def test_conditions_that_can_never_hold_are_found() -> None:
    assert condition_problem(Condition("grey_percent", at_least=50, below=50))
    assert condition_problem(Condition("grey_percent", at_least=500))
    assert condition_problem(Condition("effect", words=("stronger",)))
    assert condition_problem(Condition("shoe_size", at_least=1))
    assert condition_problem(Condition("effect", words=("brighter",))) is None


def test_a_stop_with_a_second_condition_does_not_count_as_a_guard() -> None:
    loose = Stop((Condition("scalp", ("broken",)), Condition("hair", ("damp",))), "No.", "test")
    tight = Stop((Condition("scalp", ("broken", "sensitive")),), "No.", "test")
    assert ("scalp", "broken") in RuleBook((), (loose,), ()).missing_stops()
    assert ("scalp", "broken") not in RuleBook((), (tight,), ()).missing_stops()
    assert BOOK.missing_stops() == ()
