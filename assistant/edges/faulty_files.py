"""What if the disk fails? A disk in memory that tears, refuses or loses power at a chosen call.

It keeps apart what was written and what was synced, so that a power cut can drop, tear or keep
the difference. Rehearsals may use it as a disk that leaves nothing behind.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Literal

Survives = Literal["everything", "synced", "some"]
POWER_CUT = 0


class PowerCut(BaseException):
    """The machine is gone: no `except Exception` of the program may go on after it."""


@dataclass(frozen=True, slots=True)
class Fault:
    """From which call to which (inclusive, counted from 1) what goes wrong."""

    first: int
    last: int
    errno: int = POWER_CUT  # else the errno that the call raises
    torn: int = 0  # bytes of a write that get through before it fails
    only: str = ""  # counts and hits only calls of this name


@dataclass(slots=True)
class _Bytes:
    """One file: as on the platter, and as seen by programs."""

    synced: bytearray = field(default_factory=bytearray)
    now: bytearray = field(default_factory=bytearray)
    edits: list[tuple[int, bytes | None]] = field(default_factory=list)  # None: cut off there

    def edit(self, offset: int, content: bytes | None) -> None:
        self.edits.append((offset, content))
        _apply(self.now, offset, content)

    def sync(self) -> None:
        for offset, content in self.edits:
            _apply(self.synced, offset, content)
        self.edits = []


def _apply(target: bytearray, offset: int, content: bytes | None) -> None:
    if content is None:
        del target[offset:]
    target.extend(bytes(max(0, offset - len(target))))
    if content is not None:
        target[offset : offset + len(content)] = content


class FaultyFiles:
    """The `Files` of `edges/files.py`, in memory, with at most one fault."""

    def __init__(self, fault: Fault | None = None, room: int | None = None) -> None:
        self.fault = fault
        self.room = room  # bytes that fit on the disk; None: plenty
        self.calls: list[str] = []
        self._names: dict[Path, _Bytes] = {}
        self._synced_names: dict[Path, _Bytes] = {}
        self._open: dict[int, _Bytes] = {}
        self._locks: dict[int, int] = {}  # handle -> id of the file
        self._cut = False

    # ------------------------------------------------------------ faults

    def survivor(self, survives: Survives, rng: Random | None = None) -> FaultyFiles:
        """The disk as found after the program (everything) or the power (else) went."""
        chance = rng or Random(0)
        other = FaultyFiles(room=self.room)
        names = self._synced_names
        if survives == "everything" or (survives == "some" and chance.random() < 0.5):
            names = self._names
        for path, content in names.items():
            found = _found(content, survives, chance)
            other._names[path] = other._synced_names[path] = _Bytes(
                bytearray(found), bytearray(found)
            )
        return other

    def _call(self, name: str, tear: Callable[[int], None] | None = None) -> None:
        """Count the call; let it fail if it is its turn."""
        if self._cut:
            raise PowerCut
        self.calls.append(name)
        fault = self.fault
        if fault is None or fault.only not in ("", name):
            return
        nth = self.calls.count(name) if fault.only else len(self.calls)
        if not fault.first <= nth <= fault.last:
            return
        if tear:
            tear(fault.torn)
        if fault.errno == POWER_CUT:
            self._cut = True
            raise PowerCut
        raise OSError(fault.errno, os.strerror(fault.errno))

    def _file(self, path: Path) -> _Bytes:
        if path not in self._names:
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(path))
        return self._names[path]

    # ------------------------------------------------------------- Files

    def make_folder(self, folder: Path) -> None:
        self._call("make_folder")

    def names(self, folder: Path) -> list[str]:
        self._call("names")
        return [path.name for path in self._names if path.parent == folder]

    def open(self, path: Path, *, new: bool) -> int:
        self._call("open")
        if new and path in self._names:
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
        content = self._names.setdefault(path, _Bytes())
        handle = max(self._open, default=2) + 1
        self._open[handle] = content
        return handle

    def lock(self, handle: int) -> bool:
        self._call("lock")
        wanted = id(self._open[handle])
        if any(taken == wanted for other, taken in self._locks.items() if other != handle):
            return False
        self._locks[handle] = wanted
        return True

    def read(self, path: Path) -> bytes:
        self._call("read")
        return bytes(self._file(path).now)

    def write(self, handle: int, content: bytes, offset: int) -> int:
        self._call("write", lambda torn: self._open[handle].edit(offset, content[:torn]))
        taken = len(content)
        if self.room is not None:
            used = sum(len(each.now) for each in self._names.values())
            growth = max(0, offset + taken - len(self._open[handle].now))
            taken -= max(0, growth - max(0, self.room - used))
        if content and taken <= 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        self._open[handle].edit(offset, content[:taken])
        return taken

    def sync(self, handle: int) -> None:
        self._call("sync")
        self._open[handle].sync()

    def truncate(self, handle: int, size: int) -> None:
        self._call("truncate")
        self._open[handle].edit(size, None)

    def rename(self, old: Path, new: Path) -> None:
        self._call("rename")
        self._names[new] = self._file(old)
        del self._names[old]

    def remove(self, path: Path) -> None:
        self._call("remove")
        self._file(path)
        del self._names[path]

    def sync_folder(self, folder: Path) -> None:
        self._call("sync_folder")
        kept = {path: each for path, each in self._synced_names.items() if path.parent != folder}
        here = {path: each for path, each in self._names.items() if path.parent == folder}
        self._synced_names = kept | here

    def linked(self, handle: int) -> bool:
        self._call("linked")
        return any(each is self._open[handle] for each in self._names.values())

    def close(self, handle: int) -> None:
        self._open.pop(handle, None)  # let go even when it complains, as Linux does
        self._locks.pop(handle, None)
        self._call("close")


def _found(content: _Bytes, survives: Survives, chance: Random) -> bytes:
    """A file after the cut. "some": any of the unsynced edits, any part of each, any order."""
    if survives == "everything":
        return bytes(content.now)
    found = bytearray(content.synced)
    if survives == "synced":
        return bytes(found)
    for offset, edit in chance.sample(content.edits, len(content.edits)):
        if chance.random() < 0.6:
            part = edit if edit is None else edit[: chance.randint(0, len(edit))]
            _apply(found, offset, part)
    return bytes(found)
