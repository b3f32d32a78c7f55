"""How is a corpus of real recordings aligned and cut? With the best model there is so far.

Run once with the first model and again with a better one: every clip becomes pieces of a few
seconds, cut between words, with the place of every phone. What fits its words badly is left out.
"""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import numpy as np
import torch

from assistant.forge import align, corpus, phones
from assistant.forge.corpus import Clip, Samples
from assistant.forge.network import Features, Network

log = logging.getLogger("forge")
LONGEST_PIECE = 3.4
WORST_FIT = -4.0  # nats below the best phone, mean over the speech; worse is often mislabelled
Job = tuple[align.Scores, list[str], dict[str, list[tuple[str, ...]]]]


def scores_of(
    network: Network, clips: Sequence[Clip], samples: Samples, device: str, seconds: float = 240
) -> Iterator[align.Scores]:
    """Log probabilities of all outputs for every clip, in order; batches of about `seconds`."""
    features = Features().to(device)
    network = network.to(device).eval()
    order = sorted(range(len(clips)), key=lambda k: clips[k].length)
    found: dict[int, align.Scores] = {}
    batch: list[int] = []
    for place, k in enumerate(order):
        batch.append(k)
        full = len(batch) * clips[k].seconds > seconds
        if full or place + 1 == len(order):
            found.update(zip(batch, batch_scores(network, features, [clips[b] for b in batch],
                                                 samples, device), strict=True))  # fmt: skip
            batch = []
    yield from (found[k] for k in range(len(clips)))


@torch.no_grad()
def batch_scores(
    network: Network, features: Features, clips: Sequence[Clip], samples: Samples, device: str
) -> list[align.Scores]:
    longest = max(c.length for c in clips)
    waves = np.zeros((len(clips), longest), np.float32)
    for row, clip in enumerate(clips):
        waves[row, : clip.length] = samples[clip.offset : clip.offset + clip.length]
    sound = torch.from_numpy(waves).to(device)
    sound = sound + torch.randn_like(sound)
    out = torch.log_softmax(network(features(sound)).float(), -1).cpu().numpy()
    frames = [max(1, ((c.length - 400) // 160 + 3) // 3) for c in clips]
    return [out[row, :count] for row, count in enumerate(frames)]


def run_job(job: Job) -> align.Alignment | None:
    scores, words, ways = job
    return align.align(scores, words, ways) if len(scores) > 8 else None


def align_corpus(
    index: Path, target: Path, network: Network, ways: align.Ways, device: str, processes: int,
    worst: float = WORST_FIT, splits: Sequence[str] = ("train", "tune", "test"),
) -> None:  # fmt: skip
    """Align one corpus file and write its pieces under `target`."""
    clips = [c for c in corpus.read_index(index) if c.words and c.split in splits]
    samples = corpus.read_samples(index)
    writer = corpus.Writer(target)
    kept = dropped = 0
    jobs = (
        (s, c.words, {w: list(ways.get(w, ())) for w in c.words})
        for c, s in zip(clips, scores_of(network, clips, samples, device), strict=True)
    )
    with contextlib.ExitStack() as stack:
        placed: Iterable[align.Alignment | None] = map(run_job, jobs)
        if processes > 1:
            pool = stack.enter_context(multiprocessing.get_context("spawn").Pool(processes))
            placed = pool.imap(run_job, jobs, chunksize=16)
        for clip, found in zip(clips, placed, strict=True):
            if found is None or found.fit < worst:
                dropped += 1
                continue
            kept += write_pieces(writer, clip, found, samples)
    writer.close()
    log.info("%s: %d pieces, %.0f s, %d clips dropped", index.stem, kept, writer.seconds, dropped)


def write_pieces(
    writer: corpus.Writer, clip: Clip, found: align.Alignment, samples: Samples
) -> int:
    ends = np.cumsum([0, *found.word_lengths])
    written = 0
    pieces = align.cut(found.phones, found.word_lengths, clip.seconds, LONGEST_PIECE)
    for first, last, start, end in pieces:
        placed = found.phones[ends[first] : ends[last]]
        if any(number == phones.SPOKEN_NOISE for number, _, _ in placed):
            continue
        a, b = int(start * corpus.RATE), int(end * corpus.RATE)
        piece = samples[clip.offset + a : clip.offset + min(b, clip.length)]
        moved = [(n, s - a / corpus.RATE, e - a / corpus.RATE) for n, s, e in placed]
        words = " ".join(clip.words[first:last])
        writer.add(piece, words, clip.speaker, clip.split, moved, found.word_lengths[first:last])
        written += 1
    return written
