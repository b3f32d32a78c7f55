"""How does a build teach its network? A first one, an alignment by it, then the long run."""

from __future__ import annotations

import logging
import multiprocessing
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

import torch

from assistant.forge import alignment, build, corpus, joined, lexicon, parts, phones, train, weights
from assistant.forge.build import Order
from assistant.forge.network import Network, widened

DROPOUT = 0.08
NOISE = "noise"
FIRST = 0.25  # of the minutes, where the start is not an English model
LEGS = ((0.3, 0.55), (0.55, 0.8), (0.8, 1.0))  # of the long road; between them the learners meet


def threads(order: Order) -> None:
    if order.device == "cpu":
        torch.set_num_threads(order.processes)


def noise(order: Order) -> Path | None:
    index = order.folder / "corpus" / f"{NOISE}.jsonl"
    return index if index.exists() else None


def plan(
    order: Order, out: str, minutes: float, begin: float, end: float, learner: int = 0
) -> train.Plan:
    folders = (order.folder / "speech", order.folder / "aligned")
    seconds = 15.0 if order.smoke else 360.0 if order.device == "cpu" else 480.0
    return train.Plan(
        folders, noise(order), order.folder / out, minutes, begin, end,
        batch_seconds=seconds, seed=order.seed + 100 * learner,
        device=order.devices[learner % len(order.devices)],
    )  # fmt: skip


def rest(order: Order) -> float:
    """Minutes for the long road."""
    return order.minutes * (1 - build.SPEAKING - (FIRST if order.start is None else 0.0))


def first(order: Order) -> float:
    """Minutes spent; a network to start from needs none."""
    threads(order)
    start = build.SHIPPED if order.smoke else order.start
    target = order.folder / "first.pt"
    if start is not None:
        network = weights.read_network((start / "am" / "final.mdl").read_bytes())
        torch.save(wide_enough(network, order).state_dict(), target)
        return 0.0
    korean = parts.korean_acoustic_model(order.parts)
    network = wide_enough(weights.from_korean(korean, phones.OUTPUT_COUNT, DROPOUT), order)
    trainer = train.Trainer(network, plan(order, "first", FIRST * order.minutes, 0.0, 0.4))
    trainer.run()
    torch.save(trainer.average, target)
    return FIRST * order.minutes


def wide_enough(network: Network, order: Order) -> Network:
    return widened(network, order.bottleneck) if order.bottleneck else network


def network_at(path: Path) -> Network:
    state = torch.load(path, map_location="cpu", weights_only=True)
    network = Network(phones.OUTPUT_COUNT, DROPOUT, len(state["layers.0.down"]))
    network.load_state_dict(state)
    network.keep_gains_positive()
    return network


def align(order: Order) -> list[str]:
    """Every source that may teach; share-alike ones and noise are left out."""
    threads(order)
    network = network_at(order.folder / "first.pt")
    known = lexicon.Lexicon()
    done = []
    for index in sorted((order.folder / "corpus").glob("*.jsonl")):
        words = {w for clip in corpus.read_index(index) for w in clip.words}
        if not words or index.stem in ("digits", "wuw2"):
            continue
        ways = {w: known.ways(w) for w in words}
        target = order.folder / "aligned" / index.stem
        alignment.align_corpus(
            index, target, network, ways, order.device, order.processes, splits=("train", "tune")
        )
        done.append(index.stem)
    if "commands" in done:
        aligned = order.folder / "aligned"
        joined.join_words(aligned / "commands.jsonl", aligned / "joined.jsonl", seed=order.seed)
    return done


def teach(order: Order) -> float:
    """The legs of the road; after each the learners' averages are averaged. Returns the loss."""
    threads(order)
    state = order.folder / "first.pt"
    for number, leg in enumerate(LEGS):
        jobs = [(order, state, number, leg, learner) for learner in range(order.learners)]
        if len(jobs) == 1:
            averages = [walk(jobs[0])]
        else:
            # A step is hundreds of small launches: one learner leaves a GPU two thirds idle.
            with multiprocessing.get_context("spawn").Pool(len(jobs)) as pool:
                averages = pool.map(walk, jobs)
        state = order.folder / f"leg{number}.pt"
        torch.save(mean(averages), state)
    shutil.copy(state, order.folder / "taught.pt")
    folders = [order.folder / "aligned"]
    return round(train.judge(network_at(state), folders, noise(order), order.device), 4)


def walk(job: tuple[Order, Path, int, tuple[float, float], int]) -> Path:
    """One learner on one leg; where its average is."""
    order, state, number, (begin, end), learner = job
    if order.learners > 1:
        torch.set_num_threads(1)  # or they wait for one another: four times slower on 32 cores
    logging.basicConfig(level=logging.INFO, format=f"{learner}: %(message)s", stream=sys.stdout)
    out = f"leg{number}-{learner}"
    minutes = rest(order) / len(LEGS)
    trainer = train.Trainer(network_at(state), plan(order, out, minutes, begin, end, learner))
    trainer.run()
    target = order.folder / f"{out}.pt"
    torch.save(trainer.average, target)
    return target


def mean(averages: Sequence[Path]) -> dict[str, torch.Tensor]:
    """Networks that began alike and saw the same kind of data lie near enough to be averaged."""
    states = [torch.load(p, map_location="cpu", weights_only=True) for p in averages]
    return {name: torch.stack([s[name] for s in states]).mean(0) for name in states[0]}


def export(order: Order) -> None:
    weights.write_acoustic_model(network_at(order.folder / "taught.pt"), order.model)
