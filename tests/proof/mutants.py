"""Mutation testing of the core: a small error put into a module must make a quick test fail.

`python -m tests.proof.mutants clocks calls` runs some modules, without names all of them. Each
mutant lives in a process of its own: the working tree is never changed. A mutant that no test
notices and `equivalent_mutants.yaml` does not explain is a survivor; any makes the exit code 1.

Made ourselves because mutmut 3 leaves out every decorated function (here all properties and
class methods) and cosmic-ray edits the files in place and starts Python anew for each mutant.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import yaml
from hypothesis import settings

from tests.proof.mutant_trials import survivors
from tests.proof.mutations import Mutant, mutants

TOP = Path(__file__).parents[2]
settings.register_profile("mutants", database=None, derandomize=True)
settings.load_profile("mutants")
EXPLAINED = Path(__file__).with_name("equivalent_mutants.yaml")
_PLAN = "tests/core/test_plan_faults.py"
_CLOCKS = "tests/core/test_clocks.py tests/published/test_clock_examples.py"
_CALLS = "tests/core/test_calls.py tests/core/test_calls_without_sound.py"
_MIX = "tests/core/test_mix.py tests/published/test_mix_bowl.py tests/core/test_mix_amounts.py"
_SERVICE = (
    "tests/core/test_service.py tests/core/test_service_refusals.py "
    "tests/core/test_service_doubts.py tests/core/test_plain_answers.py"
)
_HEAD = (
    "tests/published/test_plan_timing.py tests/core/test_plan_head.py "
    "tests/core/test_plain_answers.py"
)
_DAY = (
    "tests/core/test_plan_greedy.py tests/core/test_plan_day.py tests/core/test_plan_tight.py "
    "tests/core/test_plain_answers.py"
)

# The files that are to notice, the most likely first.
TESTS: dict[str, str] = {
    "clocks": f"{_CLOCKS} tests/published/test_plan_timing.py",
    "call": _CALLS,
    "calls": f"{_CALLS} tests/core/test_calls_when_back.py "
    "tests/published/test_clock_examples.py tests/core/test_service.py",
    "due": f"tests/core/test_due.py {_CALLS} {_SERVICE} tests/core/test_odd_moments.py "
    "tests/published/test_clock_examples.py tests/core/test_people.py",
    "checks": f"tests/core/test_checks.py {_SERVICE} tests/core/test_odd_moments.py",
    "gate": f"tests/core/test_safety_gate.py {_SERVICE} tests/core/test_regulars.py "
    "tests/core/test_debrief.py",
    "endings": "tests/core/test_intents.py tests/core/test_words.py",
    "guesses": "tests/core/test_guesses.py",
    "numbers": "tests/core/test_numbers.py tests/core/test_odd_values.py "
    "tests/core/test_intents.py tests/core/test_mix_asked.py tests/core/test_language.py "
    "tests/core/test_regulars.py",
    "moment": "tests/edges/test_clock.py",
    "mix": f"{_MIX} tests/core/test_shades_and_growth.py",
    "peroxide": "tests/published/test_peroxide.py tests/core/test_mix.py "
    "tests/core/test_odd_values.py",
    "dilute": "tests/published/test_mix_dilution.py tests/core/test_mix_dilute.py "
    "tests/core/test_mix_sheet.py",
    "amounts": "tests/published/test_mix_guesses.py tests/core/test_mix_amounts.py "
    "tests/core/test_mix_sheet.py",
    "plan": _PLAN,
    "plan_check": _PLAN,
    "plan_head": f"tests/core/test_plan_head_sums.py {_HEAD}",
    "plan_order": f"tests/core/test_plan_order.py {_HEAD}",
    "plan_live": "tests/core/test_plan_live.py tests/core/test_plan_tight.py "
    "tests/core/test_plan_spoken.py",
    "plan_tasks": f"tests/core/test_plan_tasks.py {_PLAN} {_DAY}",
    "plan_day": f"tests/core/test_plan_day_rules.py tests/core/test_plan_tasks.py {_PLAN} "
    f"{_DAY} tests/core/test_odd_moments.py",
    "plan_greedy": _DAY,
    "plan_clash": f"tests/core/test_plan_clash.py {_DAY}",
    "plan_sheet": f"tests/core/test_plan_sheet.py {_DAY}",
}


def explained(module: str) -> dict[str, str]:
    """The mutants of a module that mean the same as the original, with the reason."""
    known: dict[str, dict[str, str]] = yaml.safe_load(EXPLAINED.read_text()) or {}
    return known.get(module, {})


def try_all(module: str, only: str = "") -> tuple[int, int, list[Mutant]]:
    """Tried, explained, and the survivors."""
    files = [str(TOP / file) for file in TESTS[module].split()]
    source = (TOP / "assistant" / "core" / f"{module}.py").read_text()
    reasons, found = explained(module), [m for m in mutants(source) if only in m.name]
    unused = set(reasons) - {m.name for m in found}
    if unused and not only:
        raise SystemExit(f"{EXPLAINED.name}: nothing in {module} is called {sorted(unused)}")
    alive: list[Mutant] = []

    def tell(mutant: Mutant) -> None:
        alive.append(mutant)
        print(f"  survives: {module}.py:{mutant.lines.start}  {mutant.name}", flush=True)

    unknown = [m for m in found if m.name not in reasons]
    survivors(f"assistant.core.{module}", unknown, files, tell)
    return len(found), len(found) - len(unknown), alive


def main() -> int:
    """Run the modules asked for and print a line for each."""
    parser = argparse.ArgumentParser(prog="python -m tests.proof.mutants")
    parser.add_argument("modules", nargs="*", choices=[*TESTS], metavar="MODULE")
    parser.add_argument("--only", default="", help="mutants whose name contains this text")
    asked = parser.parse_args()
    left = 0
    for module in asked.modules or TESTS:
        began = time.monotonic()
        tried, same, alive = try_all(module, asked.only)
        killed, seconds = tried - same - len(alive), time.monotonic() - began
        told = f"{tried} mutants, {killed} noticed, {same} explained, {len(alive)} survive"
        print(f"{module}: {told}  [{seconds:.0f} s]", flush=True)
        left += len(alive)
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main())
