"""The process that holds one side of the sound card: `card_worker.py input|output NAME RATE`.

Why a process for each side: PortAudio's device list stands still from its start on, and starting
it again ends every open stream of its process. So looking for a lost microphone would silence
the loudspeaker in mid-call, and the other way round. Here each side is ended and begun anew
alone, a driver that hangs or crashes takes nothing with it, and the recogniser's work never keeps
a block of sound waiting. `card_worker.py names` lists what is there.

It speaks in messages: one byte of kind, four of length, then so many bytes.
"""

from __future__ import annotations

import json
import os
import queue
import signal
import struct
import sys
import threading
import time
from collections.abc import Callable
from typing import IO, Any

HEADER = struct.Struct("<cI")
OPEN, TROUBLE, NAMES = b"o", b"t", b"n"  # answers to the start; trouble may come at any time
BLOCK, LATE_BLOCK = b"b", b"l"  # from a microphone; late: sound was lost before it
PLAY, DRAIN, HUSH, DONE = b"p", b"d", b"h", b"k"  # to a loudspeaker, and its answer to each
BLOCKS_A_SECOND = 10
# seconds; with "high" the first block came after a second (a null sink, measured)
HEAR_BUFFER = 0.2
SPEAK_BUFFER = 0.06  # what was handed over sounds on when a sentence is cut
AHEAD = 0.05  # seconds that wait here when the next block is asked for
STUCK = 2.0  # seconds in which a loudspeaker must have taken something
NO_PORTAUDIO = "no sound: the PortAudio library is missing: 'apt install libportaudio2'"
WHAT = {"input": "microphone", "output": "loudspeaker"}


class Trouble(Exception):
    """One line for the other side."""


# ----------------------------------------------------------------- messages


def send(pipe: IO[bytes], kind: bytes, content: bytes = b"") -> None:
    """One message; `OSError` or `ValueError` if nobody is there to take it."""
    pipe.write(HEADER.pack(kind, len(content)) + content)
    pipe.flush()


def receive(pipe: IO[bytes]) -> tuple[bytes, bytes]:
    """The next message; `EOFError` if the other side is gone."""
    kind, length = HEADER.unpack(_exactly(pipe, HEADER.size))
    return kind, _exactly(pipe, length)


def _exactly(pipe: IO[bytes], count: int) -> bytes:
    content = pipe.read(count)
    if len(content) < count:
        raise EOFError
    return content


# ------------------------------------------------------------------ devices


def library() -> Any:
    """sounddevice, which loads PortAudio."""
    try:
        import sounddevice
    except (OSError, ImportError) as error:
        raise Trouble(NO_PORTAUDIO) from error
    return sounddevice


def names(sounds: Any) -> dict[str, list[str]]:
    """Devices that can hear and that can sound."""
    found = list(sounds.query_devices())
    return {
        side: [str(device["name"]) for device in found if device[f"max_{side}_channels"] > 0]
        for side in WHAT
    }


def device(sounds: Any, name: str, side: str) -> Any:
    """The first device with `name` in its name; empty: the system's own choice."""
    try:
        return sounds.query_devices(name or None, side)
    except (ValueError, sounds.PortAudioError) as error:
        here = ", ".join(names(sounds)[side])
        named = f" named {name!r} among {here}" if name and here else ""
        raise Trouble(
            f"no {WHAT[side]}{named}: plug one in, or name one in the settings"
        ) from error


def opened(sounds: Any, name: str, side: str, rate: int, make: Callable[[int, int], Any]) -> Any:
    """A running stream at the wished rate, else at the device's own."""
    found = device(sounds, name, side)
    for wished in (rate, int(found["default_samplerate"])):
        try:
            stream = make(found["index"], wished)
            stream.start()
        except sounds.PortAudioError as error:
            why = " ".join(str(error.args[0] if error.args else error).split())
        else:
            return stream
    raise Trouble(f"{WHAT[side]}: {why}: look at its plug, or name another in the settings")


def tell_open(out: IO[bytes], stream: Any) -> None:
    """It runs, at this rate."""
    send(out, OPEN, json.dumps({"rate": int(stream.samplerate)}).encode())


# --------------------------------------------------------------- microphone


