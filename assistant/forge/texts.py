"""What do the synthetic voices say?

Lines of the project's own commands, command-like lines built from the words of the trade, numbers
in quantity, invented requests of other rooms (texts_requests.yaml), everyday sentences (WordNet's
example sentences) and plain strings of common words, so that the model learns English and not a
list. A comma is a pause: people make one after the wake word.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

import yaml

from assistant.core.intents import closed_sets
from assistant.core.session_names import names_of
from assistant.edges.recipe_files import load_all
from assistant.edges.word_files import load_commands

WORDNET = Path("/usr/share/wordnet")  # Debian package wordnet-base
CHAIRS = 12
NUMBERED = 0.25  # of the own commands are drawn from those with a number, a ratio or a client
Slot = Callable[[random.Random], str]
REQUESTS = Path(__file__).with_name("texts_requests.yaml")
ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
).split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
TEENS_AND_TENS = [*ONES[13:], *TENS[1:]]
PLACES = (
    "crown nape roots root hairline temples temple parting quarter quadrant front back fringe "
    "lengths mid-lengths ends foils foil regrowth top side scalp face-frame back-left back-right "
    "left-side right-side zone bowl section strand toner gloss highlights basin"
).split()
DONE = "on ready mixed finished rinsed emulsified applied dry damp done due sore sound here".split()
DOINGS = (
    "start stop pause resume rinse repeat cancel confirm undo check skip hold clear mark note give "
    "leave take set add show tell finish begin open close starting rinsing mixing checking apply"
).split()
UNITS = "minutes minute seconds hours grams milliliters centimetres days weeks more percent".split()
ASKING = (
    "how-long when what-is how-much where-is which what-comes tell-me how-many why when-do-we"
).split()
REMARKS = (
    "it-burns it-stings it-itches heard-you heard quiet-please say-again go-on not-ready not-yet "
    "next-step step-back previous-step that's-on tell-me-why undo-that take-that-back leave-it "
    "gloves-are-on leaflet-in-hand scalp-is-sound sixteen-or-over no-leaflet start-again "
    "all-rinsed repeat-that help-me rinsed-out lighter-next-time cooler-next-time hold-the-calls "
    "go-back what-is-due what-can-I-say client-is-comfortable yes-please no-thank-you that-is-right"
).split()
WAKE = "juniper tangerine periwinkle cinnabar marigold saffron mocha".split()


def number(value: int) -> str:
    """0 to 199 in words."""
    if value >= 100:
        rest = f" and {number(value - 100)}" if value > 100 else ""
        return f"one hundred{rest}"
    if value < 20:
        return ONES[value]
    ten, one = TENS[value // 10 - 2], value % 10
    return f"{ten} {ONES[one]}" if one else ten


def any_number(rng: random.Random) -> str:
    """Numbers as they are said; the thirteen/thirty pairs come up often."""
    if rng.random() < 0.35:
        return rng.choice(TEENS_AND_TENS)
    if rng.random() < 0.2:
        return " ".join(rng.choice(ONES[:10]) for _ in range(rng.randint(2, 3)))
    return number(rng.randint(0, 120))


def chair(rng: random.Random) -> str:
    return f"chair {rng.choice(ONES[1:13])}"


def place(rng: random.Random) -> str:
    return spaced(rng.choice(PLACES)) + (f" {rng.choice(ONES[1:8])}" if rng.random() < 0.15 else "")


def spaced(text: str) -> str:
    return text.replace("-", " ")


SHAPES: tuple[Slot, ...] = (
    lambda r: f"{place(r)} {r.choice(['is', 'are', 'is', 'is not'])} {r.choice(DONE)}",
    lambda r: f"{chair(r)} {place(r)} {r.choice(['is', 'are'])} {r.choice(DONE)}",
    lambda r: f"{r.choice(DOINGS)} {r.choice(['the ', '', 'that ', 'this '])}{place(r)}",
    lambda r: (
        f"{r.choice(DOINGS)} {r.choice('that it now again please the-clock the-timer'.split())}"
    ),
    lambda r: f"give it {any_number(r)}{r.choice(['', '', ' minutes', ' more minutes'])}",
    lambda r: f"give {place(r)} {any_number(r)} minutes",
    lambda r: f"{r.choice(['set', 'start'])} a timer for {any_number(r)} {r.choice(UNITS)}",
    lambda r: f"{any_number(r)} {r.choice(UNITS)}",
    lambda r: any_number(r),
    lambda r: (
        f"{r.choice(TEENS_AND_TENS)} {r.choice(['or', 'and', 'not'])} {r.choice(TEENS_AND_TENS)}"
    ),
    lambda r: f"{r.choice(ASKING)} {r.choice(['the ', 'for the ', 'is the ', ''])}{place(r)}",
    lambda r: f"confirm {chair(r)}",
    lambda r: chair(r),
    lambda r: f"{r.choice(WAKE)} {spaced(r.choice(REMARKS))}",
    lambda r: f"{r.choice(WAKE)} {chair(r)} {place(r)} is on",
    lambda r: spaced(r.choice(REMARKS)),
    lambda r: spaced(r.choice(REMARKS)),
    lambda r: f"bowl {r.choice(ONES[1:6])} is mixed",
    lambda r: f"clear test {any_number(r)} days ago",
    lambda r: f"note {r.choice('shorter longer lighter deeper warmer cooler'.split())} next time",
)


def command_like(rng: random.Random) -> str:
    return spaced(rng.choice(SHAPES)(rng))


def sentences(folder: Path = WORDNET) -> list[str]:
    """WordNet's example sentences, lower case, words only."""
    found: list[str] = []
    for name in ("data.noun", "data.verb", "data.adj", "data.adv"):
        text = (folder / name).read_text(encoding="latin-1")
        for quoted in re.findall(r'"([^"]{8,90})"', text):
            words = re.findall(r"[a-z]+(?:'[a-z]+)?", quoted.lower())
            if 3 <= len(words) <= 12 and not re.search(r"\d", quoted):
                found.append(" ".join(words))
    return found


