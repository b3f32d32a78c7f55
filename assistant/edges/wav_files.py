"""WAV files: mono, 16-bit PCM or G.711 mu-law (the recordings), read and written without help."""

from __future__ import annotations

import contextlib
import struct
from array import array
from dataclasses import dataclass
from pathlib import Path

from assistant.errors import ConfigError, StoreError

PCM, MULAW = 1, 7
RATES = range(8_000, 48_001)


@dataclass(frozen=True, slots=True)
class Sound:
    """Mono sound: samples per second, 16-bit samples."""

    rate: int
    samples: array[int]

    @property
    def seconds(self) -> float:
        """How long it is."""
        return len(self.samples) / self.rate


def _mulaw_value(code: int) -> int:
    """The 16-bit value of a mu-law code (ITU-T G.711, 14-bit values times 4)."""
    code = ~code & 0xFF
    exponent, mantissa = (code >> 4) & 7, code & 15
    magnitude = ((mantissa << 3) + 0x84) << exponent
    return 0x84 - magnitude if code & 0x80 else magnitude - 0x84


_VALUES = [_mulaw_value(code) for code in range(256)]
_LOW = bytes(value & 0xFF for value in _VALUES)
_HIGH = bytes((value >> 8) & 0xFF for value in _VALUES)


def _mulaw_code(value: int) -> int:
    sign = 0x80 if value < 0 else 0
    magnitude = min(abs(value), 32635) + 0x84
    exponent = magnitude.bit_length() - 8
    return ~(sign | exponent << 4 | (magnitude >> (exponent + 3)) & 15) & 0xFF


def read(path: Path, rate: int | None = None) -> Sound:
    """The sound of a file; `ConfigError` says in one line what is wrong and what to do."""
    try:
        raw = path.read_bytes()
    except OSError as error:
        what = error.strerror or "unreadable"
        raise ConfigError(f"{path}: {what.lower()}: name a WAV file that is there") from error
    sound = _decode(raw, path)
    if rate is not None and sound.rate != rate:
        raise ConfigError(
            f"{path}: {sound.rate} samples a second, wanted {rate}: convert it, for example "
            f"'sox IN.wav -r {rate} OUT.wav'"
        )
    return sound


def write(path: Path, sound: Sound, *, mulaw: bool = False) -> None:
    """Write a file in one go (a torn one is never left); `StoreError` if the disk refuses."""
    samples: array[int] | bytes = _to_mulaw(sound.samples) if mulaw else sound.samples
    part = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as file:
            file.write(_header(sound.rate, len(samples), mulaw=mulaw))
            file.write(samples)  # not copied: a session at full length is large
            if mulaw and len(samples) % 2:
                file.write(b"\0")
        part.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise StoreError(
            f"{path}: not written: {error.strerror}: free space, or name another place"
        ) from error


def _to_mulaw(samples: array[int]) -> bytes:
    codes = {value: _mulaw_code(value) for value in set(samples)}
    return bytes(codes[value] for value in samples)


def _header(rate: int, count: int, *, mulaw: bool) -> bytes:
    width, kind = (1, MULAW) if mulaw else (2, PCM)
    fmt = struct.pack("<HHIIHH", kind, 1, rate, rate * width, width, 8 * width)
    size = count * width
    body = b"WAVEfmt " + struct.pack("<I", len(fmt)) + fmt + b"data" + struct.pack("<I", size)
    return b"RIFF" + struct.pack("<I", len(body) + size + size % 2) + body


def _decode(raw: bytes, path: Path) -> Sound:
    if not raw:
        raise ConfigError(f"{path}: the file is empty: record or make it again")
    if len(raw) < 12 or raw[:4] != b"RIFF" or raw[8:12] != b"WAVE":
        raise ConfigError(f"{path}: not a WAV file: give a 16-bit or mu-law mono WAV")
    chunks = _chunks(raw)
    if b"fmt " not in chunks or len(chunks[b"fmt "]) < 16 or b"data" not in chunks:
        raise ConfigError(f"{path}: the WAV file is cut off: make it again")
    kind, channels, rate, _, _, bits = struct.unpack("<HHIIHH", chunks[b"fmt "][:16])
    if channels != 1:
        raise ConfigError(
            f"{path}: {channels} channels: mix it down to one, for example "
            f"'sox IN.wav OUT.wav remix -'"
        )
    if rate not in RATES:
        raise ConfigError(f"{path}: {rate} samples a second: use 8000 to 48000")
    data = chunks[b"data"]
    if not data:
        raise ConfigError(f"{path}: no sound in it: record or make it again")
    if (kind, bits) == (MULAW, 8):
        return Sound(rate, _from_mulaw(data))
    if (kind, bits) == (PCM, 16):
        return Sound(rate, array("h", data[: len(data) // 2 * 2]))
    raise ConfigError(f"{path}: format {kind}, {bits} bits: give 16-bit PCM or mu-law")


def _from_mulaw(data: bytes) -> array[int]:
    both = bytearray(2 * len(data))
    both[0::2] = data.translate(_LOW)
    both[1::2] = data.translate(_HIGH)
    return array("h", bytes(both))


def _chunks(raw: bytes) -> dict[bytes, bytes]:
    """The chunks that are whole; one that is cut off is missing (so the caller notices)."""
    found: dict[bytes, bytes] = {}
    place = 12
    while place + 8 <= len(raw):
        name = raw[place : place + 4]
        (size,) = struct.unpack("<I", raw[place + 4 : place + 8])
        if place + 8 + size > len(raw):
            break
        found.setdefault(name, raw[place + 8 : place + 8 + size])
        place += 8 + size + size % 2
    return found
