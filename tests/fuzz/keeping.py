"""Which of many inputs are worth keeping? Those that reach lines that no kept one reaches.

Smallest first, so that the corpus stays small; nothing above `MOST_BYTES` in all.
"""

from __future__ import annotations

import re
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
_HASHED = re.compile(r"[0-9a-f]{12}")
Lines = set[tuple[str, int]]


def keep(target: Target, work: Path) -> str:
    """Make the corpus of a target anew from its seeds and a folder of found inputs.

    Inputs with a name of their own (they broke something once) stay.
    """
    reached: Lines = set()
    broke = [path for path in target.kept() if not _HASHED.fullmatch(path.name)]
    for known in [*target.seeds(), *(path.read_bytes() for path in broke)]:
        reached |= _reaches(target, known)
    found = sorted({path.read_bytes() for path in [*work.iterdir(), *target.kept()]}, key=len)
    chosen: list[bytes] = []
    for data in found:
        fits = len(data) <= MOST_INPUT and sum(map(len, chosen)) + len(data) <= MOST_BYTES
        if fits and (new := _reaches(target, data) - reached):
            reached |= new
            chosen.append(data)
    folder = target.folder
    folder.mkdir(parents=True, exist_ok=True)
    for path in set(target.kept()) - set(broke):
        path.unlink()
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
