"""Is what was said so far the whole of it? Then nobody has to wait for silence."""

from __future__ import annotations

from collections.abc import Sequence

from assistant.core import numbers
from assistant.core.events import Mode
from assistant.core.intents import Intent, Names, Words, chair_said, closed_sets, understand


def is_address(text: str, words: Words, names: Names, mode: Mode) -> bool:
    """Whether a text only says who is meant: the wake word, or that and a chair. More follows.

    A chair is the whole answer when we asked for one.
    """
    tokens = text.split()
    if tokens[:1] != [words.wake]:
        return False
    return len(tokens) == 1 or (mode != "which" and chair_said(tokens[1:], names) is not None)


def is_unfinished(text: str, words: Words, names: Names, mode: Mode) -> bool:
    """Whether a text says who is meant and begins a command, but is none yet. More follows."""
    if text.split()[:1] != [words.wake]:
        return False
    meant = understand(text, words, names, mode, woken=False)
    return not isinstance(meant, Intent) and bool(_longer(text, words, names))


def is_complete(text: str, words: Words, names: Names, mode: Mode) -> bool:
    """Whether a text is one whole command to us that nothing longer can follow.

    Then there is no need to wait for silence: the utterance can end here.
    """
    meant = understand(text, words, names, mode, woken=False)
    return isinstance(meant, Intent) and not _longer(text, words, names)


def is_settled(text: str, words: Words, names: Names, mode: Mode) -> bool:
    """Whether a text is one whole command to us, and anything longer is that command too.

    "How long" may go on to "how long for the crown"; but "sixteen" is not "sixteen or over",
    "client one" is somebody else than "client one two", and "one to one" and a half weighs more.
    """
    meant = understand(text, words, names, mode, woken=False)
    if not isinstance(meant, Intent):
        return False
    return _longer(text, words, names) <= (set() if meant.client or meant.ratio else {meant.name})


def _longer(text: str, words: Words, names: Names) -> set[str]:
    """The commands of which this is only the beginning."""
    tokens = text.split()
    tokens = tokens[1:] if tokens[0] == words.wake else tokens
    # "chair two" alone may be an answer, or the beginning of "chair two, crown is on"
    after_chair = tokens[2:] if len(tokens) >= 2 and chair_said(tokens[:2], names) else None
    return {
        command.name
        for command in words.commands
        for phrase in command.phrases
        for part in (tokens, after_chair)
        if part is not None and _goes_on(part, phrase.split(), names)
    }


def _goes_on(tokens: Sequence[str], template: Sequence[str], names: Names) -> bool:
    """Whether the tokens are only the beginning of a phrase."""
    if not tokens or not template:
        return bool(template) and not tokens
    head, rest = template[0], template[1:]
    if not head.startswith("{"):
        return tokens[0] == head and _goes_on(tokens[1:], rest, names)
    if head == "{client}" and numbers.client_goes_on(tokens):
        return True
    for option in closed_sets(names)[head.strip("{}")]:
        said = option.split()
        if len(said) > len(tokens):
            if said[: len(tokens)] == list(tokens):
                return True
        elif list(tokens[: len(said)]) == said and _goes_on(tokens[len(said) :], rest, names):
            return True
    return False
