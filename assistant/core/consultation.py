"""What is asked before a service is chosen, and which answers can be?"""

from dataclasses import dataclass
from typing import Literal

from assistant.errors import SumError

Effect = Literal["natural root", "deeper root", "soft blend", "grey cover", "brighter"]
Highlights = Literal["none", "even", "stripy", "bled"]
Hair = Literal["dry", "damp"]
Wish = Literal["fading", "lasting"]
Condition = Literal["sound", "porous", "breaking"]
Reaction = Literal["none", "to hair colour", "to a henna tattoo"]
Scalp = Literal["sound", "sensitive", "broken"]
Age = Literal["sixteen and over", "under sixteen"]
EarlierColour = Literal["none", "known", "unknown", "henna", "metal salts"]


@dataclass(frozen=True, slots=True)
class Words:
    """A fact answered with one of a few words."""

    question: str
    answers: tuple[str, ...]

    def refuse(self, answer: object) -> str | None:
        """Why this answer cannot be, or None."""
        if answer in self.answers:
            return None
        return f"cannot be {answer!r}: say one of {', '.join(self.answers)}"


@dataclass(frozen=True, slots=True)
class Amount:
    """A fact answered with a number inside a range, ends included."""

    question: str
    least: float
    most: float

    def refuse(self, answer: object) -> str | None:
        """Why this answer cannot be, or None."""
        if isinstance(answer, int | float) and self.least <= answer <= self.most:
            return None
        return f"cannot be {answer!r}: give a number from {self.least:g} to {self.most:g}"


FACTS: dict[str, Words | Amount] = {
    "earlier_reaction": Words(
        "Any earlier reaction to hair colour or to a henna tattoo?",
        ("none", "to hair colour", "to a henna tattoo"),
    ),
    "scalp": Words(
        "Is the scalp sound, with no rash on scalp or face?", ("sound", "sensitive", "broken")
    ),
    "age": Words("Sixteen or over?", ("sixteen and over", "under sixteen")),
    "earlier_colour": Words(
        "What colour is on the hair already?", ("none", "known", "unknown", "henna", "metal salts")
    ),
    "condition": Words("Is the hair sound?", ("sound", "porous", "breaking")),
    "effect": Words(
        "Which effect is wished for?",
        ("natural root", "deeper root", "soft blend", "grey cover", "brighter"),
    ),
    "highlights": Words(
        "How do the highlights look at the root?", ("none", "even", "stripy", "bled")
    ),
    "hair": Words("Is the hair dry or damp?", ("dry", "damp")),
    "wish": Words("Should it fade out softly or last?", ("fading", "lasting")),
    "lifted_level": Amount("Which level are the lengths lifted to?", 1, 10),
    "grey_percent": Amount("How many percent grey?", 0, 100),
    "regrowth_mm": Amount("How many millimetres of regrowth?", 0, 300),
}


@dataclass(frozen=True, slots=True)
class Consultation:
    """What is known about one head; None where it has not been asked yet."""

    earlier_reaction: Reaction | None = None
    scalp: Scalp | None = None
    age: Age | None = None
    earlier_colour: EarlierColour | None = None
    condition: Condition | None = None
    effect: Effect | None = None
    highlights: Highlights | None = None
    hair: Hair | None = None
    wish: Wish | None = None
    lifted_level: float | None = None
    grey_percent: float | None = None
    regrowth_mm: float | None = None

    def __post_init__(self) -> None:
        for name, fact in FACTS.items():
            answer = getattr(self, name)
            refused = None if answer is None else fact.refuse(answer)
            if refused is not None:
                raise SumError(f"{fact_words(name)} {refused}")

    def answer(self, fact: str) -> str | float | None:
        """What was answered, or None where it was not asked."""
        found: str | float | None = getattr(self, fact)
        return found

    def not_asked(self) -> tuple[str, ...]:
        """Every fact still open, in the order in which to ask."""
        return tuple(name for name in FACTS if self.answer(name) is None)


def consultation_from(answers: dict[str, str]) -> Consultation:
    """Typed or spoken answers, still as text; an unknown fact or word is refused."""
    known: dict[str, str | float] = {}
    for name, text in answers.items():
        if name not in FACTS:
            raise SumError(f"there is no fact {name!r}: use one of {', '.join(FACTS)}")
        known[name] = _converted(name, text)
    return Consultation(**known)  # type: ignore[arg-type]  # every value is checked in there


def _converted(name: str, text: str) -> str | float:
    if isinstance(FACTS[name], Words):
        return text.strip()
    try:
        return float(text)
    except ValueError:
        raise SumError(f"{fact_words(name)} cannot be {text!r}: give a number") from None


def fact_words(name: str) -> str:
    """A fact's name as it is said."""
    return name.replace("_", " ")
