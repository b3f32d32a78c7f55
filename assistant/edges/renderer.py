"""Text to sound: pyttsx3 as a renderer only, in a process of its own, checked and remembered.

It never plays: pyttsx3's player cannot be stopped. What cannot be spoken becomes a beep: a
reminder must not depend on speech alone. The espeak-ng library and its data come from the wheel
`espeakng-loader`; where that does not exist, the system's library or its command serves.
"""

from __future__ import annotations

import contextlib
import json
import select
import shutil
import subprocess
import sys
import tempfile
import threading
import weakref
from array import array
from dataclasses import dataclass
from pathlib import Path

from assistant.edges import tones, wav_files
from assistant.edges.render_worker import DONE, PATIENCE, READY
from assistant.edges.wav_files import Sound
from assistant.errors import ConfigError, DeviceError

VOICE = "gmw/en"
# espeak-ng's English ones: it says nothing of a name it does not know, and another language reads
# our sentences as nobody understands them
VOICES = tuple(
    "gmw/en gmw/en-us gmw/en-us-nyc gmw/en-gb-x-rp gmw/en-gb-scotland gmw/en-gb-x-gbclan "
    "gmw/en-gb-x-gbcwmd gmw/en-029".split()
)
WORDS_PER_MINUTE = 165
RATE = 22_050  # what espeak-ng makes
MEND = "'pip install espeakng-loader' or 'apt install espeak-ng'"
QUIET = 200  # of 32767: below this it is silence around the words
# -P: the folder of our edges must not hide modules of the same name
WORKER = (sys.executable, "-P", str(Path(__file__).with_name("render_worker.py")))
START = 20.0  # seconds for the worker to start on a machine under load


@dataclass(frozen=True, slots=True)
class Rendered:
    """A sentence as sound; `spoken` is False when a beep stands in for it."""

    sound: Sound
    spoken: bool


class Renderer:
    """Renders sentences, each text once. May be used from any thread, one at a time."""

    def __init__(
        self,
        voice: str = VOICE,
        words_per_minute: int = WORDS_PER_MINUTE,
        worker: tuple[str, ...] = WORKER,
    ) -> None:
        """Start the worker; `DeviceError` says what to install if nothing here can speak."""
        self._voice, self._words_per_minute = voice, words_per_minute
        self._worker = worker
        self._folder = Path(tempfile.mkdtemp(prefix="swatchword-"))
        self._known: dict[str, Sound] = {}
        self._one_at_a_time = threading.Lock()
        self._process: subprocess.Popen[str] | None = None
        self._trouble = ""
        self.close = weakref.finalize(self, shutil.rmtree, self._folder, ignore_errors=True)
        self._start()
        if self._process is None and shutil.which("espeak-ng") is None:
            self.close()
            raise DeviceError(f"no speech: {self._trouble}: {MEND}")

    def render(self, text: str) -> Sound:
        """The sound of a text; `DeviceError` if nothing came out."""
        with self._one_at_a_time:
            if text not in self._known:
                self._known[text] = _without_edges(self._make(text))
            return self._known[text]

    def rendered(self, text: str) -> Rendered:
        """The sound of a text, or the beep that stands in for it. Never raises."""
        try:
            return Rendered(self.render(text), spoken=True)
        except DeviceError:
            return Rendered(tones.beep(RATE), spoken=False)

    # ------------------------------------------------------------ the worker

    def _start(self) -> None:
        command = [*self._worker, self._voice, str(self._words_per_minute)]
        try:
            process = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                encoding="utf-8",
            )
        except OSError as error:
            self._trouble = f"{command[0]} does not start ({error.strerror})"
            return
        weakref.finalize(self, _end, process)
        self._process = process
        answer = self._answer(START)
        if answer != READY:
            self._trouble = answer or "the speech process does not start"
            self._stop()

    def _stop(self) -> None:
        if self._process is not None:
            _end(self._process)
            self._process = None

    def _answer(self, patience: float) -> str:
        """One line of the worker, empty if it is gone or does not answer."""
        if self._process is None or self._process.stdout is None:
            return ""
        ready, _, _ = select.select([self._process.stdout], [], [], patience)
        return self._process.stdout.readline().strip() if ready else ""

    def _ask(self, text: str, path: Path) -> bool:
        if self._process is None:
            self._start()
        if self._process is None or self._process.stdin is None:
            return False
        try:
            self._process.stdin.write(json.dumps([text, str(path)]) + "\n")
            self._process.stdin.flush()
        except OSError:
            answer = ""
        else:
            answer = self._answer(PATIENCE + 1)
        if not answer:
            self._trouble = "the speech process is gone"
            self._stop()
        elif answer != DONE:
            self._trouble = answer
        return answer == DONE

    def _make(self, text: str) -> Sound:
        """By pyttsx3, once more if that failed, else by the espeak-ng command."""
        path = self._folder / "said.wav"
        if not text.strip():
            raise DeviceError("speech failed: no words were given: look at the phrases")
        for attempt in (self._ask, self._ask, self._by_command):
            path.unlink(missing_ok=True)
            if not attempt(text, path):
                continue
            with contextlib.suppress(ConfigError):  # empty or torn: the next attempt
                sound = wav_files.read(path)
                if any(abs(value) > QUIET for value in sound.samples):
                    return sound
        raise DeviceError(f"speech failed for {text!r}: {self._trouble or 'no sound'}: {MEND}")

    def _by_command(self, text: str, path: Path) -> bool:
        command = shutil.which("espeak-ng")
        if command is None:
            return False
        voice, rate = self._voice.split("/")[-1], str(self._words_per_minute)
        try:
            subprocess.run(
                [command, "-v", voice, "-s", rate, "-w", str(path), "--", text],
                check=True,
                capture_output=True,
                timeout=PATIENCE,
            )
        except (OSError, ValueError, subprocess.SubprocessError):  # ValueError: a NUL in the text
            return False
        return True


def _end(process: subprocess.Popen[str]) -> None:
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            with contextlib.suppress(OSError):
                pipe.close()
    process.kill()
    process.wait()


def _without_edges(sound: Sound) -> Sound:
    """Cut the silence around the words: calls must begin at once."""
    samples, margin = sound.samples, sound.rate // 50
    first = next(i for i, value in enumerate(samples) if abs(value) > QUIET)
    after = next(i for i, value in enumerate(reversed(samples)) if abs(value) > QUIET)
    last = len(samples) - after + 4 * margin
    return Sound(sound.rate, array("h", samples[max(0, first - margin) : last]))
