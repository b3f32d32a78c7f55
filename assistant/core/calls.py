"""What is spoken unasked: which call now, how often again, what "heard" and "quiet" do.

A call that was never said comes at once. Repeats leave room to be answered, for while it speaks
it hears nobody and "it burns" must get through: PRIORITY 1 sounds every 10 s until resolved, all
heads together, by turns in words and as its tone alone (a new limit delays the others, to 20 s at
most); 2 comes after 30 s, 60 s, then every 60 s, 3 once more after 60 s and then only on the
board, but one such sentence in 15 s at most.
In the style of alarm standards (an acknowledged signal returns, a pause never hides a new alarm);
no compliance is claimed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from assistant.core.call import NEVER, Call, Spoken, pause, sounds, together, waits
from assistant.core.due import ADVICE, Alarm
from assistant.core.events import Priority

TOGETHER = 60.0  # calls for one head within this many seconds become one sentence
BURST = 10.0  # between two sounds of priority 1
WORDS_WAIT = 30.0  # words that waited so long come instead of the tone
ASLEEP = 2.0  # so late the rhythm of priority 1 is only when the machine slept
BREATH = 15.0  # between two repeated sentences of priorities 2 and 3
HEARD_PAUSES = 60.0
QUIET_PAUSES = 120.0
MOST_ITEMS = 3


class CallTable:
    """Every call that is up. Times are salon seconds."""

    def __init__(self) -> None:
        """Nothing is called out yet."""
        self._calls: dict[str, Call] = {}
        self._back = False  # from an absence, just now
        self.quiet_until = 0.0
        self._burst_at = 0.0  # the next sound of priority 1
        self._tone_next = False  # its words were just said: the tone will do
        self._breath_until = 0.0  # no repeated sentence of priorities 2 and 3 before

    def update(self, true: Iterable[Alarm], known: Collection[Alarm], now: float) -> list[str]:
        """Take up what has become true; give back the keys of what no longer is.

        A call announced early, together with another of its head, stays up while its alarm is
        still to come (`known` holds those too).
        """
        true_keys = set()
        for alarm in true:
            true_keys.add(key := alarm.key)
            self._calls.setdefault(key, Call(alarm, next_at=now)).alarm = alarm
        over = [key for key in self._calls if key not in true_keys]
        if over:
            coming = {alarm.key for alarm in known if alarm.at > now}
            over = [key for key in over if key not in coming]
        for key in over:
            del self._calls[key]
        return over

    def to_say(
        self, known: Collection[Alarm], now: float, held: Collection[int] = ()
    ) -> list[Spoken]:
        """The sentences due now, most urgent first, heads by slack to their limit.

        `held` are heads in the middle of a pass: their checks wait for its end.
        """
        # after an absence first what may have been lost: limits that are new would push it back
        back = self._back or now > self._burst_at + ASLEEP
        sentences, self._back = (self._burst(now) if back else []), False
        sentences += self._new(known, now, held)
        if any(s.priority == Priority.LIMIT for s in sentences):
            # the others wait for their next sound, but however many come new, not for long
            longest = min(c.sound_at for c in self._calls.values() if c.said and sounds(c, now))
            self._burst_at, self._tone_next = min(now, longest + BURST) + BURST, True
        sentences += [*self._burst(now), *self._repeat(known, now, held)]
        return sorted(sentences, key=lambda sentence: sentence.priority)

    def _new(self, known: Collection[Alarm], now: float, held: Collection[int]) -> list[Spoken]:
        due = self._due(now, held, said=False)
        sentences = []
        while due:
            first = due[0]
            family = [c for c in due if together(first.alarm, c.alarm)]
            due = [c for c in due if c not in family]
            sentences.append(self._sentence(family, known, now))
        return sentences

    def _repeat(self, known: Collection[Alarm], now: float, held: Collection[int]) -> list[Spoken]:
        """One sentence at most, of the most urgent head; its other calls come along."""
        due = [c for c in self._due(now, held, said=True) if not c.urgent]
        if not due or now < self._breath_until or self._limit_sounds(now):
            return []
        first = due[0]
        others = [c for c in self._calls.values() if c.said and c.next_at < NEVER]
        along = [c for c in others if c is not first and together(first.alarm, c.alarm)]
        self._breath_until = now + BREATH
        return [self._sentence([first, *along], known, now)]

    def _burst(self, now: float) -> list[Spoken]:
        """The next sound of priority 1: a tone for all, or the kind that waited longest."""
        up = [c for c in self._calls.values() if c.said and sounds(c, now)]
        if not up or now < self._burst_at:
            return []
        # a new limit in between, or another kind of one, must not keep this one's words for long
        tone = self._tone_next and all(now - call.words_at < WORDS_WAIT for call in up)
        self._burst_at = now + BURST
        self._tone_next = not tone
        up.sort(key=lambda call: (call.alarm.limit_at, call.alarm.at))
        if not tone:
            first = min(up, key=lambda call: call.words_at)
            up = [call for call in up if call.alarm.kind == first.alarm.kind]
        repeat = max(call.said for call in up)
        for call in up:
            call.said += 1
            call.ended = False
            call.words_at, call.sound_at = call.words_at if tone else now, now
        return [Spoken(tuple(call.alarm for call in up), repeat, tone)]

    def _sentence(self, calls: list[Call], known: Collection[Alarm], now: float) -> Spoken:
        """Calls of one head as one sentence, with what is due there within a minute."""
        first = calls[0]
        alarms = [call.alarm for call in calls]
        alarms += [alarm for alarm in known if self._soon(first.alarm, alarm, now)]
        spoken = Spoken(tuple(alarms[:MOST_ITEMS]), first.said)
        for alarm in spoken.alarms:
            call = self._calls.setdefault(alarm.key, Call(alarm))
            call.said += 1
            call.ended = False
            call.words_at = call.sound_at = now
            call.next_at = now if call.urgent else now + pause(alarm, call.said)
            if alarm.at > now:
                self._stands_for_milder(alarm)
        return spoken

    def _stands_for_milder(self, early: Alarm) -> None:
        """After "crown: due" nobody wants "crown: check" because it is due in ten seconds."""
        for call in self._calls.values():
            alarm = call.alarm
            same_zone = (alarm.head, alarm.subject) == (early.head, early.subject)
            if same_zone and alarm.priority > early.priority:
                call.next_at = NEVER

    def next_moment(self, now: float, held: Collection[int] = ()) -> float | None:
        """When a call is to be spoken again, if nothing else happens."""
        moments = [
            self._may_sound_at(call) for call in self._calls.values() if not waits(call, held)
        ]
        return min((m for m in moments if now < m < NEVER), default=None)

    def heard(self, chair: int | None, now: float) -> list[Alarm]:
        """ "Heard": advice is settled, the rest is silent for a minute. Those that sounded.

        Chair 0 is the room: a lost device.
        """
        sounded = [
            call
            for call in self._calls.values()
            if call.said and (chair is None or (call.alarm.chair or 0) == chair)
        ]
        for call in sounded:
            call.next_at = NEVER if call.alarm.kind in ADVICE else now + HEARD_PAUSES
            call.words_at, call.ended = -NEVER, True
        return [call.alarm for call in sounded]

    def quiet(self, now: float) -> None:
        """ "Quiet": priorities 2 to 4 wait at most two minutes; priority 1 never does."""
        self.quiet_until = now + QUIET_PAUSES

    def again(self, now: float) -> None:
        """The program was away: what is up and would come again comes now, lest it was lost.

        What was not said to its end was lost: it comes as if it had never been said.
        """
        self.cut([key for key, call in self._calls.items() if not call.ended], now)
        self._back = True
        self._burst_at, self._tone_next, self._breath_until = now, False, now
        for call in self._calls.values():
            if call.next_at < NEVER:
                call.next_at = min(call.next_at, now)

    def ended(self, keys: Iterable[str]) -> None:
        """A sentence was played to its end."""
        for key in keys:
            if (call := self._calls.get(key)) is not None:
                call.ended = True

    def cut(self, keys: Iterable[str], now: float) -> None:
        """A sentence was cut or never sounded: what is still true comes back."""
        for key in keys:
            if (call := self._calls.get(key)) is not None:
                call.next_at = min(call.next_at, now + 1.0)
                call.said, call.ended = max(0, call.said - 1), True
                call.words_at = -NEVER
                if call.urgent and self._burst_at > now + 1.0:
                    self._burst_at, self._tone_next = now + 1.0, False

    def unheard(self, keys: Iterable[str], now: float) -> None:
        """There is no loudspeaker: the screen showed it, and shows it again in turn.

        At once would show the same one again and again and never the others.
        """
        for key in keys:
            if (call := self._calls.get(key)) is not None:
                call.next_at, call.words_at, call.ended = now + BURST, -NEVER, True
                if not call.urgent:
                    call.said = max(0, call.said - 1)

    def up(self) -> list[Alarm]:
        """Every alarm that is up, most urgent first."""
        return sorted(
            (call.alarm for call in self._calls.values()),
            key=lambda a: (a.priority, a.limit_at, a.at),
        )

    def silent(self) -> set[str]:
        """Keys of what is still true and has been said for good: answered, or said often enough."""
        return {key for key, call in self._calls.items() if call.next_at == NEVER}

    def _due(self, now: float, held: Collection[int], *, said: bool) -> list[Call]:
        """Calls whose moment has come, most urgent first: those said before, or the new ones."""
        due = [
            call
            for call in self._calls.values()
            if bool(call.said) == said
            and call.next_at <= now
            and (call.urgent or self.quiet_until <= now)
            and not waits(call, held)
        ]
        return sorted(due, key=lambda c: (c.alarm.priority, c.alarm.limit_at, c.alarm.at))

    def _limit_sounds(self, now: float) -> bool:
        """While priority 1 sounds nothing else is said twice: the pauses are for answers."""
        return any(sounds(call, now) for call in self._calls.values())

    def _may_sound_at(self, call: Call) -> float:
        if call.urgent:
            return max(call.next_at, self._burst_at if call.said else 0.0)
        return max(call.next_at, self.quiet_until, self._breath_until if call.said else 0.0)

    def _soon(self, first: Alarm, other: Alarm, now: float) -> bool:
        """Due within a minute, same head and family: say it in the same breath (never a limit)."""
        return (
            first.priority != Priority.LIMIT
            and now < other.at <= now + TOGETHER
            and together(first, other)
            and other.subject != first.subject
            and other.key not in self._calls
        )
