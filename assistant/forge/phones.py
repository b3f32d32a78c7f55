"""Which sounds does the model know, and what numbers do they have in its files?

Forty ARPAbet phones (unstressed AH is its own phone, AX), silence and spoken noise. Every phone
has one state: one output on entry, one while it lasts. Kaldi numbers phones and transitions from
one and outputs from zero.
"""

from __future__ import annotations

import re

SILENCE = 1
SPOKEN_NOISE = 2
PHONES = tuple(
    "AA AE AH AX AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW "
    "V W Y Z ZH".split()
)
PHONE_ID = {phone: number for number, phone in enumerate(PHONES, start=3)}
PHONE_COUNT = 2 + len(PHONES)
OUTPUT_COUNT = 2 * PHONE_COUNT
VOWELS = frozenset("AA AE AH AX AO AW AY EH ER EY IH IY OW OY UH UW".split())


def sounds(pronunciation: str) -> tuple[str, ...]:
    """The phones of a CMUdict line: `R IH1 N S` -> R IH N S, with AH0 -> AX."""
    phones = ("AX" if p == "AH0" else re.sub(r"\d", "", p) for p in pronunciation.split())
    return tuple(phones)


def phone_ids(phones: tuple[str, ...]) -> tuple[int, ...]:
    return tuple(PHONE_ID[phone] for phone in phones)


def enter_transition(phone: int) -> int:
    """The transition that starts a phone (Kaldi: the forward arc of its one state)."""
    return 2 * phone


def stay_transition(phone: int) -> int:
    """The transition that keeps a phone going (Kaldi: its self-loop)."""
    return 2 * phone - 1


def enter_output(phone: int) -> int:
    return 2 * (phone - 1)


def stay_output(phone: int) -> int:
    return 2 * (phone - 1) + 1
