"""What is the training data at this moment? All samples on the device, batches drawn from them."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from assistant.forge import corpus
from assistant.forge.corpus import RATE, Clip, Placed

SHARE = {"wakewords": 0.4, "precise_community": 0.4, "commands": 0.4, "joined": 0.4}
SYNTHETIC = "synthetic"
SYNTHETIC_SHARE = 1.2  # seconds for every second of people, in each round
LONGEST = 5.0  # seconds
WordPhones = list[tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Item:
    """One clip to learn from: where its samples lie and what is said in them."""

    source: str
    start: int
    length: int
    placed: list[Placed]
    words: WordPhones

    @property
    def seconds(self) -> float:
        return self.length / RATE


def item(clip: Clip, start: int) -> Item:
    ends = np.cumsum([0, *clip.word_lengths])
    numbers = [n for n, _, _ in clip.phones]
    words = [tuple(numbers[a:b]) for a, b in itertools.pairwise(ends)]
    return Item(clip.source, start, clip.length, clip.phones, words)


class Shelf:
    """Grows while training runs: files that were finished since the last look are added."""

    def __init__(self, device: torch.device, splits: Sequence[str] = ("train",)) -> None:
        self.device = device
        self.splits = splits
        self.samples = torch.zeros(0, dtype=torch.int16, device=device)
        self.items: list[Item] = []
        self.read: set[Path] = set()

    def look(self, folders: Sequence[Path]) -> int:
        """Read new index files; returns how many clips came in."""
        before = len(self.items)
        pieces = [self.samples]
        total = len(self.samples)
        fresh = (p for f in folders for p in sorted(f.glob("*.jsonl")) if p not in self.read)
        for index in fresh:
            self.read.add(index)
            whole = torch.from_numpy(corpus.read_samples(index))
            for clip in corpus.read_index(index):
                good = clip.phones and 0.3 < clip.seconds < LONGEST
                if (
                    good
                    and clip.split in self.splits
                    and sum(clip.word_lengths) == len(clip.phones)
                ):
                    self.items.append(item(clip, total + clip.offset))
            pieces.append(whole.to(self.device))
            total += len(whole)
        if len(pieces) > 1:
            self.samples = torch.cat(pieces)
        return len(self.items) - before

    def hours(self) -> dict[str, float]:
        found: dict[str, float] = {}
        for each in self.items:
            found[each.source] = found.get(each.source, 0.0) + each.seconds / 3600
        return found

    def batches(self, seconds: float) -> Iterator[list[Item]]:
        """One round: clips of like length together, batches in random order."""
        people = [i for i in self.items if i.source != SYNTHETIC]
        chosen = [i for i in people if random.random() < SHARE.get(i.source, 1.0)]
        made = [i for i in self.items if i.source == SYNTHETIC]
        wanted = SYNTHETIC_SHARE * sum(i.seconds for i in chosen) if chosen else math.inf
        share = min(1.0, wanted / (sum(i.seconds for i in made) + 1e-9))
        chosen += [i for i in made if random.random() < share]
        chosen.sort(key=lambda i: i.length + random.random() * 8000)
        batches: list[list[Item]] = []
        batch: list[Item] = []
        for each in chosen:
            if batch and (len(batch) + 1) * (each.seconds + 0.6) > seconds:
                batches.append(batch)
                batch = []
            batch.append(each)
        if len(batch) > 4:
            batches.append(batch)
        random.shuffle(batches)
        yield from batches

    def sound(self, batch: Sequence[Item]) -> Tensor:
        """The clips of a batch as rows in [-1, 1], padded with zeros."""
        longest = max(i.length for i in batch)
        place = torch.arange(longest, device=self.device)[None]
        start = torch.tensor([i.start for i in batch], device=self.device)[:, None]
        length = torch.tensor([i.length for i in batch], device=self.device)[:, None]
        rows = self.samples[(start + place).clamp(max=len(self.samples) - 1)]
        return rows.float() / 32768 * (place < length)
