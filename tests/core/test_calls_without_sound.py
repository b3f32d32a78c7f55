"""While there is no loudspeaker the screen shows the calls: each in its turn, none for ever."""

from __future__ import annotations

from itertools import pairwise

from assistant.core.events import ClockDue, DeviceBack, DeviceLost, Effect, Heard, Say, SpeechDone
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.edges.word_files import load_commands
from tests.core.recipes import recipe, stage, window, zone
from tests.core.service import GATE
from tests.wake import WAKE

LIMIT = 20 * 60.0
READ = 2.0  # seconds that a sentence takes which only the screen can show
MINUTE = 60.0


class Silent:
    """A salon at the limit of its nape, and a voice of which every sentence fails."""

    def __init__(self) -> None:
        book = recipe(stage(zone("nape", window=window(5, 10, LIMIT / MINUTE))))
        self.salon = Salon(load_commands(), {book.name: book}, 1, SalonRule())
        for words in ("start test tap", *GATE, "root bowl is mixed", "starting nape", "nape is on"):
            self.salon.step(Heard(0.0, f"{WAKE} {words}", 0.0))
        self.shown: list[tuple[float, str]] = []
        self.waiting: list[Say] = []

    def take(self, effects: list[Effect]) -> None:
        self.waiting += [e for e in effects if isinstance(e, Say) and e.call]

    def run(self, start: float, until: float) -> None:
        """Fail sentence after sentence; between them only the clock runs."""
        at = start
        while at < until:
            at = self._wait(at)
            if self.waiting:
                say = self.waiting.pop(0)
                self.shown.append((at, say.call.split("/")[0]))
                at += READ
                self.take(self.salon.step(SpeechDone(at, say.id, "failed")))

    def _wait(self, at: float) -> float:
        if self.waiting:
            return at
        due = self.salon.next_moment()
        at = max(at, due if due is not None else at + 1.0)
        self.take(self.salon.step(ClockDue(at)))
        return at


def test_every_call_is_shown_at_least_every_half_minute_and_none_floods_the_screen() -> None:
    silent = Silent()
    silent.take(silent.salon.step(DeviceLost(LIMIT, "loudspeaker")))
    silent.run(LIMIT, LIMIT + 5 * MINUTE)
    for kind in ("limit", "loudspeaker"):
        moments = [at for at, shown in silent.shown if shown == kind]
        gaps = [later - earlier for earlier, later in pairwise(moments)]
        assert len(moments) >= 10
        assert max(gaps) <= 30.0
        assert min(gaps) >= 5.0


def test_when_there_is_sound_again_the_limit_is_said_at_once() -> None:
    silent = Silent()
    silent.take(silent.salon.step(DeviceLost(LIMIT, "loudspeaker")))
    silent.run(LIMIT, LIMIT + MINUTE)
    effects = silent.salon.step(DeviceBack(LIMIT + MINUTE + 3, "loudspeaker"))
    said = [e.call.split("/")[0] for e in effects if isinstance(e, Say)]
    assert "limit" in said
