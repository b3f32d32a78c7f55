"""How is speech kept between the stages? Plain samples in one file, one JSON line per clip.

`NAME.raw` holds 16 kHz int16 samples end to end; `NAME.jsonl` says for every clip where it lies,
what is said, by whom, in which split, and (when known) every phone with its start and end in
seconds, and how many phones each word has.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

Samples = npt.NDArray[np.int16]
Placed = tuple[int, float, float]
RATE = 16000


@dataclass(frozen=True, slots=True)
class Clip:
    """One entry of a corpus file."""

    source: str
    offset: int
    length: int
    text: str
    speaker: str
    split: str
    phones: list[Placed] = field(default_factory=list)
    word_lengths: list[int] = field(default_factory=list)

    @property
    def seconds(self) -> float:
        return self.length / RATE

    @property
    def words(self) -> list[str]:
        return self.text.split()


class Writer:
    """Appends clips to one pair of files."""

    def __init__(self, target: Path) -> None:
        target.parent.mkdir(parents=True, exist_ok=True)
        self.samples = target.with_suffix(".raw").open("wb")
        self.target = target
        self.unfinished = target.with_suffix(".part")
        self.index = self.unfinished.open("w", encoding="utf-8")
        self.offset = 0

    def add(
        self,
        samples: Samples,
        text: str,
        speaker: str,
        split: str,
        phones: Sequence[Placed] = (),
        word_lengths: Sequence[int] = (),
    ) -> None:
        entry = {
            "offset": self.offset, "length": len(samples), "text": text, "speaker": speaker,
            "split": split, "phones": [[p, round(a, 4), round(b, 4)] for p, a, b in phones],
            "word_lengths": list(word_lengths),
        }  # fmt: skip
        samples.tofile(self.samples)
        self.index.write(json.dumps(entry) + "\n")
        self.offset += len(samples)

    @property
    def seconds(self) -> float:
        return self.offset / RATE

    def close(self) -> None:
        """Only now the index gets its name: who reads it finds all samples there."""
        self.samples.close()
        self.index.close()
        self.unfinished.replace(self.target.with_suffix(".jsonl"))


def read_index(path: Path) -> Iterator[Clip]:
    """The clips of one index; the source is the file's name without its number."""
    source = path.stem.rstrip("0123456789")
    with path.open(encoding="utf-8") as file:
        for line in file:
            entry = json.loads(line)
            placed = [(int(p), float(a), float(b)) for p, a, b in entry.pop("phones")]
            yield Clip(source=source, phones=placed, **entry)


def read_samples(path: Path) -> Samples:
    return np.fromfile(path.with_suffix(".raw"), np.int16)
