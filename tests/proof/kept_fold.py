"""Most restarts of a long day fold only what is new, on top of the fold of the restart before.

The program folds the whole journal at every restart. A day of 58 restarts would spend three
quarters of its processor time on that, so here it is left out where it must come to the same;
that it does is looked at as often as `WHOLE` says.
"""

from __future__ import annotations

import copy
from collections.abc import Callable

from assistant.core.events import Event
from assistant.core.salon import Salon
from assistant.core.snapshot import snapshot

WHOLE = 8  # every so many restarts the whole journal is folded and the two are compared


class KeptFold:
    """The last restart's fold, and the events it is of."""

    def __init__(self) -> None:
        """Nothing is folded yet."""
        self.compared = 0
        self.differ: list[str] = []
        self._events: list[Event] = []
        self._salon: Salon | None = None
        self._begun = 0

    def begin(self, events: list[Event], new: Callable[[], Salon]) -> tuple[Salon, int]:
        """The salon to go on with, and how many of the events are in it."""
        self._begun += 1
        if self._events != events[: len(self._events)]:  # a power cut took some back
            self._events, self._salon = [], None
        if self._salon is None or self._begun % WHOLE == 0:
            return new(), 0
        salon, self._salon = self._salon, None
        return salon, len(self._events)

    def keep(self, events: list[Event], salon: Salon) -> None:
        """The salon has folded these events: a copy of it is for the next restart."""
        if self._salon is not None:  # this time the whole journal was folded
            for event in events[len(self._events) :]:
                self._salon.step(event)
            self.compared += 1
            if _all_of(self._salon) != _all_of(salon):
                self.differ.append(f"after {len(events)} events")
        self._events, self._salon = events, _copied(salon)


def _all_of(salon: Salon) -> tuple[object, ...]:
    heads = [(head.number, head.chair, head.state, head.file) for head in salon.history]
    return heads, snapshot(salon), salon.talk, vars(salon.calls), salon.lost, salon.next_moment()


def _copied(salon: Salon) -> Salon:
    """Its own copy of all that may still change; heads whose chair has another are not among it."""
    last = {head.number for head in salon.heads.values()}
    shared = [salon.words, salon.rule, salon.names, *salon.recipes.values()]
    shared += [head for head in salon.history if head.number not in last]
    return copy.deepcopy(salon, {id(each): each for each in shared})
