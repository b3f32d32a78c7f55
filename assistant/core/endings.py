"""Is what was said so far the whole of it? Then nobody has to wait for silence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.core import numbers
from assistant.core.events import Mode
from assistant.core.intents import Intent, Names, Words, chair_said, closed_sets, understand

NUMBER = "which_number"  # the answer that is nothing but a number


@dataclass(frozen=True, slots=True)
class Attention:
    """How something said now is taken; `woken` is the key, which stands for the wake word."""

    words: Words
    names: Names
    mode: Mode
    woken: bool = False

    def meaning(self, text: str) -> Intent | None:
        """The command that a text is now, if any."""
        meant = understand(text, self.words, self.names, self.mode, self.woken)
        return meant if isinstance(meant, Intent) else None

    def is_address(self, text: str) -> bool:
        """Whether a text only says who is meant: the wake word, or that and a chair. More follows.

        A chair is the whole answer when we asked for one.
        """
        tokens = self._addressed(text).split()
        if tokens[:1] != [self.words.wake]:
            return False
        rest = tokens[1:]
        return not rest or (self.mode != "which" and chair_said(rest, self.names) is not None)

    def is_unfinished(self, text: str) -> bool:
        """Whether a text says who is meant and begins a command, but is none yet. More follows."""
        tokens = self._addressed(text).split()
        if tokens[:1] != [self.words.wake]:
            return False
        if self.meaning(text) is not None:
            return self._is_unasked(text)
        return bool(self._longer(text))

    def is_complete(self, text: str) -> bool:
        """Whether a text is one whole command to us that nothing longer can follow.

        Then there is no need to wait for silence: the utterance can end here.
        """
        return (
            self.meaning(text) is not None and not self._is_unasked(text) and not self._longer(text)
        )

    def is_settled(self, text: str) -> bool:
        """Whether a text is one whole command to us, and anything longer is that command too.

        "How long" may go on to "how long for the crown"; but "sixteen" is not "sixteen or over",
        "client one" is somebody else than "client one two", "one to one" and a half weighs more.
        """
        meant = self.meaning(text)
        if meant is None or self._is_unasked(text):
            return False
        same = set[str]() if meant.client or meant.ratio else {meant.name}
        return self._longer(text) <= same

    def _is_unasked(self, text: str) -> bool:
        """A bare number that nobody asked for: rather the beginning of something else, misheard.

        "What is due" with a pause after "what" was "one".
        """
        meant = self.meaning(text)
        if meant is None or meant.name != NUMBER or "said" in text.split():
            return False
        return self.mode not in self.words.command(NUMBER).modes

    def _addressed(self, text: str) -> str:
        wake = self.words.wake
        return f"{wake} {text.removeprefix(wake)}" if self.woken else text

    def _longer(self, text: str) -> set[str]:
        """The commands of which this is only the beginning."""
        tokens = self._addressed(text).split()
        tokens = tokens[1:] if tokens[0] == self.words.wake else tokens
        # "chair two" alone may be an answer, or the beginning of "chair two, crown is on"
        after_chair = tokens[2:] if chair_said(tokens[:2], self.names) else None
        return {
            command.name
            for command in self.words.commands
            for phrase in command.phrases
            for part in (tokens, after_chair)
            if part is not None and _goes_on(part, phrase.split(), self.names)
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
