"""How is the acoustic model taught? Frames first, then sequences, on ever harder sound.

Resumable; runs on a GPU or (slowly, for a small test) on a CPU. New files in its folders are taken
up while it runs, so synthesis and training can share a machine.
"""

from __future__ import annotations

import logging
import math
import random
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from assistant.errors import ConfigError
from assistant.forge import augment, criterion
from assistant.forge.corpus import RATE, read_index, read_samples
from assistant.forge.network import Features, Network
from assistant.forge.shelf import Item, Shelf

log = logging.getLogger("forge")
FRAMES_WEIGHT = 0.12  # of the frame criterion beside the sequence criterion
SHRINK = 5e-4  # on the squared outputs in the sequence stage


@dataclass(frozen=True, slots=True)
class Plan:
    """One run: where on the whole road it starts and ends (0 to 1), and how fast it goes."""

    folders: tuple[Path, ...]
    noise: Path | None
    out: Path
    minutes: float
    begin: float = 0.0
    end: float = 1.0
    rate: float = 4e-4
    sequence_from: float = 0.4
    batch_seconds: float = 360.0
    look_every: float = 45.0
    seed: int = 1
    device: str = "cpu"
    deadline: float = math.inf  # stop and save then, wherever it is


@dataclass(frozen=True, slots=True)
class Batch:
    """Features and all that is known about them."""

    features: Tensor
    frames: Tensor
    targets: Tensor
    words: list[list[tuple[int, ...]]]


