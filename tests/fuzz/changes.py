"""Small changes to a text as people and damage make them: by line, by word, by letter."""

from __future__ import annotations

import re
from random import Random

WORDS = (
    "-1 0 1 00 012 1e9 1e999 nan inf 0.1 -0.0 999999999999 12:30 20:00 1:1.5 0:1 1:0 24:00 yes no "
    "on null ~ [] {} '' \"\" | > & * *a &a !!str !!python/name:os.system << ? - : # % @ ` "
    '\\x00 "\\0" "\\u202e" é \U0001f600 [unk] {zone} {number} periwinkle chair true ~nosuchuser/a'
).split()
MOST_BYTES = 100_000
_SCALAR = re.compile(rb"(?<=: )[^\n#]+")
_WORD = re.compile(rb"[^\s:,\[\]{}\"']+")


def changed(data: bytes, rng: Random) -> bytes:
    """One to four changes."""
    for _ in range(rng.choice((1, 1, 2, 4))):
        change = rng.choice((_lines, _lines, _value, _value, _word, _letter, _indent))
        data = change(data, rng)[:MOST_BYTES]
    return data


def _lines(data: bytes, rng: Random) -> bytes:
    """A line taken out, written twice, or moved."""
    lines = data.split(b"\n")
    at, to = rng.randrange(len(lines)), rng.randrange(len(lines))
    match rng.randrange(3):
        case 0:
            del lines[at : at + rng.choice((1, 1, 1, 5, 40))]
        case 1:
            lines[at:at] = [lines[at]] * rng.choice((1, 1, 1, 30))
        case _:
            lines.insert(to, lines.pop(at))
    return b"\n".join(lines)


def _value(data: bytes, rng: Random) -> bytes:
    return _replaced(data, _SCALAR, rng)


def _word(data: bytes, rng: Random) -> bytes:
    return _replaced(data, _WORD, rng)


def _replaced(data: bytes, pattern: re.Pattern[bytes], rng: Random) -> bytes:
    """A value replaced by an odd one or by another of the same text."""
    found = list(pattern.finditer(data))
    if not found:
        return data + rng.choice(WORDS).encode()
    old = rng.choice(found)
    odd = rng.choice(WORDS).encode()
    new = rng.choice((odd, odd, rng.choice(found)[0], old[0] * 300, b""))
    return data[: old.start()] + new + data[old.end() :]


def _letter(data: bytes, rng: Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    new = rng.choice((b"", bytes([rng.randrange(256)]), b"\t", b"\r", b"\0", b"'", b'"', b"\xff"))
    return data[:at] + new + data[at + 1 :]


def _indent(data: bytes, rng: Random) -> bytes:
    lines = data.split(b"\n")
    at = rng.randrange(len(lines))
    lines[at] = rng.choice((b"  " + lines[at], lines[at][2:], b" " + lines[at], b"- " + lines[at]))
    return b"\n".join(lines)
