"""`swatchword listen` as a process on the virtual card, and a session begun before it."""

from __future__ import annotations

import contextlib
import os
import queue
import re
import resource
import signal
import subprocess
import sys
import threading
import time
from datetime import date
from pathlib import Path

from assistant import app
from assistant.core.events import Heard, SpeechDone
from assistant.edges import clock, recordings, session_folder, wav_files
from assistant.edges.clock import Sources, SystemClock
from assistant.edges.journal import Record, latest, read
from assistant.edges.loudspeaker import SilentLoudspeaker
from assistant.edges.recogniser import Model
from assistant.edges.renderer import Rendered
from assistant.edges.settings_file import Settings
from assistant.edges.sound_card import Input, Take
from assistant.edges.wav_files import Sound
from assistant.errors import DeviceError
from tests.edges.virtual_card import VirtualCard
from tests.wake import WAKE

SOON = 40.0  # seconds in which a line must come, on a machine under load
STEP = 0.1
ON_AT = 60.0  # salon time at which the nape gets its product
BEFORE = (
    f"{WAKE} start root tap",
    "clear test three days ago",
    "scalp is healthy",
    "gloves are on",
    "leaflet in hand",
    "sixteen or over",
    f"{WAKE} root bowl is mixed",
    f"{WAKE} starting nape",
)


class Nobody:
    """A card without a microphone, whose loudspeaker is silent."""

    def open_input(self, name: str, take: Take) -> Input:
        raise DeviceError("no microphone: plug one in")

    def open_output(self, name: str) -> SilentLoudspeaker:
        return SilentLoudspeaker()


def begun(sessions: Path, model: Model, on_for: float) -> Path:
    """A session of today in which the nape has been on for so many seconds; its journal.

    Its readings are those of this machine so long ago: for the next run the clock went on.
    """
    ago = [ON_AT + on_for]
    sources = Sources(
        boottime=lambda: clock.boottime() - ago[0], utc=lambda: Sources().utc() - ago[0]
    )
    salon = SystemClock(sources)
    chair = app.Chair(model, Nobody(), _unspoken, Settings(), salon)
    live = app.live_session(chair, app.read_book(), session_folder.of_day(sessions, date.today()))
    live.begin()
    hub = live.parts.hub
    for text in BEFORE:
        ago[0] -= ON_AT / (2 * len(BEFORE))
        hub.handle(Heard(salon.now(), text, salon.now() - 1.0))
    ago[0] = on_for
    hub.handle(Heard(salon.now(), f"{WAKE} nape is on", salon.now() - 1.0))
    assert hub.failures == 0
    live.close()
    return live.parts.journal.path


def _unspoken(text: str) -> Rendered:
    return Rendered(Sound(16_000, wav_files.array("h")), spoken=True)


class Listening:
    """One run of `swatchword listen --resume`."""

    def __init__(self, sessions: Path, card: VirtualCard, *more: str) -> None:
        self.sessions, self._card = sessions, card
        self._process = subprocess.Popen(
            [sys.executable, "-m", "assistant", "listen", "--out", str(sessions), *more],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            env={**os.environ, **card.environment, "PYTHONUNBUFFERED": "1"},
        )
        self.lines: list[str] = []
        self._new: queue.Queue[str] = queue.Queue()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            self._new.put(line.rstrip("\n"))

    def until(self, pattern: str, patience: float = SOON) -> str:
        """The next line of which `pattern` matches a part."""
        until = time.monotonic() + patience
        while True:
            try:
                line = self._new.get(timeout=max(0.0, until - time.monotonic()))
            except queue.Empty:
                told = "\n".join(self.lines)
                raise AssertionError(f"no line {pattern!r} after:\n{told}") from None
            self.lines.append(line)
            if re.search(pattern, line):
                return line

    def spoken(self, count: int) -> list[str]:
        """Outcomes of the sentences of this journal, when so many have ended."""
        for _ in range(round(SOON / STEP)):
            found = [r.event.outcome for r in self.records() if isinstance(r.event, SpeechDone)]
            if len(found) >= count:
                return found
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._process.wait(STEP)
                break
        raise AssertionError(f"only {found} ended after:\n" + "\n".join(self.lines))

    def say(self, text: str) -> None:
        """Somebody says it in the room."""
        sound = wav_files.read(recordings.recording_for(text, "stylist", "clean", None))
        path = self.sessions / "air.wav"
        wav_files.write(path, sound)
        self._card.play(path).wait(SOON)

    @property
    def running(self) -> bool:
        """Whether the process lives."""
        return self._process.poll() is None

    def ask(self, text: str) -> None:
        """Say it until it is heard: the microphone may not be open yet."""
        for _ in range(4):
            self.say(text)
            with contextlib.suppress(AssertionError):
                self.until(f"heard +{text}", patience=SOON / 4)
                return
        raise AssertionError(f"{text!r} is not heard after:\n" + "\n".join(self.lines))

    def kill(self) -> None:
        """As a power cut ends it."""
        self._process.kill()
        self._ended()

    def interrupt(self) -> int:
        """As Ctrl-C ends it; its exit code."""
        self._process.send_signal(signal.SIGINT)
        self._ended()
        return self._process.returncode

    def _ended(self) -> None:
        self._process.wait(SOON)
        self._reader.join(SOON)
        assert self._process.stdout is not None
        self._process.stdout.close()

    def disk_full(self, full: bool) -> None:
        """No file may grow (as on a full disk), or may again."""
        _, most = resource.prlimit(self._process.pid, resource.RLIMIT_FSIZE)
        resource.prlimit(self._process.pid, resource.RLIMIT_FSIZE, (1 if full else most, most))

    def records(self) -> tuple[Record, ...]:
        """What the journal holds; it must be whole."""
        journal = latest(session_folder.of_day(self.sessions, date.today()))
        assert journal is not None
        records, damage = read(journal)
        assert damage is None
        return records

    def heard(self) -> list[str]:
        return [r.event.text for r in self.records() if isinstance(r.event, Heard)]
