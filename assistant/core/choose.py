"""Which recipes fit this head, and what speaks for and against each?

It proposes with reasons and never decides. What would hurt the client stops it: then nothing
is proposed, and the reason is said. The rules themselves are a table that a salon can edit
(`assistant/words/choosing.yaml`); only the stops of `MUST_STOP` cannot be edited away.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.core.consultation import FACTS, Consultation, Words, fact_words
from assistant.core.figures import listed, sentence
from assistant.core.shades import grey_blend, undertone

STYLIST_DECIDES = "The stylist decides."
# Each of these answers must be stopped by some rule of the table, whatever else it says.
MUST_STOP = (
    ("earlier_reaction", "to hair colour"),
    ("earlier_reaction", "to a henna tattoo"),
    ("scalp", "sensitive"),
    ("scalp", "broken"),
    ("age", "under sixteen"),
)


@dataclass(frozen=True, slots=True)
class Condition:
    """One fact that must be so: one of some words, or a number in [at_least, below)."""

    fact: str
    words: tuple[str, ...] = ()
    at_least: float | None = None
    below: float | None = None

    def holds(self, head: Consultation) -> bool:
        """A fact not asked never holds: nothing is taken for granted."""
        answer = head.answer(self.fact)
        if answer is None:
            return False
        if isinstance(answer, str):
            return answer in self.words
        return (self.at_least is None or answer >= self.at_least) and (
            self.below is None or answer < self.below
        )


@dataclass(frozen=True, slots=True)
class Stop:
    """A contra-indication: when all its conditions hold, nothing is proposed."""

    when: tuple[Condition, ...]
    say: str
    source: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A reason: points above zero speak for the recipes, below zero against them."""

    recipes: tuple[str, ...]
    when: tuple[Condition, ...]
    points: int
    say: str
    source: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A recipe by its spoken name, and what it is in one sentence."""

    name: str
    about: str


@dataclass(frozen=True, slots=True)
class RuleBook:
    """The whole table."""

    candidates: tuple[Candidate, ...]
    stops: tuple[Stop, ...]
    rules: tuple[Rule, ...]

    def missing_stops(self) -> tuple[tuple[str, str], ...]:
        """The answers of MUST_STOP that this table would let through."""
        return tuple(
            (fact, answer)
            for fact, answer in MUST_STOP
            if not any(_stops_alone(stop, fact, answer) for stop in self.stops)
        )


def _stops_alone(stop: Stop, fact: str, answer: str) -> bool:
    """A stop with a second condition would let some of these heads through."""
    return len(stop.when) == 1 and stop.when[0].fact == fact and answer in stop.when[0].words


@dataclass(frozen=True, slots=True)
class Reason:
    """One sentence for or against, with where it comes from."""

    say: str
    points: int
    source: str


@dataclass(frozen=True, slots=True)
class Proposal:
    """One recipe with its reasons, the weightiest first."""

    recipe: str
    about: str
    speaks_for: tuple[Reason, ...]
    speaks_against: tuple[Reason, ...]

    @property
    def points(self) -> int:
        """What the ranking goes by; it is the salon's own weighing, not a measurement."""
        return sum(reason.points for reason in (*self.speaks_for, *self.speaks_against))

    def sentences(self) -> tuple[str, ...]:
        """The proposal as it is read or said."""
        said = [f"{sentence(self.recipe)[:-1]}: {self.about}"]
        said += [f"For: {reason.say}" for reason in self.speaks_for]
        said += [f"Against: {reason.say}" for reason in self.speaks_against]
        if not self.speaks_for:
            said.append("Nothing that was asked speaks for it.")
        return tuple(said)


@dataclass(frozen=True, slots=True)
class Advice:
    """Stops, or ranked proposals, and the questions still open."""

    stops: tuple[Reason, ...]
    ask_first: tuple[str, ...]
    proposals: tuple[Proposal, ...]
    not_asked: tuple[str, ...]
    besides: tuple[str, ...] = ()  # what charts say of these numbers, whatever is chosen

    def sentences(self) -> tuple[str, ...]:
        """Everything in the order in which it matters."""
        if self.stops:
            return tuple(f"Stop. {stop.say}" for stop in self.stops)
        if self.ask_first:
            return ("Ask first.", *(FACTS[name].question for name in self.ask_first))
        said = [line for proposal in self.proposals for line in proposal.sentences()]
        said += self.besides
        if self.not_asked:
            said.append(f"Not asked yet: {listed([fact_words(n) for n in self.not_asked])}.")
        return (*said, STYLIST_DECIDES)

    def spoken(self) -> str:
        """Short enough to be heard: the stop, the next question, or the first two names."""
        if self.stops or self.ask_first:
            return " ".join(self.sentences()[:2])
        first, *rest = self.proposals
        if first.points <= 0:
            return f"Nothing asked so far speaks clearly for one recipe. {STYLIST_DECIDES}"
        said = [sentence(first.recipe), first.speaks_for[0].say]
        said += [f"Against it: {reason.say}" for reason in first.speaks_against[:1]]
        said += [sentence(f"or {second.recipe}") for second in rest[:1] if second.points > 0]
        return " ".join((*said, STYLIST_DECIDES))


def advise(book: RuleBook, head: Consultation) -> Advice:
    """Stops first, then the questions that a stop hangs on, then the ranking."""
    stops = tuple(
        Reason(stop.say, 0, stop.source) for stop in book.stops if _all_hold(stop.when, head)
    )
    open_facts = head.not_asked()
    must_ask = {fact for fact, _ in MUST_STOP}
    ask_first = tuple(fact for fact in open_facts if fact in must_ask)
    if stops or ask_first:
        return Advice(stops, ask_first, (), open_facts)
    proposals = [_proposal(book, candidate, head) for candidate in book.candidates]
    ranked = sorted(proposals, key=lambda proposal: -proposal.points)  # ties: the table's order
    return Advice((), (), tuple(ranked), open_facts, tuple(_besides(head)))


def _besides(head: Consultation) -> Iterator[str]:
    """Charts and tables as what they are: one maker's word, and they differ."""
    if head.lifted_level is not None:
        yield undertone(round(head.lifted_level)).spoken()
    if head.grey_percent is not None:
        yield grey_blend(head.grey_percent).spoken()


def _proposal(book: RuleBook, candidate: Candidate, head: Consultation) -> Proposal:
    reasons = [
        Reason(rule.say, rule.points, rule.source)
        for rule in book.rules
        if candidate.name in rule.recipes and _all_hold(rule.when, head)
    ]
    reasons.sort(key=lambda reason: -abs(reason.points))
    return Proposal(
        candidate.name,
        candidate.about,
        tuple(reason for reason in reasons if reason.points > 0),
        tuple(reason for reason in reasons if reason.points < 0),
    )


def _all_hold(conditions: Iterable[Condition], head: Consultation) -> bool:
    return all(condition.holds(head) for condition in conditions)


def condition_problem(condition: Condition) -> str | None:
    """Why a condition of the table can never be met, or None."""
    if condition.fact not in FACTS:
        return f"there is no fact {condition.fact!r}: use one of {', '.join(FACTS)}"
    fact = FACTS[condition.fact]
    if isinstance(fact, Words):
        refused = [fact.refuse(word) for word in condition.words]
        return next((why for why in refused if why), None)
    for limit in (condition.at_least, condition.below):
        if limit is not None and fact.refuse(limit) is not None:
            return fact.refuse(limit)
    low, high = condition.at_least, condition.below
    if low is not None and high is not None and low >= high:
        return f"is empty: {low:g} is not below {high:g}"
    return None
