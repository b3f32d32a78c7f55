"""Which file operations does a durable journal need? A few, so that a failing disk can stand in."""

from __future__ import annotations

import errno
import fcntl
import os
from pathlib import Path
from typing import Protocol

PRIVATE_FILE = 0o600
PRIVATE_FOLDER = 0o700


class Files(Protocol):
    """A disk. Every method may raise OSError."""

    def make_folder(self, folder: Path) -> None:
        """Make a folder and its parents, readable by nobody else."""

    def names(self, folder: Path) -> list[str]:
        """Names in a folder; none if there is no such folder."""

    def open(self, path: Path, *, new: bool) -> int:
        """A handle to read and write, made if absent; `new` refuses a file that exists."""

    def lock(self, handle: int) -> bool:
        """Take the file for this process until closed; False if another has it."""

    def read(self, path: Path) -> bytes:
        """The whole file."""

    def write(self, handle: int, content: bytes, offset: int) -> int:
        """Write at a place; returns how many bytes were taken."""

    def sync(self, handle: int) -> None:
        """Return when everything written is on the disk."""

    def truncate(self, handle: int, size: int) -> None:
        """Cut the file off."""

    def rename(self, old: Path, new: Path) -> None:
        """Give another name, replacing what bears it."""

    def remove(self, path: Path) -> None:
        """Delete."""

    def sync_folder(self, folder: Path) -> None:
        """Return when the names in the folder are on the disk."""

    def linked(self, handle: int) -> bool:
        """False if somebody deleted the file while it was open."""

    def close(self, handle: int) -> None:
        """Let go, also of the lock."""


class SystemFiles:
    """The disk of this machine."""

    def make_folder(self, folder: Path) -> None:
        folder.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)

    def names(self, folder: Path) -> list[str]:
        return os.listdir(folder) if folder.is_dir() else []

    def open(self, path: Path, *, new: bool) -> int:
        return os.open(path, os.O_RDWR | os.O_CREAT | (os.O_EXCL if new else 0), PRIVATE_FILE)

    def lock(self, handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            if error.errno in (errno.EAGAIN, errno.EACCES):
                return False
            raise
        return True

    def read(self, path: Path) -> bytes:
        return path.read_bytes()

    def write(self, handle: int, content: bytes, offset: int) -> int:
        return os.pwrite(handle, content, offset)

    def sync(self, handle: int) -> None:
        os.fsync(handle)

    def truncate(self, handle: int, size: int) -> None:
        os.ftruncate(handle, size)

    def rename(self, old: Path, new: Path) -> None:
        old.replace(new)

    def remove(self, path: Path) -> None:
        path.unlink()

    def sync_folder(self, folder: Path) -> None:
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

    def linked(self, handle: int) -> bool:
        return os.fstat(handle).st_nlink > 0

    def close(self, handle: int) -> None:
        os.close(handle)
