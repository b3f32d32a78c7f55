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
from typing import Any

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

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
    made = [torch.from_numpy(a) for a in (phone, enter, skip, counts)]
    if device.type == "cuda":  # without waiting for what the device is still doing
        made = [m.pin_memory().to(device, non_blocking=True) for m in made]
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
    """Log score of what was said, all ways to place its phones in time together."""
    rows, steps, _ = outputs.shape
    index = (what.phone - 1).clamp(min=0)[:, None, :].expand(rows, steps, -1)
    over = (torch.arange(steps, device=outputs.device)[None] >= frames[:, None])[..., None]
    entering = outputs[:, :, 0::2].gather(2, index).masked_fill(over, NEVER)
    staying = outputs[:, :, 1::2].gather(2, index).masked_fill(over, 0.0)
    score: Tensor = Paths.apply(entering, staying, what)  # type: ignore[no-untyped-call]
    return score


class Paths(torch.autograd.Function):
    """Forward and backward recursion over time; their product is the gradient."""

    @staticmethod
    def forward(  # type: ignore[override]
        context: Any, entering: Tensor, staying: Tensor, what: Supervision
    ) -> Tensor:
        rows, steps, width = entering.shape
        enter, stay = entering.transpose(0, 1).contiguous(), staying.transpose(0, 1).contiguous()
        alive = entering.new_full((steps, rows, width + 2), NEVER)
        begin = entering.new_full((rows, width), NEVER)
        begin[:, 0], begin[:, 1] = what.enter[:, 0], what.skip[:, 1]
        alive[0, :, 2:] = begin + enter[0]
        for t in range(1, steps):
            before = alive[t - 1]
            moved = torch.logaddexp(before[:, 1:-1] + what.enter, before[:, :-2] + what.skip)
            torch.logaddexp(before[:, 2:] + stay[t], moved.add_(enter[t]), out=alive[t, :, 2:])
        last = last_scores(what, rows, width, entering)
        score = torch.logsumexp(alive[-1, :, 2:] + last, 1)
        context.kept = (alive[:, :, 2:], enter, stay, what, last, score)
        return score

    @staticmethod
    def backward(context: Any, wanted: Tensor) -> tuple[Tensor, Tensor, None]:  # type: ignore[override]
        alive, enter, stay, what, last, score = context.kept
        steps, rows, width = alive.shape
        ahead = alive.new_full((steps, rows, width + 2), NEVER)
        ahead[-1, :, :-2] = last
        onward = functional.pad(what.enter, (0, 2), value=NEVER)[:, 1:-1]
        beyond = functional.pad(what.skip, (0, 2), value=NEVER)[:, 2:]
        reached = alive.new_full((rows, width + 2), NEVER)
        for t in range(steps - 1, 0, -1):
            after = ahead[t, :, :-2]
            torch.add(after, enter[t], out=reached[:, :-2])
            moved = torch.logaddexp(reached[:, 1:-1] + onward, reached[:, 2:] + beyond)
            torch.logaddexp(after + stay[t], moved, out=ahead[t - 1, :, :-2])
        ahead = ahead[:, :, :-2]
        here = torch.exp((alive + ahead - score[:, None]).clamp(max=0.0))
        stayed = torch.zeros_like(here)
        stayed[1:] = torch.exp((alive[:-1] + stay[1:] + ahead[1:] - score[:, None]).clamp(max=0.0))
        entered = (here - stayed).clamp(min=0)
        gain = wanted[:, None, None]
        return entered.transpose(0, 1) * gain, stayed.transpose(0, 1) * gain, None


def last_scores(what: Supervision, rows: int, width: int, like: Tensor) -> Tensor:
    """What may stand at the end: the closing silence, or the phone before it."""
    found = like.new_full((rows, width), NEVER)
    last = (what.count - 1)[:, None]
    found.scatter_(1, (last - 1).clamp(min=0), math.log(1 - SILENCE_AT_EDGE))
    return found.scatter_(1, last, 0.0)


class Anything:
    """Log score of everything a phone trigram allows."""

    def __init__(self, trigram: Tensor) -> None:
        self.first = trigram[0, 0]
        self.onward = trigram[:, 1:, :].permute(1, 0, 2).contiguous()  # (now, before, next)

    def score(self, outputs: Tensor, frames: Tensor) -> Tensor:
        steps = outputs.shape[1]
        over = (torch.arange(steps, device=outputs.device)[None] >= frames[:, None])[..., None]
        highest = outputs.amax(2, keepdim=True).detach().masked_fill(over, 0.0)
        entering = torch.exp(outputs[:, :, 0::2] - highest).masked_fill(over, 0.0)
        staying = torch.exp(outputs[:, :, 1::2] - highest).masked_fill(over, 1.0)
        score: Tensor = Loops.apply(entering, staying, self.first, self.onward)  # type: ignore[no-untyped-call]
        return score + highest.sum((1, 2))


class Loops(torch.autograd.Function):
    """Forward and backward over all phone strings; a state is (now, row, before)."""

    @staticmethod
    def forward(  # type: ignore[override]
        context: Any, entering: Tensor, staying: Tensor, first: Tensor, onward: Tensor
    ) -> Tensor:
        rows, steps, number = entering.shape
        enter = entering.permute(1, 2, 0).contiguous()  # (time, now, row)
        stay = staying.permute(1, 2, 0).contiguous()
        alive = entering.new_zeros(steps, number, rows, number + 1)
        total = entering.new_zeros(steps, rows)
        alive[0, :, :, 0] = first[:, None] * enter[0]
        total[0] = alive[0].sum((0, 2))
        alive[0] /= total[0][:, None]
        for t in range(1, steps):
            moved = torch.bmm(alive[t - 1], onward)  # (before, row, now)
            fresh = torch.mul(alive[t - 1], stay[t][..., None], out=alive[t])
            fresh[:, :, 1:].addcmul_(moved.permute(2, 1, 0), enter[t][..., None])
            torch.sum(fresh, (0, 2), out=total[t])
            fresh /= total[t][:, None]
        context.kept = (alive, total, enter, stay, onward)
        return torch.log(total).sum(0)

    @staticmethod
    def backward(context: Any, wanted: Tensor) -> tuple[Tensor, Tensor, None, None]:  # type: ignore[override]
        alive, total, enter, stay, onward = context.kept
        steps = len(alive)
        gain_enter, gain_stay = torch.zeros_like(enter), torch.zeros_like(stay)
        back = onward.transpose(1, 2).contiguous()  # (now, next, before)
        ahead = torch.ones_like(alive[0])
        for t in range(steps - 1, 0, -1):
            ahead /= total[t][:, None]
            torch.sum(alive[t - 1] * ahead, 2, out=gain_stay[t])
            reached = ahead[:, :, 1:].permute(2, 1, 0)  # (now before the move, row, next)
            moved = torch.bmm(alive[t - 1], onward)
            torch.sum((moved * reached).permute(2, 1, 0), 2, out=gain_enter[t])
            pulled = torch.bmm(reached * enter[t].T[None], back)
            ahead = torch.addcmul(pulled, ahead, stay[t][..., None])
        ahead /= total[0][:, None]
        gain_enter[0] = ahead[:, :, 0] * alive[0, :, :, 0] * total[0] / enter[0].clamp(min=1e-30)
        entered, stayed = gain_enter * wanted, gain_stay * wanted
        return entered.permute(2, 0, 1), stayed.permute(2, 0, 1), None, None


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
