"""`python -m tests.bench.mode_shares`: how much of a service does each listening mode last?

All shipped rehearsals, typed, with guessed lengths of sentences. Their lines come quickly one after
another, so questions stand open for a larger part of the time than at a chair.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from assistant import app
from assistant.core.events import Effect, Event, Listen, Mode
from assistant.edges import script_files


def seconds_in(name: str) -> Counter[Mode]:
    """Of one rehearsal."""
    book, voice = app.read_book(), app.voice_of(silent=True)
    changes: list[tuple[float, Mode]] = [(0.0, "open")]

    def watch(event: Event, effects: Sequence[Effect]) -> None:
        changes.extend((event.at, one.mode) for one in effects if isinstance(one, Listen))

    def built(hub: Any, clock: Any) -> None:
        hub.watch(watch)

    with tempfile.TemporaryDirectory() as folder:
        script, hearing = script_files.load(name), app.typed_hearing(book)
        whole = app.rehearsal(
            script, book, hearing, voice.seconds_of, Path(folder), built=built
        ).play()
    seconds: Counter[Mode] = Counter()
    untils = [at for at, _ in changes[1:]] + [whole.ended_at]
    for (at, mode), until in zip(changes, untils, strict=True):
        seconds[mode] += until - at
    return seconds


def shares() -> dict[Mode, float]:
    """The part of all of them that each mode lasts."""
    spent: Counter[Mode] = Counter()
    for name in script_files.names():
        spent += seconds_in(name)
    return {mode: seconds / spent.total() for mode, seconds in spent.most_common()}


if __name__ == "__main__":
    for mode, share in shares().items():
        print(f"{mode:<8} {100 * share:6.2f} %")
