"""Mutation testing of the core: a small error put into a module must make a quick test fail.

`python -m tests.proof.mutants clocks calls` runs some modules, without names all of them. Each
mutant lives in a process of its own: the working tree is never changed. A mutant that no test
notices and `equivalent_mutants.yaml` does not explain is a survivor; any makes the exit code 1.

Made ourselves because mutmut 3 leaves out every decorated function (here all properties and
class methods) and cosmic-ray edits the files in place and starts Python anew for each mutant.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib.abc
import importlib.machinery
import importlib.util
import os
import resource
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import FunctionType, ModuleType

import pytest
import yaml
from hypothesis import settings

from tests.proof.mutations import Mutant, mutants

TOP = Path(__file__).parents[2]
settings.register_profile("mutants", database=None, derandomize=True)
settings.load_profile("mutants")
EXPLAINED = Path(__file__).with_name("equivalent_mutants.yaml")
CPU_SECONDS = 12  # of the processor, not of the wall clock: other programs may be busy
MEMORY = 1 << 30  # bytes of address space: a loop that never ends may grow a list
_PLAN = "tests/core/test_plan_faults.py"
_CLOCKS = "tests/core/test_clocks.py tests/published/test_clock_examples.py"
_MIX = "tests/core/test_mix.py tests/published/test_mix_bowl.py tests/core/test_mix_amounts.py"

# The files that are to notice, the most likely first.
TESTS: dict[str, str] = {
    "clocks": f"{_CLOCKS} tests/published/test_plan_timing.py",
    "calls": "tests/core/test_calls.py tests/core/test_calls_without_sound.py "
    "tests/published/test_clock_examples.py tests/core/test_service.py",
    "mix": f"{_MIX} tests/core/test_mix_shades_and_age.py",
    "plan": _PLAN,
    "plan_check": _PLAN,
}


class _Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the changed source to whoever imports the module."""

    def __init__(self, name: str, source: str) -> None:
        self.name, self.source = name, source

    def find_spec(
        self, name: str, path: object, target: object = None
    ) -> importlib.machinery.ModuleSpec | None:
        return importlib.util.spec_from_loader(name, self) if name == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self.source, f"<mutant of {self.name}>", "exec"), module.__dict__)


def _functions(holder: object, home: str) -> Iterator[tuple[str, FunctionType]]:
    """Every function that a module or its classes define, by its name; properties too."""
    for name, value in list(vars(holder).items()):
        if isinstance(value, property):
            value = value.fget
        value = getattr(value, "__func__", value)  # class and static methods
        if getattr(value, "__module__", "") != home:
            continue
        if isinstance(value, FunctionType):
            yield name, value
        elif isinstance(value, type):
            yield from ((f"{name}.{inner}", found) for inner, found in _functions(value, home))


def _graft(name: str, source: str) -> None:
    """Give the functions of a module the code of another source: whoever knows them is served."""
    module, fresh = sys.modules[name], ModuleType(name)
    exec(compile(source, f"<mutant of {name}>", "exec"), fresh.__dict__)
    changed = dict(_functions(fresh, name))
    for place, function in _functions(module, name):
        if place in changed:
            function.__code__ = changed[place].__code__


def _judge(module: str, mutant: Mutant, files: Sequence[str]) -> int:
    """In a process of its own: the tests' exit code with this mutant in place of the module."""
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)
    name = f"assistant.core.{module}"
    if mutant.in_body:
        _graft(name, mutant.source)
    else:  # a constant, a default: who has it must read it again
        for known in [m for m in sys.modules if m.split(".")[0] in ("assistant", "tests")]:
            del sys.modules[known]
        sys.meta_path.insert(0, _Changed(name, mutant.source))
    quick = "-x -q -p no:cacheprovider --tb=no --assert=plain".split()
    return int(pytest.main([*quick, *files]))


def noticed(module: str, mutant: Mutant, files: Sequence[str]) -> bool:
    """Whether the tests fail, or never end, on this mutant."""
    child = os.fork()
    if child == 0:
        code = 99  # whatever breaks while importing is noticed too
        with contextlib.suppress(BaseException):
            code = _judge(module, mutant, files)
        os._exit(code)
    _, status = os.waitpid(child, 0)
    return status != 0


def explained(module: str) -> dict[str, str]:
    """The mutants of a module that mean the same as the original, with the reason."""
    known: dict[str, dict[str, str]] = yaml.safe_load(EXPLAINED.read_text()) or {}
    return known.get(module, {})


def try_all(module: str, only: str = "") -> tuple[int, int, list[Mutant]]:
    """Tried, explained, and the survivors."""
    files = [str(TOP / file) for file in TESTS[module].split()]
    source = (TOP / "assistant" / "core" / f"{module}.py").read_text()
    for file in TESTS[module].split():  # read once, for all mutants
        importlib.import_module(file.removesuffix(".py").replace("/", "."))
    if noticed(module, Mutant("none", 0, source, True), files):
        raise SystemExit(f"{module}: its tests fail without any mutant: mend them first")
    reasons, found = explained(module), [m for m in mutants(source) if only in m.name]
    unused = set(reasons) - {m.name for m in found}
    if unused and not only:
        raise SystemExit(f"{EXPLAINED.name}: nothing in {module} is called {sorted(unused)}")
    survivors = []
    for mutant in (m for m in found if m.name not in reasons):
        if not noticed(module, mutant, files):
            survivors.append(mutant)
            print(f"  survives: {module}.py:{mutant.line}  {mutant.name}", flush=True)
    return len(found), len([m for m in found if m.name in reasons]), survivors


def main() -> int:
    """Run the modules asked for and print a line for each."""
    parser = argparse.ArgumentParser(prog="python -m tests.proof.mutants")
    parser.add_argument("modules", nargs="*", choices=[*TESTS], metavar="MODULE")
    parser.add_argument("--only", default="", help="mutants whose name contains this text")
    asked = parser.parse_args()
    left = 0
    for module in asked.modules or TESTS:
        began = time.monotonic()
        tried, same, survivors = try_all(module, asked.only)
        killed, seconds = tried - same - len(survivors), time.monotonic() - began
        told = f"{tried} mutants, {killed} noticed, {same} explained, {len(survivors)} survive"
        print(f"{module}: {told}  [{seconds:.0f} s]", flush=True)
        left += len(survivors)
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main())
