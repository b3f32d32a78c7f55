"""The quick tests run on mutants: collected once, each mutant in a process of its own.

A change inside a function is tried on the tests that pass through its lines, the quickest first.
A constant or a default is read while modules are imported, so there all is imported anew.
"""

from __future__ import annotations

import contextlib
import importlib.abc
import importlib.machinery
import importlib.util
import math
import os
import pickle
import resource
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from types import FrameType, FunctionType, ModuleType
from typing import Any

import pytest

from tests.proof.mutations import Mutant

# A mutant that takes so much longer than its tests took never ends; seconds of the processor,
# not of the wall clock: other programs may be busy.
LONGER = 12
MEMORY = 1 << 30  # bytes of address space: a loop that never ends may grow a list
QUIET = "-x -s -o addopts= -p no:cacheprovider -p no:terminal --assert=plain".split()
Tell = Callable[[Mutant], None]  # who hears of a survivor
Passes = dict[int, tuple[float, set[int]]]  # by a test's place: its seconds, lines it passes


def survivors(name: str, mutants: Sequence[Mutant], files: Sequence[str], tell: Tell) -> None:
    """Try every mutant of a module; `SystemExit` if its tests fail without any."""
    trials = _Trials(name, [m for m in mutants if m.in_body], tell)
    pytest.main([*QUIET, *files], plugins=[trials])
    if not trials.sound:
        raise SystemExit(f"{name}: its tests fail without any mutant: mend them first")
    for mutant in (m for m in mutants if not m.in_body):
        if not _fails(partial(_anew, name, mutant, files), trials.seconds):
            tell(mutant)


def _fails(run: Callable[[], int], seconds: float) -> bool:
    """Whether it ends badly, or never, in a process of its own; usually it takes `seconds`."""
    child = os.fork()
    if child == 0:
        code = 99  # whatever breaks while importing is noticed too
        with contextlib.suppress(BaseException):
            most = math.ceil(seconds) + LONGER
            resource.setrlimit(resource.RLIMIT_CPU, (most, most))
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
            _mute()
            code = run()
        os._exit(code)
    _, status = os.waitpid(child, 0)
    return status != 0


def _mute() -> None:
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)


# ------------------------------------------------------------ inside functions


class _Trials:
    """A plugin of pytest that has the collected tests run once for each mutant."""

    def __init__(self, name: str, mutants: Sequence[Mutant], tell: Tell) -> None:
        self.name, self.mutants, self.tell = name, mutants, tell
        self.sound = False
        self.seconds = 0.0  # that all tests took together

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """In place of running each test once."""
        passes = _lines_of_tests(session, self.name)
        if passes is None:
            return True
        self.sound, self.seconds = True, sum(seconds for seconds, _ in passes.values())
        for mutant in self.mutants:
            reached = [(t, at) for at, (t, lines) in passes.items() if lines & set(mutant.lines)]
            chosen = [session.items[at] for _, at in sorted(reached)]
            if not _fails(partial(_grafted, session, self.name, mutant, chosen), self.seconds):
                self.tell(mutant)
        return True


def _grafted(
    session: pytest.Session, name: str, mutant: Mutant, items: Sequence[pytest.Item]
) -> int:
    _graft(name, mutant.source)
    for item, following in zip(items, [*items[1:], None], strict=True):
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        if session.testsfailed:
            return 1
    return 0


def _lines_of_tests(session: pytest.Session, name: str) -> Passes | None:
    """Which tests pass through which lines of the module; None if one fails."""
    reads, writes = os.pipe()
    if os.fork() == 0:
        os.close(reads)
        with contextlib.suppress(BaseException), os.fdopen(writes, "wb") as out:
            _mute()
            pickle.dump(_traced(session, name), out)
        os._exit(0)
    os.close(writes)
    with os.fdopen(reads, "rb") as told:
        data = told.read()
    os.wait()
    found: Passes | None = pickle.loads(data) if data else None
    return found


def _traced(session: pytest.Session, name: str) -> Passes | None:
    file, lines = sys.modules[name].__file__, set[int]()
    found: Passes = {}

    def trace(frame: FrameType, event: str, argument: object) -> Any:
        if frame.f_code.co_filename != file:
            return None
        lines.add(frame.f_lineno)
        return trace

    for at, item in enumerate(session.items):
        lines.clear()
        began = time.process_time()
        sys.settrace(trace)
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=None)
        sys.settrace(None)
        if session.testsfailed:
            return None
        found[at] = (time.process_time() - began, set(lines))
    return found


def _functions(holder: object, home: str) -> Iterator[tuple[str, FunctionType]]:
    """Every function that a module or its classes define, by its name; properties too."""
    for name, value in list(vars(holder).items()):
        if isinstance(value, property):
            value = value.fget
        value = getattr(value, "__func__", value)  # class and static methods
        value = getattr(value, "__wrapped__", value)  # with a memory of its own
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


# ------------------------------------------------------------ what is read at import


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


def _anew(name: str, mutant: Mutant, files: Sequence[str]) -> int:
    for known in [m for m in sys.modules if m.split(".")[0] in ("assistant", "tests")]:
        del sys.modules[known]
    sys.meta_path.insert(0, _Changed(name, mutant.source))
    return int(pytest.main([*QUIET, *files]))
