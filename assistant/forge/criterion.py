"""How wrong is the network on a batch? Per frame first, then over whole sequences.

The sequence criterion is lattice-free MMI: the score of what was said (all ways to place its
phones in time, silence between words optional) against the score of everything that could have
been said under a phone trigram. Both are forward recursions over time, in PyTorch.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import torch
from torch import Tensor

from assistant.forge import phones

NEVER = -1e30
SILENCE_AT_EDGE, SILENCE_BETWEEN = 0.95, 0.2
WordPhones = Sequence[tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Supervision:
    """What was said, row by row: phones, cost of entering each, cost of entering past a silence."""

    phone: Tensor
    enter: Tensor
    skip: Tensor
    count: Tensor


def supervise(batch: Sequence[WordPhones], device: torch.device) -> Supervision:
    """Silence may stand at both ends and between words."""
    rows = [with_silences(words) for words in batch]
    width = max(len(row) for row in rows)
    phone = np.zeros((len(rows), width), np.int64)
    enter = np.full((len(rows), width), NEVER, np.float32)
    skip = np.full((len(rows), width), NEVER, np.float32)
    for r, row in enumerate(rows):
        for u, (number, chance) in enumerate(row):
            phone[r, u] = number
            enter[r, u] = math.log(chance) if chance < 1 else 0.0
            if u and row[u - 1][1] < 1:
                skip[r, u] = math.log(1 - row[u - 1][1])
    counts = np.array([len(row) for row in rows])
    made = (torch.from_numpy(a).to(device) for a in (phone, enter, skip, counts))
    return Supervision(*made)


def with_silences(words: WordPhones) -> list[tuple[int, float]]:
    """(phone, chance of being there); 1 for all that is not an optional silence."""
    row: list[tuple[int, float]] = [(phones.SILENCE, SILENCE_AT_EDGE)]
    for place, word in enumerate(words):
        row += [(number, 1.0) for number in word]
        between = place + 1 < len(words)
        row.append((phones.SILENCE, SILENCE_BETWEEN if between else SILENCE_AT_EDGE))
    return row


def said(outputs: Tensor, frames: Tensor, what: Supervision) -> Tensor:
    """Log score of what was said: a forward recursion over its phones."""
    rows, steps, _ = outputs.shape
    width = what.phone.shape[1]
    index = (what.phone - 1).clamp(min=0)[:, None, :].expand(rows, steps, width)
    entering = outputs[:, :, 0::2].gather(2, index)
    staying = outputs[:, :, 1::2].gather(2, index)
    alive = torch.full((rows, width), NEVER, device=outputs.device)
    alive[:, 0] = what.enter[:, 0]
    alive[:, 1] = what.skip[:, 1]
    alive = alive + entering[:, 0]
    one = torch.full((rows, 1), NEVER, device=outputs.device)
    two = torch.full((rows, 2), NEVER, device=outputs.device)
    for t in range(1, steps):
        step = torch.cat([one, alive[:, :-1]], 1) + what.enter
        past = torch.cat([two, alive[:, :-2]], 1) + what.skip
        moved = torch.logaddexp(step, past) + entering[:, t]
        fresh = torch.logaddexp(alive + staying[:, t], moved).clamp(min=NEVER)
        alive = torch.where((t < frames)[:, None], fresh, alive)
    last = what.count - 1
    ends = alive.gather(1, last[:, None])[:, 0]
    before = alive.gather(1, (last - 1).clamp(min=0)[:, None])[:, 0] + math.log(1 - SILENCE_AT_EDGE)
    return torch.logaddexp(ends, torch.where(last > 0, before, torch.full_like(before, NEVER)))


class Anything:
    """Log score of everything a phone trigram allows."""

    def __init__(self, trigram: Tensor) -> None:
        self.first = trigram[0, 0]
        self.onward = trigram[:, 1:, :].permute(1, 0, 2).contiguous()  # (now, before, next)

    def score(self, outputs: Tensor, frames: Tensor) -> Tensor:
        rows, steps, _ = outputs.shape
        number = self.first.shape[0]
        highest = outputs.amax(2).detach()
        entering = torch.exp(outputs[:, :, 0::2] - highest[..., None])
        staying = torch.exp(outputs[:, :, 1::2] - highest[..., None])
        nobody = torch.zeros(rows, number, number, device=outputs.device)
        alive = torch.cat([(self.first[None] * entering[:, 0])[:, None, :], nobody], 1)
        total = alive.sum((1, 2))
        score = torch.log(total) + highest[:, 0]
        alive = alive / total[:, None, None]
        for t in range(1, steps):
            moved = torch.bmm(alive.permute(2, 0, 1), self.onward).permute(1, 0, 2)
            stayed = alive * staying[:, t][:, None, :]
            fresh = torch.cat(
                [stayed[:, :1], stayed[:, 1:] + moved * entering[:, t][:, None, :]], 1
            )
            total = fresh.sum((1, 2))
            going = t < frames
            score = score + torch.where(going, torch.log(total) + highest[:, t], 0.0)
            alive = torch.where(going[:, None, None], fresh / total[:, None, None], alive)
        return score


def phone_trigram(lines: Iterable[WordPhones], rng: random.Random) -> Tensor:
    """Chances (before last, last, next), 0 for 'nothing yet'; smoothed by shorter histories."""
    number = phones.PHONE_COUNT
    seen = np.zeros((number + 1, number + 1, number + 1))
    for words in lines:
        row = [p for p, chance in with_silences(words) if rng.random() < chance]
        history = [0, 0, *row]
        for a, b, c in zip(history, history[1:], history[2:], strict=False):
            seen[a, b, c] += 1
    seen[0, 0, phones.SILENCE] += 0.02 * seen[0, 0].sum()
    three = seen[:, :, 1:]
    two = three.sum(0)
    one = (two.sum(0) + 1) / (two.sum() + number)
    two = (two + 20 * one) / (two.sum(1, keepdims=True) + 20)
    three = (three + 8 * two[None]) / (three.sum(2, keepdims=True) + 8)
    return torch.tensor(three, dtype=torch.float32)


def frame_targets(
    placed: Sequence[tuple[int, float, float]], steps: int, lead: float, rate: float
) -> np.ndarray:
    """The output number of every frame, from phone places moved by a lead and a change of speed."""
    target = np.full(steps, phones.stay_output(phones.SILENCE), np.int64)
    target[0] = phones.enter_output(phones.SILENCE)
    earliest, ended = 0, -1
    for number, start, end in placed:
        first = max(earliest, round((lead + start / rate) / 0.03))
        after = max(first + 1, round((lead + end / rate) / 0.03))
        if first >= steps:
            break
        if 0 <= ended < first:
            target[ended] = phones.enter_output(phones.SILENCE)
        target[first:after] = phones.stay_output(number)
        target[first] = phones.enter_output(number)
        earliest, ended = first + 1, after
    if 0 <= ended < steps:
        target[ended] = phones.enter_output(phones.SILENCE)
    return target
