"""What the records know of a client: the newest test, a reaction, the last visit."""

from __future__ import annotations

import time
from datetime import date
from pathlib import Path

import pytest

from assistant.core.client_card import Client, PastTest
from assistant.core.head import Head
from assistant.core.rule import SalonRule
from assistant.edges import client_cards
from assistant.edges.alert_tests import AlertTest, Result
from assistant.edges.kept_records import KeptRecords
from assistant.edges.records import DAY, RecordStore
from tests.core.recipes import recipe, stage, zone

NOW = 100.5 * DAY  # 1970-04-11, about noon in most of the world
TODAY = date(1970, 4, 11)


def visit(
    path: Path, number: int, days_ago: int, gate: str, *, coloured: bool = True, **facts: object
) -> None:
    """A record of client 41, so many days ago."""
    head = Head(1, number, recipe(stage(zone("crown"))), 0.0)
    head.file.client = Client("41", None, SalonRule())
    head.file.gate["alert test"] = gate
    if coloured:
        run = head.file.zones[0]
        run.on_at, run.rinsed_at = 60.0, 60.0 + 12 * 60
    for name, value in facts.items():
        setattr(head.file, name, value)
    store = RecordStore(path, "s", lambda: NOW - days_ago * DAY)
    store.write(head)
    store.close()


def made_by_ann(days_ago: int, result: Result = "clear", line: str = "line a") -> AlertTest:
    day = date.fromordinal(TODAY.toordinal() - days_ago)
    return AlertTest("41", day, line, result, "ann")


def card(path: Path, *tests: AlertTest) -> client_cards.Card:
    store = RecordStore(path, "", lambda: NOW)
    for one in tests:
        store.add_test(one)
    store.close()
    return KeptRecords(path.parent, path, "now", lambda: NOW).card("41")


def test_nobody_knows_a_new_client(tmp_path: Path) -> None:
    found = card(tmp_path / "r.db")
    assert (found.visits, found.reaction, found.test, found.last) == (0, False, None, None)


def test_a_test_told_at_the_gate_counts_from_the_day_it_was_made(tmp_path: Path) -> None:
    visit(tmp_path / "r.db", 1, 42, "clear, 3 days ago")
    assert card(tmp_path / "r.db").test == PastTest(45, "demi-permanent", "told at the gate")


@pytest.mark.parametrize(
    "gate",
    [
        "none on record",
        "clear, 300 days ago, outside the salon's rule",  # still a test; its day is what counts
        "on record: clear, 30 days ago, line a (ann)",  # not made on that day
    ],
)
def test_what_the_gate_did_not_learn_is_no_new_test(tmp_path: Path, gate: str) -> None:
    visit(tmp_path / "r.db", 1, 42, gate)
    found = card(tmp_path / "r.db").test
    assert found is None or found.days_ago == 342


def test_the_newest_test_counts_and_the_written_one_of_a_day(tmp_path: Path) -> None:
    visit(tmp_path / "r.db", 1, 10, "clear, 3 days ago")
    assert card(tmp_path / "r.db", made_by_ann(50)).test == PastTest(
        13, "demi-permanent", "told at the gate"
    )
    assert card(tmp_path / "r.db", made_by_ann(13, line="b")).test == PastTest(13, "b", "ann")
    assert card(tmp_path / "r.db", made_by_ann(5, line="c")).test == PastTest(5, "c", "ann")


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="time zones cannot be set on this system")
@pytest.mark.parametrize(("zone_name", "days"), [("UTC+8", 1), ("UTC-10", 2)])
def test_days_are_those_of_the_salons_own_calendar(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, zone_name: str, days: int
) -> None:
    """At 02:00 UTC it is the evening before in the west (POSIX counts its signs from there)."""
    monkeypatch.setenv("TZ", zone_name)
    time.tzset()
    try:
        store = RecordStore(tmp_path / "r.db", "", lambda: 0.0)
        store.add_test(AlertTest("41", date(1970, 4, 9), "line a", "clear", "ann"))
        store.close()
        at_two = 100 * DAY + 2 * 3600.0  # 1970-04-11 02:00 UTC
        kept = KeptRecords(tmp_path, tmp_path / "r.db", "now", lambda: at_two)
        test = kept.card("41").test
    finally:
        monkeypatch.undo()
        time.tzset()
    assert test is not None
    assert test.days_ago == days


