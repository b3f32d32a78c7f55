"""A plan is advice: with every planner taken away, each alarm of a service is the same."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import assistant
from assistant.core import due, plan_answers
from assistant.core.replies import reply
from tests.core.service import Service
from tests.core.test_plan_spoken import two_chairs

CORE = Path(assistant.__file__).parent / "core"
# What may know of day plans: plans themselves, and the answers to questions.
MAY_ASK = {"answers.py", "salon_wide.py"}


def told(service: Service) -> list[tuple[float, str]]:
    """A service in which the planner is asked again and again; everything called out."""
    for time in ("05:00", "09:00", "14:00", "20:00", "23:00", "26:00"):
        service.at(time).hear("can i start chair two now")
        service.hear("chair one when does the toner go on")
    service.at("30:00")
    return [(at, text) for at, text in service.said if text.startswith("Chair one.")]


def test_every_alarm_is_the_same_without_the_planner(monkeypatch: pytest.MonkeyPatch) -> None:
    with_planner = two_chairs()
    calls = told(with_planner)
    alarms = [due.alarms(head) for head in with_planner.salon.heads.values()]
    monkeypatch.setattr(plan_answers, "start_now", lambda *_: reply("goes_on_nothing"))
    monkeypatch.setattr(plan_answers, "toner_when", lambda *_: [reply("goes_on_nothing")])
    without = two_chairs()
    assert told(without) == calls
    assert [due.alarms(head) for head in without.salon.heads.values()] == alarms
    assert any("Limit" in text for _, text in calls)


def test_no_clock_alarm_or_call_knows_of_a_plan() -> None:
    knowing = set()
    for path in sorted(CORE.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.ImportFrom):
                names = [f"{node.module}.{alias.name}" for alias in node.names]
            if any(name.startswith("assistant.core.plan") for name in names):
                knowing.add(path.name)
    assert {name for name in knowing if not name.startswith("plan")} == MAY_ASK
