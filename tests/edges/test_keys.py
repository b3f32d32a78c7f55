"""The key that stands for the wake word, on a terminal of the test's own."""

from __future__ import annotations

import os
import pty
import queue
import subprocess
import sys
import termios
import threading
from collections.abc import Callable, Iterator
from typing import IO

import pytest

from assistant.edges import keys

SOON = 5.0  # seconds after which a test gives up


class Terminal:
    """A pseudo-terminal as the program's input, and a watcher on it."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.hand, self.screen = pty.openpty()
        self.stdin: IO[str] = os.fdopen(self.screen, "r")
        monkeypatch.setattr(sys, "stdin", self.stdin)
        self.presses: queue.Queue[None] = queue.Queue()
        self.stopped = threading.Event()
        self.as_before = termios.tcgetattr(self.screen)
        self.thread = threading.Thread(target=keys.watch, args=(self.press, self.stopped))
        self.thread.start()
        while termios.tcgetattr(self.screen) == self.as_before and self.thread.is_alive():
            self.thread.join(0.001)  # a key typed before would wait for the end of its line

    def press(self) -> None:
        self.presses.put(None)

    def type(self, keys_: bytes) -> None:
        os.write(self.hand, keys_)

    def pressed(self) -> None:
        """Return when a press was told."""
        self.presses.get(timeout=SOON)

    def close(self) -> None:
        self.stopped.set()
        self.thread.join(SOON)
        self.stdin.close()
        os.close(self.hand)


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Iterator[Terminal]:
    made = Terminal(monkeypatch)
    yield made
    made.close()


@pytest.mark.parametrize("key", [b" ", b"\n", b"b", b"\x1b[15~"], ids="space enter b F5".split())
def test_any_key_is_one_press(terminal: Terminal, key: bytes) -> None:
    """A pedal types whatever it was set to; a function key sends several bytes."""
    for _ in range(3):
        terminal.type(key)
        terminal.pressed()
    assert terminal.presses.empty()


def test_the_terminal_is_as_before_when_the_session_ends(terminal: Terminal) -> None:
    terminal.type(b" ")
    terminal.pressed()
    assert termios.tcgetattr(terminal.screen) != terminal.as_before
    terminal.stopped.set()
    terminal.thread.join(SOON)
    assert not terminal.thread.is_alive()
    assert termios.tcgetattr(terminal.screen) == terminal.as_before


def test_a_terminal_that_is_closed_ends_the_watch(terminal: Terminal) -> None:
    terminal.type(b" ")
    terminal.pressed()
    os.close(terminal.hand)
    terminal.thread.join(SOON)
    assert not terminal.thread.is_alive()
    terminal.hand = os.dup(terminal.screen)  # for `close`


def test_input_from_a_pipe_counts_too_and_its_end_ends_the_watch(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    end, hand = os.pipe()
    presses: queue.Queue[None] = queue.Queue()
    with os.fdopen(end, "r") as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        watched = threading.Thread(
            target=keys.watch, args=(lambda: presses.put(None), threading.Event())
        )
        watched.start()
        os.write(hand, b"x")
        presses.get(timeout=SOON)
        os.close(hand)
        watched.join(SOON)
        assert not watched.is_alive()


def test_without_a_terminal_nobody_can_press(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", None)
    assert not keys.there()
    with open(os.devnull) as nothing:
        monkeypatch.setattr(sys, "stdin", nothing)
        assert not keys.there()
    assert not keys.there()  # closed by now


ASK = "import sys; from assistant.edges import keys; sys.exit(10 + keys.there())"


def in_a_terminal(prepare: Callable[[], None]) -> int:
    """Exit code of the question in a process whose terminal is its own."""
    hand, screen = pty.openpty()
    try:
        return subprocess.run(
            [sys.executable, "-c", ASK],
            stdin=screen,
            preexec_fn=prepare,
            timeout=60,
            check=False,
        ).returncode
    finally:
        os.close(hand)
        os.close(screen)


def _own_terminal() -> None:
    import fcntl

    os.setsid()
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


def test_in_the_foreground_of_a_terminal_somebody_can_press() -> None:
    assert in_a_terminal(_own_terminal) == 11


def test_in_its_background_nobody_can() -> None:
    """Asking for keys there would stop the whole program (SIGTTIN)."""

    def other_group() -> None:
        _own_terminal()
        if os.fork():  # the leader waits; the child asks, in another group
            _, status = os.wait()
            os._exit(os.waitstatus_to_exitcode(status))
        os.setpgid(0, 0)

    assert in_a_terminal(other_group) == 10
