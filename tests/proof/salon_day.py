"""A salon's ordinary day on the virtual clock: people who answer calls, are late, talk over it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from random import Random

from assistant.app import GuessedVoice
from assistant.core import numbers
from assistant.core.client_card import Card
from assistant.core.clocks import MINUTE
from assistant.core.events import Effect, Event, Heard, Mode, SessionStarted
from assistant.core.head import Head
from assistant.core.recipe import Recipe, Window
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.edges.clock import VirtualClock
from assistant.edges.virtual_voice import VirtualVoice
from assistant.edges.word_files import load_commands, load_phrases
from assistant.hub import Hub
from tests.core import recipes as made_up
from tests.core.service import GATE

UTTERANCE = 2.0  # seconds
ZONE_NAMES = ("nape", "crown", "ends", "parting")


def people_for(chairs: int) -> int:
    """Who looks after so many chairs: two a person, all with product on (common practice)."""
    return -(-chairs // 2)


@dataclass(slots=True)
class Zone:
    """What really happened to a zone."""

    chair: int
    head: int
    name: str
    on_at: float
    window: Window
    rinsing_at: float = float("inf")

    @property
    def limit_at(self) -> float:
        """When the product must be off."""
        return self.on_at + self.window.limit_minutes * MINUTE


class _Nothing:
    """A journal, ears and a record store that keep nothing: other proofs look at those."""

    trouble = ""

    def append(self, event: Event) -> None:
        """Not kept."""

    def retry(self) -> bool:
        """Nothing is pending."""
        return True

    def listen(self, mode: Mode) -> None:
        """People speak whenever they like."""

    def write(self, head: Head) -> None:
        """Not kept."""

    def card(self, client: str) -> Card:
        """Nobody has been here before."""
        return Card(0, False, False, None, None)


class Day:
    """One random day: so many chairs, recipes of random windows, people of random diligence."""

    def __init__(self, chairs: int, seed: int, late: float = 0.06) -> None:
        self.zones: list[Zone] = []
        self.heard_at: list[float] = []
        self.uttered = self.missed = 0
        self.ended_at = 0.0
        self._rng = Random(seed)
        self._clock = VirtualClock()
        book = _recipes(self._rng)
        self.salon = Salon(load_commands(), book, chairs, SalonRule())
        self._speaking: list[tuple[float, float]] = []
        self.voice = VirtualVoice(self._clock, GuessedVoice().seconds_of, self._speaking)
        nothing = _Nothing()
        self.hub = Hub(
            self.salon,
            load_phrases(),
            clock=self._clock,
            journal=nothing,
            voice=self.voice,
            ears=nothing,
            records=nothing,
        )
        self.hub.watch(self._watch)
        self._work = [self._clients(chair + 1, book) for chair in range(chairs)]
        self._chairs = chairs
        self._late = self._rng.uniform(0, late)  # of the heads are rinsed after a limit

    def run(self, until: float) -> None:
        """From morning to evening; what is still on at the end stays on."""
        self._clock.at(until, self.hub.stop)
        self.hub.handle(SessionStarted(0.0, 0.0, self._chairs, ()))
        for chair in range(self._chairs):
            self._clock.at(self._rng.uniform(1, 1800), self._next(chair))
        if self._rng.random() < 0.5:
            self._clock.at(self._rng.uniform(0, until), self._quiet)
        self.hub.run()
        self.ended_at = self._clock.now()

    # ------------------------------------------------------------- the room

    def _watch(self, event: Event, effects: Sequence[Effect]) -> None:
        self.voice.ended(event)

    def _next(self, chair: int) -> Callable[[], None]:
        def go_on() -> None:
            pause, words = next(self._work[chair])
            if words:
                self._clock.at(self._clock.now() + pause, lambda: self._say(chair, words))
            else:
                self._clock.at(self._clock.now() + pause, go_on)

        return go_on

    def _say(self, chair: int, words: str) -> None:
        """Said, and said again if it fell into our own speech."""
        begins = self._clock.now()
        self.uttered += 1
        self._speaking.append((begins, begins + UTTERANCE))

        def known() -> None:
            self._speaking.remove((begins, begins + UTTERANCE))
            if self.voice.speaking(begins, begins + UTTERANCE):
                self.missed += 1
                self._clock.at(self._clock.now() + self._rng.uniform(1, 4), again)
                return
            self.hub.handle(Heard(self._clock.now(), words, begins))
            if words.endswith("heard you"):
                self.heard_at.append(self._clock.now())
            self._next(chair)()

        def again() -> None:
            self._say(chair, words)

        self._clock.at(begins + UTTERANCE + 0.4, known)

    def _quiet(self) -> None:
        now = self._clock.now()
        self.hub.handle(Heard(now, f"{self.salon.words.wake} quiet please", now - UTTERANCE))

    # ------------------------------------------------------------ the people

    def _clients(self, chair: int, book: dict[str, Recipe]) -> Iterator[tuple[float, str]]:
        """Pauses, each with what is said after it ("" = nothing), client after client."""
        rng = self._rng

        def say(words: str) -> str:
            return f"{self.salon.words.wake} chair {numbers.spoken(chair)} {words}"

        while True:
            recipe = book[rng.choice(sorted(book))]
            yield rng.uniform(60, 2400), say(f"start {recipe.name}")
            for answer in GATE:
                yield rng.uniform(4, 12), say(answer)
            yield rng.uniform(60, 180), say("root bowl is mixed")
            zones = []
            for zone in recipe.stages[0].zones:
                yield rng.uniform(5, 40), say(f"starting {zone.name}")
                yield zone.apply_minutes * MINUTE * rng.uniform(0.7, 1.4), say(f"{zone.name} is on")
                head = self.salon.heads[chair].number
                zones.append(Zone(chair, head, zone.name, self._clock.now(), zone.window))
            self.zones += zones
            yield from self._develop(zones, say)
            yield rng.uniform(60, 300), say("all rinsed")
            for _ in recipe.finish:
                yield rng.uniform(30, 240), say("next step")

    def _develop(self, zones: list[Zone], say: Callable[[str], str]) -> Iterator[tuple[float, str]]:
        """Looks at each zone, some after the call; the rinse when all are ready, seldom late."""
        rng = self._rng
        first_limit = min(zone.limit_at for zone in zones)
        for zone in sorted(zones, key=lambda z: z.on_at + z.window.check_from_minutes * MINUTE):
            moments = [zone.on_at + zone.window.check_from_minutes * MINUTE]
            if rng.random() < 0.5:  # not ready at the first look: again at the target
                moments.append(zone.on_at + zone.window.target_minutes * MINUTE)
            for moment in moments:
                if max(moment, self._clock.now()) > first_limit - 5 * MINUTE:
                    break  # no time for that any more: all comes off before the first limit
                waits_for_call = rng.random() < 0.5
                yield self._until(moment + rng.uniform(5, 50) * (1 if waits_for_call else -1)), ""
                answer = "ready" if moment == moments[-1] else "not ready"
                yield rng.uniform(0, 10), say(f"{zone.name} is {answer}")
        late = rng.random() < self._late
        if late:
            yield self._until(first_limit + rng.uniform(20, 180)), ""
        if late and rng.random() < 0.3:
            yield 5.0, say("heard you")
        yield rng.uniform(10, 90), say("rinsing now")
        for zone in zones:
            zone.rinsing_at = self._clock.now()

    def _until(self, when: float) -> float:
        return max(0.0, when - self._clock.now())


def _recipes(rng: Random) -> dict[str, Recipe]:
    """Three recipes of one to four zones; checks and limits as demi and permanent colour have."""
    made = {}
    for name in ("test tap", "root touch", "root shade"):
        first = rng.uniform(8, 25)
        zones = []
        for n in range(rng.randint(1, len(ZONE_NAMES))):
            target = first + n + rng.uniform(3, 10)
            window = made_up.window(first + n, target, target + rng.uniform(5, 15))
            minutes = rng.uniform(1.5, 4)
            zones.append(made_up.zone(ZONE_NAMES[n], apply_minutes=minutes, window=window))
        made[name] = made_up.recipe(made_up.stage(*zones), name=name)
    return made
