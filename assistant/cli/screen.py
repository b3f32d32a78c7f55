"""What a live session shows: heard, said, called; without sound the calls ring and flash."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from assistant.core.events import DeviceBack, DeviceLost, Effect, Event, Heard, Priority, Say
from assistant.core.intents import UNKNOWN
from assistant.core.script import mmss

RING, REVERSED, USUAL = "\a", "\x1b[7m", "\x1b[0m"


class Screen:
    """Lines of one session, in the order of its events."""

    def __init__(self, sentence: Callable[[Say], str]) -> None:
        """`sentence` makes the words."""
        self._sentence = sentence
        self._lost: set[str] = set()

    def lines(self, event: Event, effects: Sequence[Effect]) -> list[str]:
        """What to show of an event."""
        at = mmss(event.at)
        found = []
        if isinstance(event, Heard):
            found.append(f"{at}  heard   {event.text.replace(UNKNOWN, '...')}")
        elif isinstance(event, DeviceLost):
            self._lost.add(event.device)
            found.append(f"{at}  LOST    {event.device}; the clocks go on")
        elif isinstance(event, DeviceBack):
            self._lost.discard(event.device)
            found.append(f"{at}  back    {event.device}")
        return found + [self._said(at, say) for say in effects if isinstance(say, Say)]

    def _said(self, at: str, say: Say) -> str:
        """A tone is shown with the words it stands for: whoever hears nothing reads them."""
        kind = "said" if say.priority == Priority.GUIDE else "call"
        words = self._sentence(replace(say, tone_only=False))
        line = f"{at}  {'tone' if say.tone_only else kind}    {words}"
        return f"{RING}{REVERSED}{line}{USUAL}" if "loudspeaker" in self._lost else line