class Trainer:
    """Network, its running average, optimiser and data."""

    def __init__(self, network: Network, plan: Plan) -> None:
        self.device = torch.device(plan.device)
        random.seed(plan.seed)
        torch.manual_seed(plan.seed)
        self.plan = plan
        self.network = network.to(self.device)
        self.average = {k: v.detach().clone() for k, v in network.state_dict().items()}
        self.features = Features().to(self.device)
        self.optimiser = torch.optim.AdamW(
            groups(network, plan.rate), betas=(0.9, 0.98), fused=self.device.type == "cuda"
        )
        self.step = 0
        self.shelf = Shelf(self.device)
        self.noises = read_noises(plan.noise, self.device) if plan.noise else None
        self.anything: criterion.Anything | None = None
        self.said: dict[str, list[Tensor]] = {}

    # ------------------------------------------------------------------ the road
    def run(self) -> None:
        started = looked = time.time()
        self.take_up()
        if next(self.shelf.batches(self.plan.batch_seconds), None) is None:
            raise ConfigError(f"nothing to learn from in {self.plan.folders}: make speech first")
        progress = self.plan.begin
        while progress < self.plan.end:
            for items in self.shelf.batches(self.plan.batch_seconds):
                passed = (time.time() - started) / (60 * self.plan.minutes)
                progress = self.plan.begin + (self.plan.end - self.plan.begin) * passed
                if progress >= self.plan.end or time.time() > self.plan.deadline:
                    progress = self.plan.end
                    break
                self.learn(items, progress)
                if self.step % 50 == 0:
                    self.report(progress)
            if time.time() - looked > self.plan.look_every:
                self.take_up()
                looked = time.time()
                self.save()
        self.save()

    def take_up(self) -> None:
        """Look for new data; the phone trigram follows it."""
        if self.shelf.look(self.plan.folders):
            hours = {k: round(v, 2) for k, v in self.shelf.hours().items()}
            log.info("data (hours): %s", hours)
            lines = random.sample(self.shelf.items, min(20000, len(self.shelf.items)))
            trigram = criterion.phone_trigram((i.words for i in lines), random.Random(1))
            self.anything = criterion.Anything(trigram.to(self.device))

    # ------------------------------------------------------------------ one step
    def learn(self, items: list[Item], progress: float) -> None:
        self.set_rate(progress)
        hardness = min(1.0, 0.25 + 3 * progress)
        batch = make_batch(self.shelf, items, self.noises, self.features, hardness)
        with torch.autocast(self.device.type, torch.bfloat16, enabled=self.device.type == "cuda"):
            outputs = self.network(batch.features)
        loss = self.loss(outputs.float(), batch, progress)
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()  # type: ignore[no-untyped-call]
        torch.nn.utils.clip_grad_norm_(self.network.parameters(), 5.0)
        self.optimiser.step()
        self.network.keep_gains_positive()
        self.step += 1
        self.remember()

    def loss(self, outputs: Tensor, batch: Batch, progress: float) -> Tensor:
        steps = batch.targets.shape[1]
        outputs = outputs[:, :steps]
        flat = functional.cross_entropy(
            outputs.reshape(-1, outputs.shape[-1]), batch.targets.reshape(-1), ignore_index=-1
        )
        spoken = batch.targets >= 4
        right = (outputs.argmax(-1) == batch.targets) & spoken
        self.note("frames_right", right.sum() / spoken.sum().clamp(min=1))
        self.note("frame_loss", flat)
        if progress < self.plan.sequence_from or self.anything is None:
            return flat
        what = criterion.supervise(batch.words, self.device)
        needed = what.count - (what.phone == 1).sum(1) + 2
        possible = batch.frames > needed
        gap = criterion.said(outputs, batch.frames, what) - self.anything.score(
            outputs, batch.frames
        )
        per_frame = torch.where(possible, gap / batch.frames, 0.0)
        sequence = -per_frame.sum() / possible.sum().clamp(min=1)
        self.note("sequence_loss", sequence)
        return sequence + FRAMES_WEIGHT * flat + SHRINK * outputs.square().mean()

    def set_rate(self, progress: float) -> None:
        """Warm up, hold, then a cosine down to a fiftieth; a new output moves first and faster."""
        down = max(0.0, (progress - 0.3) / 0.7)
        scale = 0.5 * (1 + math.cos(math.pi * min(1.0, down))) * 0.98 + 0.02
        scale *= min(1.0, (self.step + 1) / 100)
        fresh = self.plan.begin == 0 and self.step < 150
        for group in self.optimiser.param_groups:
            boost = (8.0 if group["output"] else 0.0 if self.step < 25 else 0.5) if fresh else 1.0
            group["lr"] = group["base"] * scale * boost

    @torch.no_grad()
    def remember(self) -> None:
        keep = min(0.999, self.step / (self.step + 20))
        now = self.network.state_dict()
        torch._foreach_lerp_([self.average[n] for n in now], list(now.values()), 1 - keep)

    def note(self, name: str, value: Tensor) -> None:
        self.said.setdefault(name, []).append(value.detach())

    def report(self, progress: float) -> None:
        means = {k: round(float(torch.stack(v).mean()), 4) for k, v in self.said.items()}
        self.said = {}
        if not all(math.isfinite(m) for m in means.values()):
            log.info("step %d: not finite, back to the average", self.step)
            self.network.load_state_dict(self.average)
        log.info("step %d at %.3f: %s", self.step, progress, means)

    def save(self) -> None:
        self.plan.out.mkdir(parents=True, exist_ok=True)
        state = {
            "network": self.network.state_dict(), "average": self.average,
            "optimiser": self.optimiser.state_dict(), "step": self.step,
        }  # fmt: skip
        torch.save(state, self.plan.out / "training.part")
        (self.plan.out / "training.part").replace(self.plan.out / "training.pt")

    def resume(self, path: Path) -> None:
        state: dict[str, Any] = torch.load(path, map_location=self.device, weights_only=True)
        self.network.load_state_dict(state["network"])
        self.average = state["average"]
        self.optimiser.load_state_dict(state["optimiser"])
        for group in self.optimiser.param_groups:
            group["base"] = group["lr_base"] * self.plan.rate
        self.step = state["step"]


def groups(network: Network, rate: float) -> list[dict[str, Any]]:
    """The first layer sees raw MFCCs: its weights are small and move slowly; the output is new."""
    found: dict[float, list[nn.Parameter]] = {}
    for name, parameter in network.named_parameters():
        factor = 0.04 if name.startswith("first.") else 3.0 if name.startswith("output") else 1.0
        found.setdefault(factor, []).append(parameter)
    return [
        {"params": parameters, "lr": rate * factor, "base": rate * factor, "lr_base": factor,
         "output": factor == 3.0, "weight_decay": 1e-4}
        for factor, parameters in found.items()
    ]  # fmt: skip


