"""A text file written whole or not at all; it is on the disk when `write` returns."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from assistant.edges.files import PRIVATE_FILE, PRIVATE_FOLDER
from assistant.errors import StoreError


def write(path: Path, text: str, *, private: bool = False) -> None:
    """Write the text, folders made as needed; `StoreError` if the disk refuses.

    A private one is for nobody else on this machine to read, nor a folder made for it.
    """
    part = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(mode=PRIVATE_FOLDER if private else 0o777, parents=True, exist_ok=True)
        _put(part, text, PRIVATE_FILE if private else 0o666)
        part.replace(path)
        _sync_folder(path.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise StoreError(
            f"{path}: not written: {error.strerror}: free space, or name another place"
        ) from error


def _put(path: Path, text: str, mode: int) -> None:
    path.unlink(missing_ok=True)  # left by a kill, perhaps with other rights
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    if not hasattr(os, "O_DIRECTORY"):  # Windows: no handle of a folder
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
