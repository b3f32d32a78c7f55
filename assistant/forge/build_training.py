"""How does a build teach its network? A first one, an alignment by it, then the long run."""

from __future__ import annotations

from pathlib import Path

import torch

from assistant.forge import alignment, build, corpus, joined, lexicon, parts, phones, train, weights
from assistant.forge.build import Order
from assistant.forge.network import Network

DROPOUT = 0.08
NOISE = "noise"
FIRST, REST = 0.25, 0.45  # shares of the minutes; the synthesiser has the others


def threads(order: Order) -> None:
    if order.device == "cpu":
        torch.set_num_threads(order.processes)


def noise(order: Order) -> Path | None:
    index = order.folder / "corpus" / f"{NOISE}.jsonl"
    return index if index.exists() else None


def plan(order: Order, out: str, minutes: float, begin: float, end: float) -> train.Plan:
    folders = (order.folder / "speech", order.folder / "aligned")
    seconds = 15.0 if order.smoke else 360.0
    return train.Plan(
        folders, noise(order), order.folder / out, minutes, begin, end,
        batch_seconds=seconds, seed=order.seed, device=order.device,
    )  # fmt: skip


def first(order: Order) -> float:
    """Minutes spent; a network to start from needs none."""
    threads(order)
    start = build.SHIPPED if order.smoke else order.start
    target = order.folder / "first.pt"
    if start is not None:
        network = weights.read_network((start / "am" / "final.mdl").read_bytes())
        torch.save(network.state_dict(), target)
        return 0.0
    korean = parts.korean_acoustic_model(order.parts)
    network = weights.from_korean(korean, phones.OUTPUT_COUNT, DROPOUT)
    trainer = train.Trainer(network, plan(order, "first", FIRST * order.minutes, 0.0, 0.4))
    trainer.run()
    torch.save(trainer.average, target)
    return FIRST * order.minutes


def network_at(path: Path) -> Network:
    network = Network(phones.OUTPUT_COUNT, DROPOUT)
    network.load_state_dict(torch.load(path, map_location="cpu", weights_only=True))
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
    threads(order)
    network = network_at(order.folder / "first.pt")
    trainer = train.Trainer(network, plan(order, "long", REST * order.minutes, 0.3, 1.0))
    trainer.run()
    torch.save(trainer.average, order.folder / "taught.pt")
    network.load_state_dict(trainer.average)
    folders = [order.folder / "aligned"]
    return round(train.judge(network, folders, noise(order), order.device), 4)


def export(order: Order) -> None:
    weights.write_acoustic_model(network_at(order.folder / "taught.pt"), order.model)
