"""The sound card, each side in a process of its own: devices by name, trouble in one line.

A side that fails is closed and opened anew; the other side does not notice (`card_worker.py`
says why). Every opening looks for devices afresh, so what was plugged in since is found.
"""

from __future__ import annotations

import contextlib
import json
import queue
import subprocess
import sys
import threading
from array import array
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from assistant.edges import card_worker
from assistant.edges.card_worker import BLOCKS_A_SECOND as BLOCKS_A_SECOND
from assistant.edges.loudspeaker import Loudspeaker
from assistant.edges.recogniser import RATE
from assistant.edges.renderer import RATE as SPOKEN_RATE
from assistant.errors import DeviceError

Take = Callable[[bytes], None]
Command = tuple[str, ...]
# -P: the folder of our edges must not hide modules of the same name
WORKER: Command = (sys.executable, "-P", str(Path(card_worker.__file__)))
PATIENCE = 10.0  # seconds for a side to open, on a machine under load
ANSWER = 4.0  # seconds for an open loudspeaker to take a block


class Input(Protocol):
    """An open microphone."""

    @property
    def overflows(self) -> int:
        """Times that a block came too late to be taken."""

    def close(self) -> None:
        """Let go; never raises."""


class Card(Protocol):
    """What microphone and voice need of a sound card."""

    def open_input(self, name: str, take: Take) -> Input:
        """A microphone that hands 100 ms blocks to `take` on a thread of its own."""

    def open_output(self, name: str) -> Loudspeaker:
        """A loudspeaker."""


class SoundCard:
    """The card of this machine; `DeviceError` if the library is missing."""

    def __init__(self, worker: Command = WORKER) -> None:
        """Look what is there."""
        self._worker = worker
        self._names()

    def names(self, kind: str) -> list[str]:
        """Devices that can hear ("input") or sound ("output"), as of now."""
        return self._names()[kind]

    def open_input(self, name: str, take: Take) -> Input:
        """At the recogniser's rate, else at the device's own."""
        return _Input((*self._worker, "input", name, str(RATE)), take)

    def open_output(self, name: str) -> Loudspeaker:
        """At the voice's rate, else at the device's own."""
        return _Output((*self._worker, "output", name, str(SPOKEN_RATE)))

    def _names(self) -> dict[str, list[str]]:
        side = _Side((*self._worker, "names"))
        try:
            found: dict[str, list[str]] = json.loads(side.answer(PATIENCE, card_worker.NAMES))
            return found
        finally:
            side.close()


class _Side:
    """One process of the card and the thread that reads its messages."""

    def __init__(self, command: Command) -> None:
        self.answers: queue.Queue[tuple[bytes, bytes]] = queue.Queue()
        try:
            self._process = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )
        except OSError as error:
            raise DeviceError(f"sound card: {error.strerror}: reinstall Python") from error
        self._reader = threading.Thread(target=self._read, name="card", daemon=True)
        self._reader.start()

    def got(self, kind: bytes, content: bytes) -> None:
        """A message came, on the reader's thread."""
        self.answers.put((kind, content))

    def ask(self, kind: bytes, content: bytes = b"") -> None:
        """Have something done and wait until it is; `DeviceError` if it cannot."""
        pipe = self._process.stdin
        assert pipe is not None
        with contextlib.suppress(OSError, ValueError):  # gone: its last words are among the answers
            card_worker.send(pipe, kind, content)
        self.answer(ANSWER, card_worker.DONE)

    def answer(self, patience: float, wanted: bytes) -> bytes:
        """The next answer, which must be of this kind."""
        try:
            kind, content = self.answers.get(timeout=patience)
        except queue.Empty:
            raise DeviceError("sound card: no answer: look at its plug") from None
        if kind != wanted:
            self.answers.put((kind, content))  # trouble stays the answer
            raise DeviceError(content.decode() or "sound card: it is gone: look at its plug")
        return content

    def close(self) -> None:
        """End the process, whatever it hangs in."""
        self._process.kill()
        self._process.wait()
        self._reader.join(ANSWER)
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()

    def _read(self) -> None:
        pipe = self._process.stdout
        assert pipe is not None
        with contextlib.suppress(EOFError, OSError, ValueError):
            while True:
                self.got(*card_worker.receive(pipe))
        self.answers.put((card_worker.TROUBLE, b""))


class _Input(_Side):
    """A running microphone."""

    def __init__(self, command: Command, take: Take) -> None:
        self.overflows = 0
        self._take = take
        super().__init__(command)
        _wait_until_open(self)

    def got(self, kind: bytes, content: bytes) -> None:
        if kind not in (card_worker.BLOCK, card_worker.LATE_BLOCK):
            super().got(kind, content)
            return
        self.overflows += kind == card_worker.LATE_BLOCK
        self._take(content)


class _Output(_Side):
    """A running loudspeaker, kept open between sentences."""

    def __init__(self, command: Command) -> None:
        super().__init__(command)
        self.rate = _wait_until_open(self)

    def play(self, block: array[int]) -> None:
        self.ask(card_worker.PLAY, block.tobytes())

    def drain(self) -> None:
        self.ask(card_worker.DRAIN)

    def hush(self) -> None:
        self.ask(card_worker.HUSH)


def _wait_until_open(side: _Side) -> int:
    """The rate of an open side."""
    try:
        return int(json.loads(side.answer(PATIENCE, card_worker.OPEN))["rate"])
    except DeviceError:
        side.close()
        raise
