"""What happened, kept so that a killed or unplugged session goes on with every clock right.

An event counts only when `append` has returned: by then it is on the disk. What the disk
refuses stays in `pending` and is written first as soon as the disk takes it again.
"""

from __future__ import annotations

import errno
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from assistant.core.events import Event
from assistant.core.moment import Moment
from assistant.edges.files import Files, SystemFiles
from assistant.edges.journal_lines import Damage, Record, line_of, scan
from assistant.errors import StoreError

__all__ = ["Damage", "Journal", "Record", "latest", "read", "refusals"]

RESERVE_BYTES = 1 << 20
_NAME = re.compile(r"session-(\d{6})\.journal\Z")  # numbered, not dated: the date may be wrong
_REASONS = {
    errno.ENOSPC: "the disk is full: free some space",
    errno.EDQUOT: "your share of the disk is used up: free some space",
    errno.EROFS: "the disk is read-only: remount it or choose another folder",
    errno.EACCES: "not permitted: give this user the right to write there",
    errno.EPERM: "not permitted: give this user the right to write there",
    errno.EIO: "the disk reports an error: save what you can and replace it",
    errno.EFBIG: "the file may not grow any more: raise the limit on file sizes",
    errno.ENOENT: "no such file or folder: look at the path",
    errno.ENOTDIR: "a file stands where a folder is needed: look at the path",
    errno.EISDIR: "this is a folder: name a journal inside it",
    errno.ENOLCK: "this disk cannot lock files: choose a folder on a local disk",
}


def read(path: Path, files: Files | None = None) -> tuple[tuple[Record, ...], Damage | None]:
    """Only look: nothing is locked, nothing is trimmed."""
    with refusals(path):
        raw = (files or SystemFiles()).read(path)
    return scan(raw, path)


def latest(folder: Path, files: Files | None = None) -> Path | None:
    """The newest journal of a folder."""
    return next(newest_first(folder, files), None)


def newest_first(folder: Path, files: Files | None = None) -> Iterator[Path]:
    """Every journal of a folder."""
    with refusals(folder):
        names = [n for n in (files or SystemFiles()).names(folder) if _NAME.match(n)]
    return (folder / name for name in sorted(names, reverse=True))


@contextmanager
def refusals(path: Path) -> Iterator[None]:
    """Translate what the disk refuses, once, into one line."""
    try:
        yield
    except OSError as error:
        reason = _REASONS.get(error.errno or 0, error.strerror or str(error))
        raise StoreError(f"{path}: {reason}") from error


