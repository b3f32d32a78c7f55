"""What may bad input do at worst? Be refused in plain lines, within a few seconds of work."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from assistant.errors import AssistantError

MOST_SECONDS = 10.0  # of the processor, so that a busy machine does no harm
MOST_LINE = 2000  # characters of one line of a refusal


class Hang(AssertionError):
    """An input kept the processor busy for too long."""


@contextmanager
def no_hang(seconds: float = MOST_SECONDS) -> Iterator[None]:
    """Ends what takes longer; the time of other processes does not count."""

    def late(number: int, frame: FrameType | None) -> None:
        raise Hang(f"busy for {seconds:.0f} s")

    before = signal.signal(signal.SIGVTALRM, late)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def clear(error: AssistantError) -> None:
    """A refusal is made of lines that can be read on any screen, and has at least one."""
    lines = str(error).split("\n")
    for line in lines:
        if not line.strip() or not line.isprintable() or len(line) > MOST_LINE:
            raise AssertionError(f"a refusal that cannot be read: {line[:200]!r}") from error
