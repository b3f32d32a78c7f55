"""Where sound goes: the loudspeaker through sounddevice, or a silent twin without a sound card."""

from __future__ import annotations

from array import array
from collections.abc import Callable
from typing import Any, Protocol

from assistant.errors import DeviceError

BLOCK = 0.1  # seconds: a sentence can be cut after any block
WAKE = 0.2  # seconds of silence first: sleeping outputs swallow the first syllable


class Loudspeaker(Protocol):
    """An open output. Every method may raise `DeviceError`."""

    @property
    def rate(self) -> int:
        """Samples a second that it takes."""

    def play(self, block: array[int]) -> None:
        """Take a block; returns when there is room for the next."""

    def drain(self) -> None:
        """Return when everything taken has sounded."""

    def hush(self) -> None:
        """Forget what was taken and has not sounded."""

    def close(self) -> None:
        """Let go of the device. Never raises."""


Opener = Callable[[], Loudspeaker]


class SilentLoudspeaker:
    """Takes sound at once and keeps it, for tests and for machines without a sound card."""

    rate = 22_050

    def __init__(self, hears: Callable[[array[int]], None] | None = None) -> None:
        """`hears` is told every block before it is taken; it may raise as a device does."""
        self._hears = hears
        self.taken: array[int] = array("h")
        self.hushed = 0
        self.closed = False

    def play(self, block: array[int]) -> None:
        if self._hears is not None:
            self._hears(block)
        self.taken.extend(block)

    def drain(self) -> None:
        """Everything has sounded already."""

    def hush(self) -> None:
        self.hushed += 1

    def close(self) -> None:
        self.closed = True


class SoundCard:
    """A device of this machine, kept open between sentences."""

    def __init__(self, name: str | None = None, rate: int = 22_050) -> None:
        """Open by name (None = the system's own); `DeviceError` says what to do."""
        self._library = _sounddevice()
        self._stream: Any = None
        self.rate = rate
        try:
            try:
                self._open(name, rate)
            except self._library.PortAudioError:  # not every device takes every rate
                device = self._library.query_devices(name, "output")
                self.rate = int(device["default_samplerate"])
                self._open(name, self.rate)
        except (self._library.PortAudioError, ValueError, OSError) as error:
            raise _trouble(error) from error
        self.play(array("h", bytes(2 * round(WAKE * self.rate))))

    def _open(self, name: str | None, rate: int) -> None:
        self._stream = self._library.RawOutputStream(
            samplerate=rate, device=name, channels=1, dtype="int16", latency=BLOCK
        )
        self._stream.start()

    def play(self, block: array[int]) -> None:
        try:
            self._stream.write(block.tobytes())
        except (self._library.PortAudioError, OSError) as error:
            raise _trouble(error) from error

    def drain(self) -> None:
        # silence as long as the device's buffer: when it is taken, the words have sounded
        self.play(array("h", bytes(2 * round(self._stream.latency * self.rate))))

    def hush(self) -> None:
        try:
            self._stream.abort()
            self._stream.start()
        except (self._library.PortAudioError, OSError) as error:
            raise _trouble(error) from error

    def close(self) -> None:
        if self._stream is not None:
            self._stream.close(ignore_errors=True)


def _sounddevice() -> Any:
    try:
        import sounddevice
    except (ImportError, OSError) as error:  # OSError: the wheel has no PortAudio on Linux
        raise DeviceError(
            "no loudspeaker: PortAudio is missing: 'apt install libportaudio2'"
        ) from error
    return sounddevice


def _trouble(error: Exception) -> DeviceError:
    why = " ".join(str(error).split())
    return DeviceError(f"no loudspeaker: {why}: plug one in, or choose it in the settings")
