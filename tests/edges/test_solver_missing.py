"""Without the extra "plan" the quick planner answers, and the solver says what to install."""

from __future__ import annotations

import sys

import pytest

from assistant.cli import main
from assistant.edges import solver
from assistant.errors import ConfigError
from tests.core.days import drawn


@pytest.fixture
def _no_ortools(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in [n for n in sys.modules if n.startswith("ortools")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "ortools", None)


@pytest.mark.usefixtures("_no_ortools")
def test_the_solver_says_what_to_install() -> None:
    assert not solver.available()
    with pytest.raises(ConfigError, match="pip install 'swatchword\\[plan\\]'"):
        solver.solve(drawn(1, 2, 1, 1))


@pytest.mark.usefixtures("_no_ortools")
def test_a_day_is_planned_all_the_same(
    capsys: pytest.CaptureFixture[str],
    tmp_path_factory: pytest.TempPathFactory,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path_factory.mktemp("plans"))
    assert main(["plan", "double-booked"]) == 0
    assert "planned by the quick planner" in capsys.readouterr().out
