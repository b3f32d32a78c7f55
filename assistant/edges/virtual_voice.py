"""The rehearsal's voice: the real queue and real sentence lengths, on the virtual clock.

It makes no sound by itself. It tells when each sentence starts and how long it takes, ends it
with a SpeechDone event, and remembers when it was speaking, so that the rehearsal can refuse to
hear anything meanwhile, as the gate at the chair does.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from assistant.core.events import Event, Say, SpeechDone, Unsay
from assistant.core.speaking import SpeechQueue, waits

TAIL = 0.4  # seconds after a sentence in which its echo may still be heard


class Agenda(Protocol):
    """What it needs of the virtual clock."""

    def now(self) -> float:
        """Salon time."""

    def at(self, when: float, item: object) -> None:
        """Hand `item` out when the time has come."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence as it was spoken. `seconds` is how long it sounded (less if it was cut)."""

    say: Say
    text: str
    starts_at: float
    seconds: float


class VirtualVoice:
    """Speaks on the agenda of a virtual clock."""

    def __init__(
        self,
        clock: Agenda,
        seconds_of: Callable[[Say, str], float],
        user_speaks: Sequence[tuple[float, float]] = (),
    ) -> None:
        """`seconds_of` gives a sentence's length; `user_speaks` are the recordings' spans."""
        self.spoken: list[Sentence] = []
        self.replaying = False
        self._clock = clock
        self._seconds_of = seconds_of
        self._user_speaks = user_speaks
        self._queue = SpeechQueue()
        self._texts: dict[int, str] = {}
        self._cut_wanted = False

    def say(self, say: Say, text: str) -> None:
        """Queue a sentence; a more urgent one cuts the present one."""
        self._texts[say.id] = text
        if self._queue.push(say) and not self._cut_wanted:
            self._cut_wanted = True
            if not self.replaying:
                self._end_now()
        self._start_next()

    def unsay(self, unsay: Unsay) -> None:
        """Drop waiting calls that are no longer true."""
        self._queue.unsay(unsay)

    def ended(self, event: Event) -> None:
        """Watch the hub: a SpeechDone frees the queue for the next sentence."""
        if not isinstance(event, SpeechDone):
            return
        if self._queue.current is not None and self._queue.current.id == event.say:
            last = self.spoken[-1]
            self.spoken[-1] = Sentence(
                last.say, last.text, last.starts_at, max(0.0, event.at - last.starts_at)
            )
            if self._queue.finished(cut=event.outcome == "cut"):
                self._texts[last.say.id] = last.text
            self._cut_wanted = False
        self._start_next()

    def go_on(self) -> None:
        """After a replay: what was being spoken when the journal ends goes on to its end."""
        self.replaying = False
        if self._cut_wanted:
            self._end_now()
        elif self._queue.current is not None:
            self._end_later(self.spoken[-1])

    def speaking(self, start: float, end: float) -> bool:
        """Whether it spoke (or its echo may have sounded) between two times."""
        return any(
            s.starts_at < end and start < s.starts_at + s.seconds + TAIL for s in self.spoken
        )

    def _start_next(self) -> None:
        say = self._queue.start_next()
        if say is None:
            return
        text = self._texts.pop(say.id)
        sentence = Sentence(say, text, self._start_of(say), self._seconds_of(say, text))
        self.spoken.append(sentence)
        if not self.replaying:
            self._end_later(sentence)

    def _start_of(self, say: Say) -> float:
        """Now, or after what the user is saying; a limit waits one second at most."""
        now = self._clock.now()
        for begins, ends in self._user_speaks:
            if begins <= now < ends:
                return min(ends, now + waits(say))
        return now

    def _end_later(self, sentence: Sentence) -> None:
        ends_at, say = sentence.starts_at + sentence.seconds, sentence.say.id

        def end() -> None:
            if self._queue.current is not None and self._queue.current.id == say:
                self._clock.at(ends_at, SpeechDone(ends_at, say, "played"))

        self._clock.at(ends_at, end)

    def _end_now(self) -> None:
        if self._queue.current is not None:
            now = self._clock.now()
            self._clock.at(now, SpeechDone(now, self._queue.current.id, "cut"))
