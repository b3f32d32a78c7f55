"""A text file written whole or not at all."""

from __future__ import annotations

import contextlib
from pathlib import Path

from assistant.errors import StoreError


def write(path: Path, text: str) -> None:
    """Write the text, folders made as needed; `StoreError` if the disk refuses."""
    part = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(text, encoding="utf-8")
        part.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise StoreError(f"{path}: not written: {error.strerror}: free space or mend it") from error
