"""The network forbidden: rehearsals, plans, proposals, checks, records and a day of 24 h."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.proof.forbidden_net import alone, run
from tests.proof.outcome import Outcome

ROOT = Path(__file__).resolve().parent.parent.parent
PROGRAM = (sys.executable, "-m", "assistant")
FACTS = ("earlier_reaction=none", "scalp=sound", "age=sixteen and over", "wish=fading")
# Vosk's wheel imports `requests`, whose urllib3 looks at import whether this machine knows IPv6: a
# socket is bound to the loopback address and closed again. Nothing is sent or listened to.
ASKS_FOR_IPV6 = "socket.bind (('::1', 0),)"
# command, and the exit codes that are an answer (1: something is open or to mend, and it says so)
SHORT = (
    (("rehearse", "root-tap", "--typed", "--silent"), (0,)),
    (("plan", "root-melt"), (0,)),
    (("plan", "double-booked", "--quick"), (0, 1)),
    (("choose", *FACTS), (0, 1)),
    (("check",), (0,)),
)
LONG = (
    (("rehearse", "--all", "--typed"), (0, 1)),
    (("rehearse", "root-tap"), (0, 1)),  # the real recogniser and the real voice
    (("plan", "double-booked"), (0, 1)),
    (("plan", "--mix", "60", "1:1.5", "--developer", "6"), (0,)),
    (("debrief", "--help"), (0,)),
    (("records", "--help"), (0,)),
    (("soundcheck",), (0, 1)),
)


def prove(short: bool = False) -> list[Outcome]:
    """Short: five commands. Long: all of them, every rehearsal, and D9 with one day of 24 h."""
    with tempfile.TemporaryDirectory(prefix="offline-") as folder:
        commands = Outcome("commands without a network")
        for words, codes in SHORT if short else (*SHORT, *LONG):
            _one(commands, (*PROGRAM, *words), codes, Path(folder))
        outcomes = [_noticed(Path(folder)), commands]
        if not short:
            day = Outcome("a day of 24 h: eight heads, 50 kills, 20 clock steps, 5 sleeps")
            _one(day, (sys.executable, "-m", "tests.proof", "d9"), (0,), Path(folder))
            outcomes.append(day)
    no_network = "a network namespace with nothing in it" if alone() else "the hook alone"
    outcomes[1].notes = f"0 uses wanted; {no_network}"
    return outcomes


def _one(outcome: Outcome, command: tuple[str, ...], codes: tuple[int, ...], into: Path) -> None:
    day = {"PYTHONPATH": str(ROOT), "D9_SEEDS": "1", "D9_HOURS": "24"}
    done = run(command, into, settings=day)
    last = done.printed.strip().splitlines()[-1:] or [""]
    shown = " ".join(command[2:])
    uses = [use for use in done.uses if not use.startswith(ASKS_FOR_IPV6)]
    outcome.check(not uses, f"{shown}: {len(uses)} uses, first {uses[:1]}")
    outcome.check(done.code in codes, f"{shown}: exit code {done.code}: {last[0][:200]}")


def _noticed(into: Path) -> Outcome:
    """The hook itself: each of these must be written down, in a child of a child too."""
    outcome = Outcome("a use that is made on purpose is noticed")
    for code in _on_purpose():
        done = run((sys.executable, "-c", code), into)
        outcome.check(len(done.uses) == 1, f"{code}: {done.uses}")
    return outcome


def _on_purpose() -> Iterator[str]:
    yield "import socket; socket.create_connection(('127.0.0.1', 9))"
    yield "import socket; socket.getaddrinfo('localhost', 9)"
    yield "import socket; socket.socket().bind(('127.0.0.1', 0))"
    again = "import socket; socket.socket().connect(('127.0.0.1', 9))"
    yield f"import subprocess, sys; subprocess.run([sys.executable, '-c', {again!r}])"