class Journal:
    """The open journal of one session. One folder has one at a time."""

    def __init__(
        self, path: Path, handles: tuple[int, int], moment: Callable[[], Moment], files: Files
    ) -> None:
        self.path = path
        self._refused = ""  # why the disk did not take the last event
        self._reserve_gone = ""
        self._handle, self._lock = handles
        self._moment = moment
        self._files = files
        self._size = 0  # bytes known to be on the disk
        self._sequence = 0
        self._pending: list[Record] = []
        self._reserve = 0

    @classmethod
    def create(
        cls,
        folder: Path,
        moment: Callable[[], Moment],
        files: Files | None = None,
        reserve: int = RESERVE_BYTES,
    ) -> Journal:
        """A new, empty journal in `folder` (made if absent). `moment` is the clock's."""
        disk = files or SystemFiles()
        with refusals(folder):
            disk.make_folder(folder)
            held = [_locked(folder, disk)]
            try:
                names = [m for m in map(_NAME.match, disk.names(folder)) if m]
                number = max((int(m[1]) for m in names), default=0) + 1
                path = folder / f"session-{number:06d}.journal"
                handle = disk.open(path, new=True)
                held.append(handle)
                disk.sync(handle)
                disk.sync_folder(folder)
            except OSError:
                _let_go(held, disk)
                raise
        journal = cls(path, (handle, held[0]), moment, disk)
        journal._keep_reserve(reserve)
        return journal

    @classmethod
    def open(
        cls,
        path: Path,
        moment: Callable[[], Moment],
        files: Files | None = None,
        reserve: int = RESERVE_BYTES,
    ) -> tuple[Journal, tuple[Record, ...], Damage | None]:
        """Go on with a journal: its records, and what had to be cut off (kept aside)."""
        disk = files or SystemFiles()
        with refusals(path):
            held = [_locked(path.parent, disk)]
            try:
                raw = disk.read(path)  # after the lock: nobody else is writing
                records, damage = scan(raw, path)
                handle = disk.open(path, new=False)
                held.append(handle)
                if damage:
                    damage = _cut_off(raw, handle, damage, disk)
            except (OSError, StoreError):
                _let_go(held, disk)
                raise
        journal = cls(path, (handle, held[0]), moment, disk)
        journal._size = len(raw) - (damage.size if damage else 0)
        journal._sequence = len(records)
        journal._keep_reserve(reserve)
        return journal, records, damage

    @property
    def trouble(self) -> str:
        """One line while the disk refuses or the reserve is gone; else empty."""
        return self._refused or self._reserve_gone

    @property
    def pending(self) -> tuple[Record, ...]:
        """Events that happened but are not on the disk yet."""
        return tuple(self._pending)

    def append(self, event: Event) -> Record:
        """Keep an event: on the disk when this returns. `StoreError`: it is pending."""
        self._sequence += 1
        record = Record(self._sequence, self._moment(), event)
        self._pending.append(record)
        self._flush()
        return record

    def retry(self) -> bool:
        """Try again after a refusal: write what is pending, rebuild the reserve. True: all well."""
        try:
            self._flush()
            self._keep_reserve(self._reserve)
        except StoreError:
            return False
        return not self.trouble

    def close(self) -> None:
        """Let go of the file and the folder."""
        _let_go([self._handle, self._lock], self._files)

    def _flush(self) -> None:
        """Pending records to the disk, in one go, at the end of what is known to be there."""
        if not self._pending:
            return
        lines = b"".join(map(line_of, self._pending))
        try:
            with refusals(self.path):
                try:
                    self._put(lines)
                except OSError as error:
                    if error.errno not in (errno.ENOSPC, errno.EDQUOT) or not self._free_reserve():
                        raise
                    self._put(lines)
        except StoreError as error:
            self._refused = str(error)
            raise
        self._refused = ""
        self._size += len(lines)
        self._pending.clear()

    def _put(self, lines: bytes) -> None:
        """A repeat writes the same bytes to the same place, so a half-done try does no harm.

        After a failed sync the system may believe the pages clean; writing them again is what
        makes the next sync mean something.
        """
        _write_all(self._files, self._handle, lines, self._size)
        self._files.sync(self._handle)
        if not self._files.linked(self._handle):
            raise StoreError(f"{self.path}: deleted while in use: restart the program to go on")

    def _keep_reserve(self, size: int) -> None:
        """Space set aside that is given up when the disk is full: the last minutes fit in it."""
        self._reserve = size
        path = self.path.parent / "reserve"
        try:
            if size:
                _set_aside(path, size, self._files)
            self._reserve_gone = ""
        except OSError as error:
            with suppress(OSError):  # half a reserve would only make the disk fuller
                self._files.remove(path)
            self._reserve_gone = f"{path}: {_REASONS.get(error.errno or 0, str(error))}"

    def _free_reserve(self) -> bool:
        """Give the reserve up; False if there is none."""
        path = self.path.parent / "reserve"
        try:
            self._files.remove(path)
            self._files.sync_folder(path.parent)
        except OSError:
            return False
        self._reserve_gone = (
            f"{self.path}: the disk is full, the reserve is in use: free some space"
        )
        return True


def _let_go(handles: list[int], files: Files) -> None:
    for handle in handles:
        with suppress(OSError):  # everything that counts is synced already
            files.close(handle)


def _locked(folder: Path, files: Files) -> int:
    handle = files.open(folder / "lock", new=False)
    try:
        free = files.lock(handle)
    except OSError:
        files.close(handle)
        raise
    if free:
        return handle
    files.close(handle)
    raise StoreError(f"{folder}: another session is running with this folder: end it first")


def _write_all(files: Files, handle: int, content: bytes, offset: int) -> None:
    while content:
        taken = files.write(handle, content, offset)
        if taken <= 0:
            raise OSError(errno.ENOSPC, "nothing was taken")
        content, offset = content[taken:], offset + taken


def _set_aside(path: Path, size: int, files: Files) -> None:
    """Make sure that `size` real bytes lie in `path`."""
    if path.name in files.names(path.parent) and len(files.read(path)) >= size:
        return
    handle = files.open(path, new=False)
    try:
        _write_all(files, handle, b"\xa5" * size, 0)
        files.sync(handle)
    finally:
        files.close(handle)


def _cut_off(raw: bytes, handle: int, damage: Damage, files: Files) -> Damage:
    """Keep the damaged bytes aside, then shorten the journal; a crash between does no harm."""
    good = len(raw) - damage.size
    taken = set(files.names(damage.path.parent))
    names = (f"{damage.path.name}.damaged{n or ''}" for n in range(len(taken) + 1))
    aside = damage.path.with_name(next(name for name in names if name not in taken))
    part = aside.with_name(f"{damage.path.name}.part")
    other = files.open(part, new=False)
    try:
        files.truncate(other, 0)
        _write_all(files, other, raw[good:], 0)
        files.sync(other)
    finally:
        files.close(other)
    files.rename(part, aside)
    files.sync_folder(aside.parent)
    files.truncate(handle, good)
    files.sync(handle)
    return Damage(damage.path, damage.after, damage.size, damage.reason, aside)