def hear(sounds: Any, name: str, rate: int, into: IO[bytes], out: IO[bytes]) -> None:
    """Hand on blocks until the other side closes its pipe or the stream ends."""
    blocks: queue.SimpleQueue[tuple[bytes, bytes]] = queue.SimpleQueue()

    def callback(indata: Any, frames: int, when: Any, status: Any) -> None:
        # copied: the buffer is used again at once
        blocks.put((LATE_BLOCK if status.input_overflow else BLOCK, bytes(indata)))

    def make(index: int, wished: int) -> Any:
        return sounds.RawInputStream(
            samplerate=wished,
            blocksize=wished // BLOCKS_A_SECOND,
            device=index,
            channels=1,
            dtype="int16",
            latency=HEAR_BUFFER,
            callback=callback,
            finished_callback=lambda: blocks.put((TROUBLE, b"microphone: it stopped: look at it")),
        )

    stream = opened(sounds, name, "input", rate, make)
    threading.Thread(target=_end_with, args=(into,), daemon=True).start()
    tell_open(out, stream)
    kind = BLOCK
    while kind != TROUBLE:
        kind, content = blocks.get()
        send(out, kind, content)


def _end_with(into: IO[bytes]) -> None:
    """End this process, whatever its library hangs in, when the other side is gone."""
    into.read()
    os._exit(0)


# -------------------------------------------------------------- loudspeaker


class Waiting:
    """Sound on its way to the card. The card takes silence when there is none, so it never
    runs dry, never reports an underrun and never sleeps."""

    def __init__(self) -> None:
        self._bytes = bytearray()
        self._taken = threading.Condition()
        self.ended = False

    def put(self, block: bytes) -> None:
        """More to sound."""
        with self._taken:
            self._bytes += block

    def clear(self) -> None:
        """Nothing of it may sound."""
        with self._taken:
            self._bytes.clear()

    def fill(self, outdata: Any) -> None:
        """On the card's thread."""
        with self._taken:
            part = bytes(self._bytes[: len(outdata)])
            del self._bytes[: len(part)]
            self._taken.notify_all()
        outdata[:] = part + bytes(len(outdata) - len(part))

    def end(self) -> None:
        """The stream is over."""
        with self._taken:
            self.ended = True
            self._taken.notify_all()

    def until(self, most: int) -> None:
        """Return when at most so many bytes wait; `Trouble` if the card takes nothing."""
        with self._taken:
            before = len(self._bytes)
            while before > most and not self.ended:
                if not self._taken.wait(STUCK) and len(self._bytes) == before:
                    break
                before = len(self._bytes)
            if before > most or self.ended:
                raise Trouble("loudspeaker: it takes no sound: look at its plug")


def speak(sounds: Any, name: str, rate: int, into: IO[bytes], out: IO[bytes]) -> None:
    """Play what comes until the other side closes its pipe."""
    waiting = Waiting()

    def make(index: int, wished: int) -> Any:
        return sounds.RawOutputStream(
            samplerate=wished,
            device=index,
            channels=1,
            dtype="int16",
            latency=SPEAK_BUFFER,
            callback=lambda outdata, frames, when, status: waiting.fill(outdata),
            finished_callback=waiting.end,
        )

    stream = opened(sounds, name, "output", rate, make)
    tell_open(out, stream)
    while True:
        kind, block = receive(into)
        if kind == PLAY:
            waiting.put(block)
            waiting.until(2 * round(AHEAD * stream.samplerate))
        elif kind == DRAIN:
            waiting.until(0)
            time.sleep(stream.latency)  # taken is not yet sounded
        elif kind == HUSH:
            waiting.clear()
        send(out, DONE)


# --------------------------------------------------------------------- main


def main(arguments: list[str]) -> int:
    """Serve one side until the other process closes the pipe."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the other process, which ends us
    into, out = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a driver prints must not come between the messages
    try:
        return _serve(arguments, into, out)
    except Trouble as trouble:
        send(out, TROUBLE, str(trouble).encode())
        return 1
    except (EOFError, OSError):  # the other process is gone
        return 0
    finally:
        out.close()


def _serve(arguments: list[str], into: IO[bytes], out: IO[bytes]) -> int:
    sounds = library()
    if arguments == ["names"]:
        send(out, NAMES, json.dumps(names(sounds)).encode())
        return 0
    side, name, rate = arguments
    {"input": hear, "output": speak}[side](sounds, name, int(rate), into, out)
    return 0


if __name__ == "__main__":
    ended = main(sys.argv[1:])
    os._exit(ended)  # closing a stream of a device that is gone may hang
