"""Push to talk: Enter, space or a pedal that types one. Any key stands for the wake word."""

from __future__ import annotations

import contextlib
import os
import select
import sys
import threading
from collections.abc import Callable, Iterator

LOOK = 0.2  # seconds until it is noticed that the session is over
ONE_PRESS = 64  # bytes: an arrow or function key sends several, a press held down many


def watch(pressed: Callable[[], None], stopped: threading.Event) -> None:
    """Tell every key until stopped or the input ends; a thread's whole life."""
    keyboard = sys.stdin.fileno()
    with _one_by_one(keyboard):
        while not stopped.is_set():
            ready, _, _ = select.select([keyboard], [], [], LOOK)
            if not ready:
                continue
            try:
                typed = os.read(keyboard, ONE_PRESS)  # not sys.stdin: it would keep the next key
            except OSError:  # the terminal's window was closed
                return
            if not typed:
                return
            pressed()


def there() -> bool:
    """Whether somebody can press a key here: a terminal, and we are not in its background."""
    try:
        keyboard = sys.stdin.fileno()
        return os.isatty(keyboard) and os.tcgetpgrp(keyboard) == os.getpgrp()
    except (AttributeError, OSError, ValueError):  # no input at all, or a closed one
        return False


@contextlib.contextmanager
def _one_by_one(keyboard: int) -> Iterator[None]:
    """Keys arrive at once and are not shown; Ctrl-C still ends the program."""
    try:
        import termios
        import tty
    except ImportError:  # not a Unix terminal: Enter ends each line, which does as well
        yield
        return
    try:
        before = termios.tcgetattr(keyboard)
    except termios.error:  # no terminal: whole lines, which do as well
        yield
        return
    try:
        tty.setcbreak(keyboard)
        yield
    finally:
        with contextlib.suppress(termios.error):
            termios.tcsetattr(keyboard, termios.TCSADRAIN, before)
