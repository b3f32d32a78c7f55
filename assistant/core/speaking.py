"""The order of speech: one sentence at a time, the urgent first, what is cut comes back.

Pure: the live voice and the rehearsal's voice both ask this queue what to play next.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from assistant.core.events import Priority, Say, Unsay


def cuts(new: Say, current: Say) -> bool:
    """Whether a sentence breaks into the one being spoken.

    A limit breaks into everything but another limit; what is due breaks into guidance; a check
    waits for the end of the sentence, and so does whatever was said before: it is known, and an
    answer that is cut every ten seconds would never be heard.
    """
    if new.call and not new.fresh:
        return False
    return (new.priority == Priority.LIMIT and current.priority != Priority.LIMIT) or (
        new.priority == Priority.DUE and current.priority == Priority.GUIDE
    )


def waits(say: Say) -> float:
    """Seconds that a sentence waits for somebody who is speaking.

    A limit waits a second; said before, long enough not to fall into the answer to it.
    """
    if say.priority != Priority.LIMIT:
        return 5.0
    return 1.0 if say.fresh else 3.0


def _order(say: Say) -> tuple[Priority, bool]:
    return say.priority, bool(say.call) and not say.fresh


@dataclass(slots=True)
class SpeechQueue:
    """Sentences waiting, and the one being spoken."""

    current: Say | None = None
    _waiting: list[Say] = field(default_factory=list)
    _cut: set[int] = field(default_factory=set)

    def push(self, say: Say) -> bool:
        """Queue a sentence; True if the one being spoken must stop for it.

        A call already waiting keeps its place and gets its newer wording: calls repeated faster
        than they can be spoken would otherwise push one another to the end for ever. One that
        was never said goes before those that are repeated.
        """
        keys = set(say.call.split())
        older = [n for n, s in enumerate(self._waiting) if s.call and set(s.call.split()) <= keys]
        if any(self._waiting[n].fresh for n in older):
            say = replace(say, fresh=True)
        self._waiting.insert(older[0] if older else len(self._waiting), say)
        for n in reversed(older):
            del self._waiting[n + 1]
        self._waiting.sort(key=_order)  # stable: equals keep their order
        return self.current is not None and cuts(say, self.current)

    def unsay(self, unsay: Unsay) -> None:
        """Drop waiting calls that are no longer true; a call of several drops with its last."""
        gone = set(unsay.calls)
        self._waiting = [s for s in self._waiting if not s.call or set(s.call.split()) - gone]

    def start_next(self) -> Say | None:
        """Take the next sentence if nothing is being spoken."""
        if self.current is None and self._waiting:
            self.current = self._waiting.pop(0)
            return self.current
        return None

    def finished(self, *, cut: bool = False) -> bool:
        """The current sentence ended, was cut or failed; True if it is to be said once more.

        A call that was cut comes back by itself if it is still true; an answer would be lost.
        """
        say, self.current = self.current, None
        if say is None or say.call or not cut or say.id in self._cut:
            return False
        self._cut.add(say.id)
        self._waiting.append(say)
        self._waiting.sort(key=lambda other: (*_order(other), other.id))
        return True

    def __len__(self) -> int:
        """Sentences still waiting."""
        return len(self._waiting)
