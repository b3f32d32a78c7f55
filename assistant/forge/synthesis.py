"""How is a whole set of synthetic speech made? First a script of lines, then many voices at once.

The script (JSON lines) holds everything random: words, sounds, blend, speed. Speaking it needs only
numpy and onnxruntime (or PyTorch and a GPU); it stops at a time limit and what is there by then is
used.
"""

from __future__ import annotations

import itertools
import json
import logging
import multiprocessing
import os
import random
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.forge import lexicon, spoken, texts, voices
from assistant.forge.corpus import Writer
from assistant.forge.spoken import Line, Sound

log = logging.getLogger("forge")
ENDINGS = ".....!?,"
BRITISH = 0.35  # of the speakers
GROUPS = (1, 2, 3, 4, 5)  # lines spoken in one breath
CHUNK = 150.0  # seconds of speech in one file: training may take it up while the rest is spoken


def write_script(path: Path, count: int, names: Sequence[str], seed: int) -> int:
    """Choose the lines and who says them, a few in one breath; returns how many breaths."""
    rng = random.Random(seed)
    stressed = spoken.stressed_dictionary()
    speaker = spoken.Speaker(stressed, rng)
    common = sorted(w for w in lexicon.common_words((10, 20)) if w in stressed)
    trade = sorted(w for w in lexicon.read_trade_words()[0] if w in stressed)
    allowed = sorted(set(names) - voices.CERTIFICATION - voices.HELD_FOR_TEST)
    known = (
        (words, pauses)
        for words, pauses in texts.lines(count, common, trade, rng)
        if words and all(speaker.knows(w) for w in words)
    )
    breaths_drawn = 0
    with path.open("w", encoding="utf-8") as file:
        while group := list(itertools.islice(known, rng.choice(GROUPS))):
            entry = cast(group, speaker, choose_blend(allowed, rng), rng)
            file.write(json.dumps(entry, ensure_ascii=False) + "\n")
            breaths_drawn += 1
    return breaths_drawn


def cast(
    group: Sequence[tuple[list[str], list[int]]], speaker: spoken.Speaker,
    blend: dict[str, float], rng: random.Random,
) -> dict[str, Any]:  # fmt: skip
    """One voice for a group of lines, with a speed of its own."""
    is_british = max(blend, key=lambda n: blend[n]).startswith("b")
    lines = []
    for words, pauses in group:
        said = speaker.say(words, is_british=is_british)
        sounds = [[[s.phone, s.symbols] for s in word] for word in said]
        lines.append(
            {"words": words, "sounds": sounds, "pauses": pauses, "end": rng.choice(ENDINGS)}
        )
    speed = rng.choice([rng.uniform(0.8, 1.1), rng.uniform(0.95, 1.45)])
    return {"lines": lines, "blend": blend, "speed": round(speed, 2)}


def choose_blend(names: Sequence[str], rng: random.Random) -> dict[str, float]:
    """One English voice, or a blend with one or two more, some foreign: a new speaker.

    There are few British voices, so each of them is taken more often.
    """
    english = [n for n in names if n[0] in "ab"]
    accent = "b" if rng.random() < BRITISH else "a"
    first = rng.choice([n for n in english if n[0] == accent] or english)
    draw = rng.random()
    if draw < 0.22:
        return {first: 1.0}
    same_accent = [n for n in english if n[0] == first[0] and n != first]
    second = rng.choice(same_accent if draw < 0.55 else [n for n in names if n != first])
    share = round(rng.uniform(0.25, 0.75), 2)
    if second[0] not in "ab":
        share = min(share, 0.6)
    blend = {first: 1 - share, second: share}
    if draw > 0.85:
        third = rng.choice([n for n in english if n not in blend])
        blend = {name: round(part * 0.65, 3) for name, part in blend.items()} | {third: 0.35}
    return blend


def speak_script(
    script: Path, synthesiser: voices.Synthesiser, folder: Path, part: int, parts: int, limit: float
) -> float:
    """Speak every parts-th group until the time is over; returns the seconds of speech made."""
    made, chunk = 0.0, 0
    writer = Writer(folder / f"synthetic{part:02d}{chunk:03d}")
    for entry in every(script, part, parts):
        if time.time() > limit:
            break
        try:
            speak_group(entry, synthesiser, writer)
        except (ValueError, IndexError):
            continue
        if writer.seconds > CHUNK:
            writer.close()
            made, chunk = made + writer.seconds, chunk + 1
            writer = Writer(folder / f"synthetic{part:02d}{chunk:03d}")
    writer.close()
    return made + writer.seconds


def speak_group(entry: dict[str, Any], synthesiser: voices.Synthesiser, writer: Writer) -> None:
    who = "+".join(sorted(entry["blend"]))
    for group in breaths(entry["lines"]):
        lines = [line for _, line in group]
        clips = synthesiser.speak(lines, entry["blend"], entry["speed"])
        for (words, line), clip in zip(group, clips, strict=True):
            lengths = [len(word) for word in line.words]
            writer.add(clip.samples, " ".join(words), who, "train", clip.phones, lengths)


def breaths(lines: Sequence[dict[str, Any]]) -> Iterator[list[tuple[list[str], Line]]]:
    """As many lines at once as the synthesiser can take."""
    group: list[tuple[list[str], Line]] = []
    for entry in lines:
        words = [[Sound(phone, symbols) for phone, symbols in word] for word in entry["sounds"]]
        line = Line(words, tuple(entry["pauses"]), entry["end"])
        if group and sum(x.length for _, x in group) + line.length > voices.LONGEST:
            yield group
            group = []
        group.append((entry["words"], line))
    if group:
        yield group


def every(script: Path, part: int, parts: int) -> Iterator[dict[str, Any]]:
    with script.open(encoding="utf-8") as file:
        for place, line in enumerate(file):
            if place % parts == part:
                yield json.loads(line)


@dataclass(frozen=True, slots=True)
class Studio:
    """All that speaking needs: the script, the synthesiser's parts, where to write, until when."""

    script: Path
    model: Path
    symbols: bytes
    styles: dict[str, bytes]
    folder: Path
    limit: float
    devices: tuple[str, ...] = ("cpu",)


def work(job: tuple[Studio, int, int]) -> float:
    studio, part, parts = job
    device = studio.devices[part % len(studio.devices)]
    engine = voices.engine(studio.model, device)
    synthesiser = voices.Synthesiser(engine, studio.symbols, studio.styles)
    return speak_script(studio.script, synthesiser, studio.folder, part, parts, studio.limit)


def speak_all(studio: Studio, processes: int) -> float:
    """All processes at once; every one writes its own files. One thread each, or they starve."""
    studio.folder.mkdir(parents=True, exist_ok=True)
    os.environ["OMP_NUM_THREADS"] = "1"
    jobs = [(studio, part, processes) for part in range(processes)]
    made = 0.0
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        for seconds in pool.imap_unordered(work, jobs):
            made += seconds
    log.info("%.2f h of synthetic speech", made / 3600)
    return made
