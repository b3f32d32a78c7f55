"""Which of the recogniser's guesses counts?

The best of all, if it is a command now: words that are only nearly the likeliest are not acted on.
If another command is about as good, the two are written with `[or]` between them, and whoever
reads it has to ask. If something that begins otherwise and is no command now is about as good, it
is taken for that: running water sounds like "go on", and as much like "ten" or like nothing. Not
so with an alarm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from assistant.core import numbers
from assistant.core.intents import EITHER, Intent

# In nats of the recogniser's score; chosen on tuning recordings, tests/bench/LISTENING_HISTORY.md.
TOO_CLOSE = 1.5
SETTLED = ("give_it", "lesson_volume")  # the core knows that thirteen sounds like thirty
ALARM = "burns"  # rather asked about once for nothing than once not heard

Guess = tuple[str, float]  # a text and its score, the higher the likelier
Meaning = Callable[[str], Intent | None]  # the command that a text is now, if it is one


def choose(guesses: Sequence[Guess], meaning: Meaning) -> str:
    """The text to act on, from guesses with the best first; "" if there are none."""
    if not guesses:
        return ""
    read = [(text, score, meaning(text)) for text, score in guesses]
    commands = [(text, score, meant) for text, score, meant in read if meant is not None]
    # what is only a little less likely than talk would wake us for nothing
    if not commands or read[0][1] > commands[0][1]:
        return guesses[0][0]
    text, score, meant = commands[0]
    if meant.name != ALARM:
        for talk, close, other in read:
            begins_otherwise = talk.split()[:1] != text.split()[:1]
            if other is None and score - close <= TOO_CLOSE and begins_otherwise:
                return talk
    for rival, close, another in commands[1:]:
        if score - close <= TOO_CLOSE and another != meant and not asked_anyway(meant, another):
            return f"{text} {EITHER} {rival}"
    return text


def asked_anyway(one: Intent, other: Intent) -> bool:
    """ "Give it thirteen" and "give it thirty": the core asks, or takes the one that fits."""
    if one.name not in SETTLED or one.number is None or other.number is None:
        return False
    return replace(one, number=other.number) == other and (
        other.number in numbers.sound_alikes(one.number)
    )
