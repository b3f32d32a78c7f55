"""One chair of a long day: what is said there and when, and what really happened to its zones."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

from assistant.core import numbers
from assistant.core.recipe import Recipe, Window
from tests.core import recipes as made_up
from tests.core.service import GATE
from tests.wake import WAKE

ZONES = ("nape", "crown", "ends")


def recipes() -> dict[str, Recipe]:
    """Three zones each, windows of their own."""
    made = {}
    for name, first in (("test tap", 14), ("root touch", 18), ("root shade", 22)):
        zones = [
            made_up.zone(each, apply_minutes=3, window=_window(first + n))
            for n, each in enumerate(ZONES)
        ]
        made[name] = made_up.recipe(made_up.stage(*zones), name=name)
    return made


def _window(check_from: float) -> Window:
    return made_up.window(check_from, check_from + 5, check_from + 12)


@dataclass(slots=True)
class ZoneTruth:
    """What really happened, in true seconds. `dues`: from when the target call is owed, to when."""

    chair: int
    head: int
    name: str
    window: Window
    on: float
    dues: list[tuple[float, float]] = field(default_factory=list)
    rinsing: float = float("inf")

    @property
    def limit(self) -> float:
        """When the product must be off."""
        return self.on + self.window.limit_minutes * 60


@dataclass(frozen=True, slots=True)
class Pause:
    """Nothing is said here until so many seconds have passed."""

    seconds: float


@dataclass(frozen=True, slots=True)
class Utterance:
    """Something said at the chair, again and again until the program has taken it in."""

    text: str


class Staff:
    """The people at one chair: a generator of pauses and utterances.

    `done_at` is the true time at which the last utterance was taken in, set from outside.
    """

    def __init__(self, chair: int, rng: Random, book: dict[str, Recipe]) -> None:
        self.chair = chair
        self.done_at = 0.0
        self.head = 0
        self.zones: list[ZoneTruth] = []
        self._rng = rng
        self._book = book

    def work(self) -> Iterator[Pause | Utterance]:
        """Client after client, for ever."""
        while True:
            yield Pause(self._rng.uniform(30, 600))
            chosen = self._book[self._rng.choice(sorted(self._book))]
            yield self._say(f"start {chosen.name}")
            for answer in GATE:
                yield Pause(self._rng.uniform(4, 9))
                yield self._say(answer)
            yield Pause(60)
            yield self._say("root bowl is mixed")
            yield from self._put_on(chosen)
            yield from self._develop(self.zones[-len(ZONES) :])
            for _ in chosen.finish:
                yield Pause(self._rng.uniform(30, 90))
                yield self._say("next step")

    def _say(self, words: str) -> Utterance:
        return Utterance(f"{WAKE} chair {numbers.spoken(self.chair)} {words}")

    def _put_on(self, chosen: Recipe) -> Iterator[Pause | Utterance]:
        for name in ZONES:
            yield Pause(self._rng.uniform(5, 20))
            yield self._say(f"starting {name}")
            yield Pause(self._rng.uniform(100, 260))
            yield self._say(f"{name} is on")
            on, its = self.done_at, chosen.stages[0].zone(name).window
            due = (on + its.target_minutes * 60, float("inf"))
            self.zones.append(ZoneTruth(self.chair, self.head, name, its, on, [due]))

    def _develop(self, zones: list[ZoneTruth]) -> Iterator[Pause | Utterance]:
        """Strand checks a while after each target, then the rinse: in time or after the limit."""
        first_limit = min(zone.limit for zone in zones)
        for zone in zones:
            yield from self._until(zone.dues[0][0] + self._rng.uniform(5, 60))
            yield from self._check(zone)
        late = self._rng.random() < 0.4
        yield from self._until(first_limit + self._rng.uniform(20, 200) * (1 if late else -1))
        yield self._say("rinsing now")
        for zone in zones:
            zone.rinsing = self.done_at
        yield Pause(self._rng.uniform(60, 200))
        yield self._say("all rinsed")

    def _check(self, zone: ZoneTruth) -> Iterator[Pause | Utterance]:
        """Ready, or put off by three minutes once or twice."""
        while self._rng.random() < 0.3 and zone.limit - self.done_at > 400:
            yield self._say(f"give {zone.name} three minutes")
            zone.dues[-1] = (zone.dues[-1][0], self.done_at)
            zone.dues.append((self.done_at + 180, float("inf")))
            yield Pause(180 + self._rng.uniform(5, 40))
        yield self._say(f"{zone.name} is ready")
        zone.dues[-1] = (zone.dues[-1][0], self.done_at)

    def _until(self, when: float) -> Iterator[Pause]:
        """Wait until a true time; `done_at` tells what time it is now."""
        if when > self.done_at:
            yield Pause(when - self.done_at)
