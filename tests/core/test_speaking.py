"""In what order is spoken, when there is more to say than time to say it?"""

from __future__ import annotations

from dataclasses import replace

from assistant.core.events import Priority, Say, Unsay
from assistant.core.speaking import SpeechQueue


def _call(number: int, *keys: str, priority: Priority = Priority.LIMIT) -> Say:
    return Say(number, priority, 1, "call_limit", call=" ".join(keys))


def _spoken(queue: SpeechQueue) -> list[int]:
    order = []
    while (say := queue.start_next()) is not None:
        order.append(say.id)
        queue.finished()
    return order


def test_a_repeated_call_keeps_its_place() -> None:
    queue = SpeechQueue()
    for number, key in enumerate(("a", "b", "c"), 1):
        queue.push(_call(number, key))
    queue.push(_call(4, "a"))
    assert _spoken(queue) == [4, 2, 3]


def test_calls_repeated_faster_than_they_can_be_spoken_all_come_round() -> None:
    """Eight limits every ten seconds, three sentences in that time: each within three rounds."""
    queue, number, heard = SpeechQueue(), 0, set()
    for _ in range(3):
        for key in "abcdefgh":
            number += 1
            queue.push(_call(number, key))
        for _ in range(3):
            if (say := queue.start_next()) is not None:
                heard.add(say.call)
                queue.finished()
    assert heard == set("abcdefgh")


def test_a_call_of_two_zones_takes_the_place_of_a_waiting_one_of_the_first() -> None:
    queue = SpeechQueue()
    queue.push(_call(1, "a"))
    queue.push(_call(2, "b"))
    queue.push(_call(3, "a", "c"))
    assert _spoken(queue) == [3, 2]


def test_a_limit_never_said_goes_before_repeated_ones_even_if_reworded_while_waiting() -> None:
    queue = SpeechQueue()
    queue.push(_call(1, "a"))
    queue.push(_call(2, "b"))
    queue.push(replace(_call(3, "c"), fresh=True))
    queue.push(_call(4, "c"))
    assert _spoken(queue) == [4, 1, 2]


def test_the_urgent_goes_first_and_cuts_the_milder() -> None:
    queue = SpeechQueue()
    queue.push(_call(1, "a", priority=Priority.GUIDE))
    queue.start_next()
    assert not queue.push(_call(2, "b", priority=Priority.CHECK))
    assert queue.push(replace(_call(3, "c", priority=Priority.LIMIT), fresh=True))
    queue.finished()
    assert _spoken(queue) == [3, 2]


def test_what_is_no_longer_true_is_dropped() -> None:
    queue = SpeechQueue()
    queue.push(_call(1, "a", "b"))
    queue.unsay(Unsay(("a",)))
    assert len(queue) == 1
    queue.unsay(Unsay(("a", "b")))
    assert len(queue) == 0


def test_an_answer_that_was_cut_is_said_once_more_and_a_call_is_not() -> None:
    queue = SpeechQueue()
    answer = Say(1, Priority.GUIDE, 1, "mix")
    queue.push(answer)
    assert queue.start_next() == answer
    queue.push(Say(2, Priority.GUIDE, 1, "noted"))
    assert not queue.push(_call(9, "limit"))  # said before: it waits for the end of the answer
    queue.unsay(Unsay(("limit",)))
    limit = replace(_call(3, "limit"), fresh=True)
    assert queue.push(limit)
    assert queue.finished(cut=True)
    assert queue.start_next() == limit
    assert not queue.finished(cut=True)
    assert queue.start_next() == answer  # before what was asked later
    assert not queue.finished(cut=True)  # once is enough
    assert _spoken(queue) == [2]