def test_a_reaction_stays_until_somebody_lifts_it(tmp_path: Path) -> None:
    path = tmp_path / "r.db"
    assert card(path, made_by_ann(60, "reaction")).reaction
    assert card(path, made_by_ann(3)).reaction  # a clear test does not outweigh it
    assert not card(path, made_by_ann(2, "lifted")).reaction
    assert card(path, made_by_ann(1, "reaction")).reaction


@pytest.mark.parametrize(
    ("gate", "facts", "reaction"),
    [
        ("reaction", {}, True),
        ("clear, 3 days ago", {"burns_at": 500.0}, True),
        ("clear, 3 days ago", {"incidents": [(5.0, "burning was reported")]}, False),  # taken back
    ],
)
def test_a_reaction_at_an_earlier_service_counts(
    tmp_path: Path, gate: str, facts: dict[str, object], reaction: bool
) -> None:
    visit(tmp_path / "r.db", 1, 42, gate, **facts)
    assert card(tmp_path / "r.db").reaction == reaction


def test_the_last_visit_is_the_last_with_colour_on(tmp_path: Path) -> None:
    path = tmp_path / "r.db"
    visit(path, 1, 60, "clear, 3 days ago", notes=["longer"])
    visit(path, 2, 42, "clear, 3 days ago", notes=["shorter"], outcome={"colour": "too warm"})
    visit(path, 3, 5, "none on record", coloured=False)
    found = card(path)
    assert found.visits == 3
    assert found.last is not None
    assert (found.last.days_ago, found.last.notes, found.last.outcome) == (
        42,
        ("shorter",),
        ("too warm",),
    )
    assert [(z.name, z.target_minutes, z.minutes_on) for z in found.last.zones] == [
        ("crown", 10, 12.0)
    ]


def test_what_people_wrote_is_never_in_the_card(tmp_path: Path) -> None:
    path = tmp_path / "r.db"
    visit(path, 1, 42, "clear, 3 days ago")
    assert not card(path).more
    store = RecordStore(path, "", lambda: NOW)
    store.correct(1, "contra-indications", "allergic to henna")
    store.close()
    found = card(path)
    assert found.more
    assert "henna" not in repr(found)


def test_a_corrected_client_is_found_under_the_new_name(tmp_path: Path) -> None:
    path = tmp_path / "r.db"
    visit(path, 1, 42, "clear, 3 days ago")
    store = RecordStore(path, "", lambda: NOW)
    store.correct(1, "client", "Robin")
    assert [r.client for r in store.of_client(" robin")] == ["Robin"]
    assert store.of_client("41") == ()
    assert store.of_client("") == ()


@pytest.mark.parametrize(
    ("made", "says"),
    [
        (AlertTest("41", date(1970, 4, 12), "a", "clear", "ann"), "still to come"),
        (AlertTest("41", TODAY, "", "clear", "ann"), "product line"),
        (AlertTest("41", TODAY, "", "lifted", ""), "--who"),
        (AlertTest("41", TODAY, "a", "clear", "ann", 5, 2), "change them over"),
        (AlertTest("41", TODAY, "a", "clear", "ann", -1), "below zero"),
        (AlertTest("41", TODAY, "", "reaction", ""), None),
    ],
)
def test_a_test_that_cannot_be_is_refused(made: AlertTest, says: str | None) -> None:
    problem = made.problem(TODAY)
    assert problem is None if says is None else says in str(problem)


def test_growth_is_the_clients_own_once_it_was_measured(tmp_path: Path) -> None:
    """18 mm in 45 days are 0.4 mm a day: 12 mm in the 30 days since."""
    path = tmp_path / "r.db"
    visit(path, 1, 75, "clear, 3 days ago")
    found = card(path)
    assert found.growth is None
    assert found.regrowth is not None
    assert found.regrowth.mm == pytest.approx(75 * 0.347)
    store = RecordStore(path, "s", lambda: NOW - 30 * DAY)
    store.add_consultation("41", {"regrowth_mm": 18.0})
    store.close()
    visit(path, 2, 30, "clear, 3 days ago")
    visit(path, 3, 6, "clear, 3 days ago")  # nobody measured: the answer is that of visit two
    found = card(path)
    assert found.growth is not None
    assert found.growth.microns_per_day == pytest.approx(400)
    assert found.regrowth is None  # six days ago: nothing to speak of
    told = list(client_cards.in_words(found, SalonRule()))
    assert not any("regrowth" in line for line in told)
