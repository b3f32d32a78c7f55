"""What does Kokoro-82M say for a line of text, and in which voice?

Weights and voices come as parts.py fetches them, the phonemes from Debian's espeak-ng run as a
program. All of it lands in a cache folder outside the repository; nothing of it is needed at run
time.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from assistant.errors import ConfigError
from assistant.forge import parts, voices

Wave = NDArray[np.float64]
KOKORO_HZ = 24_000
CACHE_SETTING = "SWATCHWORD_FORGE_CACHE"
# Kept for certification: they never train, tune or appear in a shipped recording.
CERTIFICATION_VOICES = voices.CERTIFICATION | {"joe"}
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
    """The synthesiser for a line of text; the engine and the parts are those of the training."""

    def __init__(self, folder: Path | None = None, threads: int = 1) -> None:
        self.folder = (folder or cache_folder()) / "packages"
        self.threads = threads
        self.folder.mkdir(parents=True, exist_ok=True)
        self.vocabulary: dict[str, int] = json.loads(parts.kokoro_symbols(self.folder))["vocab"]
        self.styles = {
            name: np.frombuffer(table, np.float32).reshape(-1, 256)
            for name, table in parts.kokoro_voices(self.folder)
            if name.startswith(ENGLISH) and name not in CERTIFICATION_VOICES
        }

    @cached_property
    def engine(self) -> voices.Processor:
        """The weights, opened at the first word."""
        return voices.Processor(parts.kokoro_model(self.folder), self.threads)

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
        row = style[min(len(tokens), len(style)) - 1]
        made, _ = self.engine.run([0, *tokens, 0], row, speed)
        return np.asarray(made, dtype=np.float64)
