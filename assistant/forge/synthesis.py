"""How is a whole set of synthetic speech made? First a script of lines, then many voices at once.

The script (JSON lines) holds everything random: words, sounds, blend, speed. Speaking it needs only
numpy and onnxruntime, so it runs on any machine with many cores; it stops at a time limit and what
is there by then is used.
"""

from __future__ import annotations

import json
import logging
import multiprocessing
import random
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from assistant.forge import lexicon, spoken, texts, voices
from assistant.forge.corpus import Writer
from assistant.forge.spoken import Sound

log = logging.getLogger("forge")
ENDINGS = ".....!?,"
CHUNK = 150.0  # seconds of speech in one file: training may take it up while the rest is spoken


def write_script(path: Path, count: int, names: Sequence[str], seed: int) -> None:
    """Choose the lines and who says them."""
    rng = random.Random(seed)
    stressed = spoken.stressed_dictionary()
    speaker = spoken.Speaker(stressed, rng)
    common = sorted(w for w in lexicon.common_words((10, 20)) if w in stressed)
    trade = sorted(w for w in lexicon.read_trade_words()[0] if w in stressed)
    allowed = sorted(set(names) - voices.CERTIFICATION - voices.HELD_FOR_TEST)
    with path.open("w", encoding="utf-8") as file:
        for words in texts.lines(count, common, trade, rng):
            if not all(speaker.knows(w) for w in words):
                continue
            blend = choose_blend(allowed, rng)
            is_british = max(blend, key=lambda n: blend[n]).startswith("b")
            said = speaker.say(words, is_british=is_british)
            entry = {
                "words": words,
                "sounds": [[[s.phone, s.symbols] for s in word] for word in said],
                "blend": blend,
                "speed": round(rng.choice([rng.uniform(0.8, 1.1), rng.uniform(0.95, 1.4)]), 2),
                "end": rng.choice(ENDINGS),
            }
            file.write(json.dumps(entry, ensure_ascii=False) + "\n")


def choose_blend(names: Sequence[str], rng: random.Random) -> dict[str, float]:
    """One English voice, or a blend of it with another, or with a foreign one: a new speaker."""
    english = [n for n in names if n[0] in "ab"]
    first = rng.choice(english)
    draw = rng.random()
    if draw < 0.3:
        return {first: 1.0}
    same_accent = [n for n in english if n[0] == first[0] and n != first]
    second = rng.choice(same_accent if draw < 0.65 else [n for n in names if n != first])
    share = round(rng.uniform(0.25, 0.75), 2)
    if second[0] not in "ab":
        share = min(share, 0.6)
    return {first: 1 - share, second: share}


def speak_script(
    script: Path, synthesiser: voices.Synthesiser, folder: Path, part: int, parts: int, limit: float
) -> float:
    """Speak every parts-th line until the time is over; returns the seconds of speech made."""
    made, chunk = 0.0, 0
    writer = Writer(folder / f"synthetic{part:02d}{chunk:03d}")
    for entry in every(script, part, parts):
        if time.time() > limit:
            break
        words = [[Sound(phone, symbols) for phone, symbols in word] for word in entry["sounds"]]
        try:
            clip = synthesiser.speak(words, entry["blend"], entry["speed"], entry["end"])
            clip = voices.label(clip, words)
        except (ValueError, IndexError):
            continue
        who = "+".join(sorted(entry["blend"]))
        lengths = [len(word) for word in words]
        writer.add(clip.samples, " ".join(entry["words"]), who, "train", clip.phones, lengths)
        if writer.seconds > CHUNK:
            writer.close()
            made, chunk = made + writer.seconds, chunk + 1
            writer = Writer(folder / f"synthetic{part:02d}{chunk:03d}")
    writer.close()
    return made + writer.seconds


def every(script: Path, part: int, parts: int) -> Iterator[dict[str, Any]]:
    with script.open(encoding="utf-8") as file:
        for place, line in enumerate(file):
            if place % parts == part:
                yield json.loads(line)


def work(job: tuple[Path, Path, bytes, dict[str, bytes], Path, int, int, float]) -> float:
    script, model, symbols, styles, folder, part, parts, limit = job
    synthesiser = voices.Synthesiser(model, symbols, styles)
    return speak_script(script, synthesiser, folder, part, parts, limit)


def speak_all(
    script: Path, model: Path, symbols: bytes, styles: dict[str, bytes], folder: Path,
    processes: int, limit: float,
) -> None:  # fmt: skip
    """All processes at once; every one writes its own pair of files."""
    folder.mkdir(parents=True, exist_ok=True)
    jobs = [
        (script, model, symbols, styles, folder, part, processes, limit)
        for part in range(processes)
    ]
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        for seconds in pool.imap_unordered(work, jobs):
            log.info("%.0f s of speech from one process", seconds)
