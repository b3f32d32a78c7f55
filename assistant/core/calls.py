"""What is spoken unasked: which call now, how often again, what "heard" and "quiet" do.

Priorities and repeats are PRIORITY 1 every 10 s until resolved, every second time its tone alone
(while it speaks nobody is heard: "it burns" must get through); 2 after 30 s, 60 s, then every
60 s; 3 once more after 60 s, then only on the board. In the style of alarm standards (an
acknowledged signal returns, a pause never hides a new alarm); no compliance is claimed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from assistant.core.due import ADVICE, FORESEEN, Alarm
from assistant.core.events import Priority

TOGETHER = 60.0  # calls for one head within this many seconds become one sentence
HEARD_PAUSES = 60.0
QUIET_PAUSES = 120.0
MOST_ITEMS = 3
_NEVER = float("inf")


@dataclass(slots=True)
class Call:
    """One alarm that is being called out."""

    alarm: Alarm
    said: int = 0
    next_at: float = 0.0
    tone_next: bool = False  # the words were just said: the next time its tone will do


@dataclass(frozen=True, slots=True)
class Spoken:
    """One sentence to be spoken now: alarms of one head and one family, strongest first."""

    alarms: tuple[Alarm, ...]
    repeat: int  # 0 the first time
    tone_only: bool = False

    @property
    def priority(self) -> Priority:
        """The most urgent of its alarms."""
        return min(alarm.priority for alarm in self.alarms)


class CallTable:
    """Every call that is up. Times are salon seconds."""

    def __init__(self) -> None:
        """Nothing is called out yet."""
        self._calls: dict[str, Call] = {}
        self.quiet_until = 0.0

    def update(self, true: Iterable[Alarm], known: Collection[Alarm], now: float) -> list[str]:
        """Take up what has become true; give back the keys of what no longer is.

        A call announced early, together with another of its head, stays up while its alarm is
        still to come (`known` holds those too).
        """
        true_keys = {}
        for alarm in true:
            true_keys[alarm.key] = alarm
            self._calls.setdefault(alarm.key, Call(alarm, next_at=now)).alarm = alarm
        coming = {alarm.key for alarm in known if alarm.at > now}
        over = [key for key in self._calls if key not in true_keys and key not in coming]
        for key in over:
            del self._calls[key]
        return over

    def to_say(
        self, known: Collection[Alarm], now: float, held: Collection[int] = ()
    ) -> list[Spoken]:
        """The sentences due now, most urgent first, heads by slack to their limit.

        `held` are heads in the middle of a pass: their checks wait for its end.
        """
        due = [call for call in self._calls.values() if self._may_sound(call, now, held)]
        due.sort(key=lambda call: (call.alarm.priority, call.alarm.limit_at, call.alarm.at))
        sentences = []
        while due:
            first = due[0]
            family = [c for c in due if self._together(first, c)]
            due = [c for c in due if c not in family]
            alarms = [c.alarm for c in family]
            alarms += [a for a in known if self._soon(first.alarm, a, now)]
            tone_only = all(c.tone_next for c in family)
            sentences.append(Spoken(tuple(alarms[:MOST_ITEMS]), first.said, tone_only))
            for alarm in alarms[:MOST_ITEMS]:
                self._said(alarm, now, tone_only)
        return _one_tone(sentences)

    def next_moment(self, now: float, held: Collection[int] = ()) -> float | None:
        """When a call is to be spoken again, if nothing else happens."""
        moments = [
            max(call.next_at, self.quiet_until if call.alarm.priority > 1 else 0.0)
            for call in self._calls.values()
            if not self._waits_for_pass(call, held)
        ]
        return min((m for m in moments if now < m < _NEVER), default=None)

    def heard(self, chair: int | None, now: float) -> list[Alarm]:
        """ "Heard": advice is settled, the rest is silent for a minute. Those that sounded."""
        sounded = [
            c for c in self._calls.values() if c.said and (chair is None or c.alarm.chair == chair)
        ]
        for call in sounded:
            call.next_at = _NEVER if call.alarm.kind in ADVICE else now + HEARD_PAUSES
            call.tone_next = False
        return [call.alarm for call in sounded]

    def quiet(self, now: float) -> None:
        """ "Quiet": priorities 2 to 4 wait at most two minutes; priority 1 never does."""
        self.quiet_until = now + QUIET_PAUSES

    def again(self, now: float) -> None:
        """The program was away: what is up and would come again comes now, lest it was lost."""
        for call in self._calls.values():
            if call.said and call.next_at < _NEVER:
                call.next_at = min(call.next_at, now)
                call.tone_next = False

    def cut(self, keys: Iterable[str], now: float) -> None:
        """A sentence was cut or never sounded: what is still true comes back."""
        for key in keys:
            if (call := self._calls.get(key)) is not None:
                call.next_at = min(call.next_at, now + 1.0)
                call.said = max(0, call.said - 1)
                call.tone_next = False

    def up(self) -> list[Alarm]:
        """Every alarm that is up, most urgent first."""
        return sorted(
            (call.alarm for call in self._calls.values()),
            key=lambda a: (a.priority, a.limit_at, a.at),
        )

    def _may_sound(self, call: Call, now: float, held: Collection[int]) -> bool:
        if call.next_at > now or self._waits_for_pass(call, held):
            return False
        return call.alarm.priority == Priority.LIMIT or self.quiet_until <= now

    @staticmethod
    def _waits_for_pass(call: Call, held: Collection[int]) -> bool:
        return call.alarm.priority == Priority.CHECK and call.alarm.head in held

    @staticmethod
    def _together(first: Call, other: Call) -> bool:
        same_head = (first.alarm.chair, first.alarm.head) == (other.alarm.chair, other.alarm.head)
        return same_head and _family(first.alarm) == _family(other.alarm)

    def _soon(self, first: Alarm, other: Alarm, now: float) -> bool:
        """Due within a minute, same head and family: say it in the same breath (never a limit)."""
        return (
            first.priority != Priority.LIMIT
            and now < other.at <= now + TOGETHER
            and (other.chair, other.head) == (first.chair, first.head)
            and _family(other) == _family(first)
            and other.subject != first.subject
            and other.key not in self._calls
        )

    def _said(self, alarm: Alarm, now: float, tone_only: bool) -> None:
        call = self._calls.setdefault(alarm.key, Call(alarm))
        call.said += 1
        call.tone_next = alarm.priority == Priority.LIMIT and not tone_only
        call.next_at = now + _pause(alarm, call.said)


def _one_tone(sentences: list[Spoken]) -> list[Spoken]:
    """One tone says as much as two, and none is needed beside a limit in words."""
    words = [s for s in sentences if not s.tone_only]
    tones = [alarm for s in sentences if s.tone_only for alarm in s.alarms]
    if not tones or any(s.priority == Priority.LIMIT for s in words):
        return words
    return [Spoken(tuple(tones), 1, tone_only=True), *words]


def _family(alarm: Alarm) -> str:
    return "check" if alarm.kind == "window" else alarm.kind


def _pause(alarm: Alarm, said: int) -> float:
    """Seconds until it is said again, after it was said `said` times."""
    if alarm.priority == Priority.LIMIT:
        return 10.0
    if alarm.priority == Priority.DUE and alarm.kind not in FORESEEN:
        return 30.0 if said <= 2 else 60.0
    return 60.0 if said == 1 else _NEVER
