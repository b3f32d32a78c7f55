"""The sound card: sounddevice in its raw form, devices found by name, trouble in one line.

The library's device list stands still from its start on, so after a loss it is started again
(`refresh`), which ends every open stream: whoever holds one sees `generation` change and opens
anew. PortAudio itself is loaded only here and only when the live commands run.
"""

from __future__ import annotations

import contextlib
import threading
from array import array
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from typing import Any, Protocol

from assistant.edges.loudspeaker import BLOCK, Loudspeaker
from assistant.edges.recogniser import RATE
from assistant.edges.renderer import RATE as SPOKEN_RATE
from assistant.errors import DeviceError

Take = Callable[[bytes], None]
Guard = Callable[[], AbstractContextManager[bool]]
BLOCKS_A_SECOND = 10
BUFFER = 0.2  # seconds; with "high" the first block came after a second (a null sink, measured)
NO_PORTAUDIO = "no sound: the PortAudio library is missing: 'apt install libportaudio2'"


class Input(Protocol):
    """An open microphone."""

    overflows: int  # times that a block came too late to be taken

    def close(self) -> None:
        """Let go; never raises."""


class Card(Protocol):
    """What microphone and voice need of a sound card."""

    @property
    def generation(self) -> int:
        """Grows with every `refresh`: streams of an earlier generation are dead."""

    def open_input(self, name: str, take: Take) -> Input:
        """A microphone that hands 100 ms blocks to `take` on a thread of its own."""

    def open_output(self, name: str) -> Loudspeaker:
        """A loudspeaker."""

    def refresh(self) -> None:
        """Look for devices anew."""


class SoundCard:
    """The card of this machine; `DeviceError` if the library is missing."""

    def __init__(self) -> None:
        """Load the library."""
        self._library = _sounddevice()
        self._generation = 0
        self._lock = threading.RLock()  # the library must not be ended while a stream is used

    @property
    def generation(self) -> int:
        """Grows with every refresh."""
        return self._generation

    def names(self, kind: str) -> list[str]:
        """Devices that can hear ("input") or sound ("output")."""
        channels = f"max_{kind}_channels"
        return [str(d["name"]) for d in self._library.query_devices() if d[channels] > 0]

    def open_input(self, name: str, take: Take) -> Input:
        """At the recogniser's rate, else at the device's own."""
        with self._lock:
            device = self._device(name, "input")
            for rate in (RATE, int(device["default_samplerate"])):
                try:
                    return _Input(self._library, device["index"], rate, take, self._stream_guard())
                except DeviceError as error:
                    trouble = error
            raise trouble

    def open_output(self, name: str) -> Loudspeaker:
        """At the voice's rate, else at the device's own."""
        with self._lock:
            device = self._device(name, "output")
            for rate in (SPOKEN_RATE, int(device["default_samplerate"])):
                try:
                    return _Output(self._library, device["index"], rate, self._stream_guard())
                except DeviceError as error:
                    trouble = error
            raise trouble

    def refresh(self) -> None:
        """Start the library again, which ends every stream."""
        with self._lock:
            self._generation += 1
            self._ask(self._library._terminate)
            self._ask(self._library._initialize)

    def _stream_guard(self) -> Guard:
        """Lets a stream of this generation work, and keeps a dead one from touching anything."""
        born = self._generation

        @contextlib.contextmanager
        def guard() -> Iterator[bool]:
            with self._lock:
                yield born == self._generation

        return guard

    def _device(self, name: str, kind: str) -> Any:
        """The first device with `name` in its name; empty: the system's own choice."""
        try:
            return self._library.query_devices(name or None, kind)
        except (ValueError, self._library.PortAudioError) as error:
            what = {"input": "microphone", "output": "loudspeaker"}[kind]
            here = ", ".join(self.names(kind))
            named = f" named {name!r} among {here}" if name and here else ""
            raise DeviceError(
                f"no {what}{named}: plug one in, or name one in the settings"
            ) from error

    def _ask(self, what: Callable[[], Any]) -> Any:
        try:
            return what()
        except self._library.PortAudioError as error:
            raise _trouble("sound card", error) from error


class _Input:
    """A running input stream."""

    def __init__(self, library: Any, device: int, rate: int, take: Take, guard: Guard) -> None:
        self.overflows = 0
        self._guard = guard

        def callback(indata: Any, frames: int, time: Any, status: Any) -> None:
            take(bytes(indata))  # copied: the buffer is used again at once
            if status.input_overflow:
                self.overflows += 1

        try:
            self._stream = library.RawInputStream(
                samplerate=rate,
                blocksize=rate // BLOCKS_A_SECOND,
                device=device,
                channels=1,
                dtype="int16",
                latency=BUFFER,
                callback=callback,
            )
            self._stream.start()
        except library.PortAudioError as error:
            raise _trouble("microphone", error) from error

    def close(self) -> None:
        """Let go."""
        with self._guard() as alive:
            if alive:
                self._stream.close(ignore_errors=True)


class _Output:
    """A running output stream, kept open between sentences."""

    def __init__(self, library: Any, device: int, rate: int, guard: Guard) -> None:
        self.rate = rate
        self._guard = guard
        self._error = library.PortAudioError
        try:
            self._stream = library.RawOutputStream(
                samplerate=rate, device=device, channels=1, dtype="int16", latency=BLOCK
            )
            self._stream.start()
        except self._error as error:
            raise _trouble("loudspeaker", error) from error

    def play(self, block: array[int]) -> None:
        self._do(lambda: self._stream.write(block.tobytes()))

    def drain(self) -> None:
        # silence as long as the device's buffer: when it is taken, the words have sounded
        self.play(array("h", bytes(2 * round(self._stream.latency * self.rate))))

    def hush(self) -> None:
        self._do(self._stream.abort)
        self._do(self._stream.start)

    def close(self) -> None:
        with self._guard() as alive:
            if alive:
                self._stream.close(ignore_errors=True)

    def _do(self, what: Callable[[], object]) -> None:
        with self._guard() as alive:
            if not alive:
                raise DeviceError("loudspeaker: looked for anew: say it again")
            try:
                what()
            except self._error as error:
                raise _trouble("loudspeaker", error) from error


def _trouble(device: str, error: Exception) -> DeviceError:
    reason = " ".join(str(error.args[0] if error.args else error).split())
    return DeviceError(f"{device}: {reason}: look at its plug, or name another in the settings")


def _sounddevice() -> Any:
    try:
        import sounddevice
    except (OSError, ImportError) as error:
        raise DeviceError(NO_PORTAUDIO) from error
    return sounddevice
