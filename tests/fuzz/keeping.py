"""Which of many inputs are worth keeping? Those that reach lines that no kept one reaches.

Smallest first, so that the corpus stays small; nothing above `MOST_BYTES` in all.
"""

from __future__ import annotations

import shutil
import sys
from hashlib import sha1
from pathlib import Path
from types import FrameType
from typing import Any

from assistant.errors import AssistantError
from tests.fuzz.limits import no_hang
from tests.fuzz.targets import Target

MOST_BYTES = 15_000  # a target
MOST_INPUT = 4_000
Lines = set[tuple[str, int]]


def keep(target: Target, work: Path) -> str:
    """Make the corpus of a target anew from its seeds and a folder of found inputs."""
    reached: Lines = set()
    for seed in target.seeds():
        reached |= _reaches(target, seed)
    found = sorted({path.read_bytes() for path in [*work.iterdir(), *target.kept()]}, key=len)
    chosen: list[bytes] = []
    for data in found:
        fits = len(data) <= MOST_INPUT and sum(map(len, chosen)) + len(data) <= MOST_BYTES
        if fits and (new := _reaches(target, data) - reached):
            reached |= new
            chosen.append(data)
    folder = target.folder
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for data in chosen:
        (folder / sha1(data, usedforsecurity=False).hexdigest()[:12]).write_bytes(data)
    return f"{len(chosen)} of {len(found)} kept, {sum(map(len, chosen))} bytes"


def _reaches(target: Target, data: bytes) -> Lines:
    """The lines of the product that an input passes through."""
    lines: Lines = set()

    def trace(frame: FrameType, event: str, argument: object) -> Any:
        if "assistant" not in frame.f_code.co_filename:
            return None
        lines.add((frame.f_code.co_filename, frame.f_lineno))
        return trace

    sys.settrace(trace)
    try:
        with no_hang(60):
            target.run(data)
    except AssistantError:
        pass
    finally:
        sys.settrace(None)
    return lines