def fill(template: str, slots: Mapping[str, Slot], rng: random.Random) -> str:
    """Put something in for every {slot}; one that nobody knows becomes a place on the head."""
    return re.sub(r"\{(\w+)\}", lambda m: slots.get(m[1], place)(rng), template)


def one_of(options: Sequence[str], slots: Mapping[str, Slot]) -> Slot:
    """Any of the options, its own slots filled."""
    return lambda rng: fill(rng.choice(options), slots, rng)


def client(rng: random.Random) -> str:
    """A client's number, figure by figure or as a number."""
    if rng.random() < 0.25:
        return number(rng.randint(10, 99))
    return " ".join(rng.choice(ONES[:10]) for _ in range(rng.randint(1, 4)))


class Commands:
    """Lines of the project's own commands, as they are said: wake word, comma, chair, comma."""

    def __init__(self) -> None:
        words, (recipes, _) = load_commands(), load_all()
        self.phrases = [p for c in words.commands for p in c.phrases]
        self.numbered = [p for p in self.phrases if re.search(r"{(number|ratio|client)}", p)]
        self.decoys, self.wake = words.decoys, words.wake
        closed = closed_sets(names_of(words, recipes, CHAIRS))
        self.slots = {name: one_of(options, {}) for name, options in closed.items()}
        zone = self.slots["zone"]
        self.slots |= {
            "number": any_number, "client": client,
            "zone": lambda r: zone(r) if r.random() < 0.6 else place(r),
        }  # fmt: skip

    def line(self, rng: random.Random) -> str:
        if rng.random() < 0.04 and self.decoys:
            return fill(rng.choice(self.decoys), self.slots, rng)
        phrases = self.numbered if rng.random() < NUMBERED else self.phrases
        said = fill(rng.choice(phrases), self.slots, rng)
        if rng.random() < 0.3 and not said.startswith("chair "):
            said = f"{chair(rng)}, {said}"
        if rng.random() < 0.55:
            wake = self.wake if rng.random() < 0.7 else rng.choice(WAKE)
            said = f"{wake}, {said}" if rng.random() < 0.7 else f"{wake} {said}"
        return said


class Requests:
    """Invented requests of other rooms, from templates and word lists of texts_requests.yaml."""

    def __init__(self, path: Path = REQUESTS) -> None:
        known = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)  # "on" is a word
        self.templates: list[str] = known["templates"]
        self.slots: dict[str, Slot] = {"number": any_number}
        for name, options in known["slots"].items():
            self.slots[name] = one_of(options, self.slots)

    def line(self, rng: random.Random) -> str:
        return fill(rng.choice(self.templates), self.slots, rng)


def split_pauses(text: str) -> tuple[list[str], list[int]]:
    """Words, and after which of them there is a pause."""
    words = text.lower().replace("-", " ").split()
    pauses = [place for place, word in enumerate(words[:-1]) if word.endswith(",")]
    return [word.strip(",.!?") for word in words], pauses


def lines(
    count: int, common: Sequence[str], trade: Sequence[str], rng: random.Random
) -> Iterator[tuple[list[str], list[int]]]:
    """The mix: 32 % own commands, 16 % trade, 20 % requests, 20 % sentences, 12 % word strings."""
    pool, own, asked = sentences(), Commands(), Requests()
    for _ in range(count):
        draw = rng.random()
        if draw < 0.32:
            yield split_pauses(own.line(rng))
        elif draw < 0.48:
            yield split_pauses(command_like(rng))
        elif draw < 0.68:
            yield split_pauses(asked.line(rng))
        elif draw < 0.88:
            yield rng.choice(pool).split(), []
        else:
            words = rng.choices(common, k=rng.randint(1, 5))
            yield [rng.choice(trade) if rng.random() < 0.25 else w for w in words], []
