"""Push to talk: Enter, space or a pedal that types one. Any key stands for the wake word."""

from __future__ import annotations

import contextlib
import select
import sys
import threading
from collections.abc import Callable, Iterator

LOOK = 0.2  # seconds until it is noticed that the session is over


def watch(pressed: Callable[[], None], stopped: threading.Event) -> None:
    """Tell every key until stopped or the input ends; a thread's whole life."""
    with _one_by_one():
        while not stopped.is_set():
            ready, _, _ = select.select([sys.stdin], [], [], LOOK)
            if ready:
                if not sys.stdin.read(1):
                    return
                pressed()


def there() -> bool:
    """Whether somebody can press a key here."""
    return sys.stdin is not None and sys.stdin.isatty()


@contextlib.contextmanager
def _one_by_one() -> Iterator[None]:
    """Keys arrive at once and are not shown; Ctrl-C still ends the program."""
    try:
        import termios
        import tty
    except ImportError:  # not a Unix terminal: Enter ends each line, which does as well
        yield
        return
    handle = sys.stdin.fileno()
    before = termios.tcgetattr(handle)
    try:
        tty.setcbreak(handle)
        yield
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, before)