def to_device(array: np.ndarray, device: torch.device) -> Tensor:
    """Without waiting for what the device is still doing."""
    tensor = torch.from_numpy(np.ascontiguousarray(array))
    return tensor.pin_memory().to(device, non_blocking=True) if device.type == "cuda" else tensor


def read_noises(index: Path, device: torch.device) -> augment.Noises:
    whole = read_samples(index)
    clips = [c for c in read_index(index) if c.split == "train"]
    pieces = [torch.from_numpy(whole[c.offset : c.offset + c.length]).to(device) for c in clips]
    return augment.Noises(pieces)


def make_batch(
    shelf: Shelf,
    items: Sequence[Item],
    noises: augment.Noises | None,
    features: Features,
    hardness: float,
) -> Batch:
    """Speed, silence around the speech, augmentation, features and frame targets."""
    device = shelf.device
    silent = max(1, len(items) // 25)  # rows in which nobody speaks
    drawn = [random.uniform(0.86, 1.17) for _ in items]
    rates = to_device(np.array(drawn, np.float32)[:, None], device)
    sound = augment.change_speed(shelf.sound(items), rates, min(drawn))
    lasts = [i.length / r for i, r in zip(items, drawn, strict=True)]
    leads = [random.randint(0, 5600) for _ in items]
    tails = [random.randint(1600, 9600) for _ in items]
    whole = [int(a + b + c) for a, b, c in zip(leads, lasts, tails, strict=True)]
    rows = torch.zeros(len(items) + silent, max(whole), device=device)
    place = torch.arange(rows.shape[1], device=device)[None]
    inner = place - to_device(np.array(leads)[:, None], device)
    inside = (inner >= 0) & (inner < to_device(np.array(lasts)[:, None], device))
    rows[: len(items)] = sound.gather(1, inner.clamp(0, sound.shape[1] - 1)) * inside
    speech = torch.ones_like(rows)
    speech[: len(items)] = inside.float()
    whole += [rows.shape[1]] * silent
    heard = augment.augment(rows, speech, noises, hardness)
    log_mel = features.log_mel(heard + torch.randn_like(heard), warped=True)
    found = augment.mask(log_mel) @ features.cosine
    count = [(n - 400) // 160 + 1 for n in whole]
    found = repeat_last(found, to_device(np.array(count), device))
    steps = [(c + 2) // 3 for c in count]
    targets = np.full((len(whole), max(steps)), -1, np.int64)
    for row, number in enumerate(steps):
        if row < len(items):
            lead, rate = leads[row] / RATE, drawn[row]
            placed = items[row].placed
            targets[row, :number] = criterion.frame_targets(placed, number, lead, rate)
        else:
            targets[row, :number] = criterion.frame_targets([], number, 0.0, 1.0)
    words: list[list[tuple[int, ...]]] = [i.words for i in items] + [[] for _ in range(silent)]
    made = to_device(targets, device)
    return Batch(found, to_device(np.array(steps), device), made, words)


def repeat_last(features: Tensor, count: Tensor) -> Tensor:
    """Past its end a row repeats its last frame, as Kaldi does at the end of an utterance."""
    place = torch.arange(features.shape[1], device=features.device)[None]
    place = torch.minimum(place.expand(len(count), -1), (count - 1)[:, None])
    return features.gather(1, place[..., None].expand(-1, -1, features.shape[2]))


@torch.no_grad()
def judge(
    network: Network, folders: Sequence[Path], noise: Path | None, device_name: str, seed: int = 7
) -> float:
    """Mean frame loss on the tuning speakers in middling sound, a fixed draw; lower is better."""
    device = torch.device(device_name)
    random.seed(seed)
    torch.manual_seed(seed)
    shelf = Shelf(device, ("tune",))
    shelf.look(folders)
    noises = read_noises(noise, device) if noise else None
    features = Features().to(device)
    network = network.to(device).eval()
    losses = []
    for items in shelf.batches(200.0):
        batch = make_batch(shelf, items, noises, features, 0.6)
        outputs = network(batch.features)[:, : batch.targets.shape[1]]
        flat = outputs.reshape(-1, outputs.shape[-1])
        loss = functional.cross_entropy(flat, batch.targets.reshape(-1), ignore_index=-1)
        losses.append(float(loss))
    return sum(losses) / max(1, len(losses))
