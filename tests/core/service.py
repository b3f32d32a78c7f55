"""A service typed at a salon, line by line: `Service(recipe).at("12:30").hear("crown is on")`.

The sentences come back as text; every sentence counts as spoken at once.
"""

from __future__ import annotations

from collections.abc import Mapping

from assistant.core.events import ClockDue, Effect, Event, Heard, Say, SessionStarted, SpeechDone
from assistant.core.head import Head
from assistant.core.phrases import Phrases
from assistant.core.recipe import Recipe
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.core.script import At
from assistant.edges.word_files import load_commands, load_phrases

GATE = (
    "clear test three days ago",
    "scalp is healthy",
    "gloves are on",
    "leaflet in hand",
    "sixteen or over",
)


class Service:
    """One session with some recipes, on a clock that the test moves."""

    def __init__(
        self,
        *recipes: Recipe,
        chairs: int = 4,
        trainee: str = "",
        levels: Mapping[str, int] | None = None,
    ) -> None:
        self.words = load_commands()
        self.phrases: Phrases = load_phrases()
        self.salon = Salon(self.words, {r.name: r for r in recipes}, chairs, SalonRule())
        self.now = 0.0
        self.said: list[tuple[float, str]] = []
        self.effects: list[Effect] = []
        known = tuple((levels or {}).items())
        self._step(SessionStarted(0.0, 0.0, chairs, (), trainee, known))

    def at(self, time: str) -> Service:
        """Let the time come, with everything that falls due on the way."""
        until = At.parse(time).seconds
        while (moment := self.salon.next_moment()) is not None and moment <= until:
            self.now = moment
            self._step(ClockDue(moment))
        self.now = until
        return self

    def hear(self, text: str) -> list[str]:
        """Say something with the wake word; the sentences of the answer."""
        return self.utter(f"{self.words.wake} {text}")

    def utter(self, text: str) -> list[str]:
        """Say exactly this; the sentences of the answer."""
        return self._step(Heard(self.now, text, self.now))

    def event(self, event: Event) -> list[str]:
        """Any other event."""
        self.now = event.at
        return self._step(event)

    def gate(self, chair: str = "") -> None:
        """Pass the safety gate."""
        for answer in GATE:
            self.hear(f"{chair} {answer}".strip())

    def nape_on(self, recipe: str = "test tap") -> Service:
        """Opened, mixed, and the nape on at three minutes."""
        self.hear(f"start {recipe}")
        self.gate()
        self.hear("root bowl is mixed")
        self.hear("starting nape")
        self.at("03:00").hear("nape is on")
        return self

    def head(self, chair: int = 1) -> Head:
        """The head in a chair."""
        return self.salon.heads[chair]

    def calls(self, since: str = "00:00") -> list[str]:
        """Everything said since a time."""
        return [text for at, text in self.said if at >= At.parse(since).seconds]

    def _step(self, event: Event) -> list[str]:
        effects = self.salon.step(event)
        self.effects += effects
        answers = []
        for say in (e for e in effects if isinstance(e, Say)):
            text = self.phrases.sentence(say)
            answers.append(text)
            self.said.append((event.at, text))
        for say in (e for e in effects if isinstance(e, Say)):
            self._step(SpeechDone(event.at, say.id, "played"))
        return answers
