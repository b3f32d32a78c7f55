"""One call and one sentence: what they are, when they sound and what belongs together."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from assistant.core.due import FORESEEN, ONCE, Alarm
from assistant.core.events import Priority

NEVER = float("inf")


@dataclass(slots=True)
class Call:
    """One alarm that is being called out. Priority 1 has its own rhythm: `next_at` only pauses."""

    alarm: Alarm
    said: int = 0
    next_at: float = 0.0
    words_at: float = -NEVER  # when it was last said in words
    sound_at: float = -NEVER  # or as a tone
    ended: bool = True  # its last sentence; one that waits or sounds is lost with the program

    @property
    def urgent(self) -> bool:
        """Priority 1."""
        return self.alarm.priority == Priority.LIMIT


@dataclass(frozen=True, slots=True)
class Spoken:
    """One sentence to be spoken now, or a tone: alarms of one family, strongest first.

    They are of one head, but for repeats of priority 1, which name the chairs together.
    """

    alarms: tuple[Alarm, ...]
    repeat: int  # 0 the first time
    tone_only: bool = False

    @property
    def priority(self) -> Priority:
        """The most urgent of its alarms."""
        return min(alarm.priority for alarm in self.alarms)

    @property
    def chair(self) -> int | None:
        """The chair that all of it is about, if it is one."""
        chairs = {alarm.chair for alarm in self.alarms}
        return chairs.pop() if len(chairs) == 1 else None


def sounds(call: Call, now: float) -> bool:
    """Priority 1 that nobody has put off."""
    return call.urgent and call.next_at <= now


def waits(call: Call, held: Collection[int]) -> bool:
    return call.alarm.priority == Priority.CHECK and call.alarm.head in held


def together(first: Alarm, other: Alarm) -> bool:
    same_head = (first.chair, first.head) == (other.chair, other.head)
    return same_head and _family(first) == _family(other)


def _family(alarm: Alarm) -> str:
    return "check" if alarm.kind == "window" else alarm.kind


def pause(alarm: Alarm, said: int) -> float:
    """Seconds until it is said again, after it was said `said` times."""
    if alarm.priority == Priority.DUE and alarm.kind not in FORESEEN:
        return 30.0 if said <= 2 else 60.0
    return 60.0 if said == 1 and alarm.kind not in ONCE else NEVER
