"""Is a call known by its name everywhere, also when the zone is named by two words?"""

from __future__ import annotations

import pytest

from assistant.core.events import ClockDue, Heard, Say, SpeechDone, Unsay
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.core.speaking import SpeechQueue
from assistant.edges.word_files import load_commands
from tests.core.recipes import recipe, stage, window, zone
from tests.core.service import GATE
from tests.wake import WAKE

LIMIT = 20 * 60.0


def _at_the_limit(name: str) -> tuple[Salon, Say]:
    """One zone left on to its limit: the salon, and its call."""
    book = recipe(stage(zone(name, window=window(5, 10, LIMIT / 60))))
    salon = Salon(load_commands(), {book.name: book}, 1, SalonRule())
    told = ("start test tap", *GATE, "root bowl is mixed", f"starting {name}", f"{name} is on")
    for words in told:
        salon.step(Heard(0.0, f"{WAKE} {words}", 0.0))
    while (at := salon.next_moment()) is not None:
        for effect in salon.step(ClockDue(at)):
            if isinstance(effect, Say) and effect.call.startswith("limit/"):
                return salon, effect
    raise AssertionError("no limit is called")


@pytest.mark.parametrize("name", ["nape", "left side"])
def test_a_limit_that_never_sounded_is_said_again_at_once(name: str) -> None:
    salon, call = _at_the_limit(name)
    effects = salon.step(SpeechDone(LIMIT + 1, call.id, "failed"))
    assert call.call in [effect.call for effect in effects if isinstance(effect, Say)]


@pytest.mark.parametrize("name", ["nape", "left side"])
def test_a_limit_that_is_over_is_taken_out_of_the_queue(name: str) -> None:
    salon, call = _at_the_limit(name)
    queue = SpeechQueue()
    queue.push(call)
    for effect in salon.step(Heard(LIMIT + 1, f"{WAKE} rinsing now", LIMIT + 1)):
        if isinstance(effect, Unsay):
            queue.unsay(effect)
    assert queue.start_next() is None
