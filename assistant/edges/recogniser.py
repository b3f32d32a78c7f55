"""Vosk: sound in 100 ms blocks -> the text of one utterance, in one listening mode.

One recogniser per utterance (its grammar must not change while it runs). An utterance ends
when the model's endpoint rules say so, or earlier: as soon as what was heard is one whole
command that has stood still for a moment and that nothing longer can follow.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.errors import ConfigError

RATE = 16_000
BLOCK = 1_600  # samples: 100 ms
NEEDED = ("am/final.mdl", "conf/mfcc.conf", "conf/model.conf", "graph/HCLr.fst", "graph/Gr.fst")


def bundled_model() -> Path:
    """The English model that ships with the package."""
    return Path(__file__).resolve().parent.parent / "speech_model"


@dataclass(frozen=True, slots=True)
class Utterance:
    """What was heard, and how many samples after the first it was known."""

    text: str
    known_after: int


class Model:
    """A Vosk model folder, loaded once. One thread owns it and all recognisers made of it."""

    def __init__(self, folder: Path) -> None:
        """Load `folder`; `ConfigError` says what is wrong with it."""
        missing = [name for name in NEEDED if not (folder / name).exists()]
        if missing and not (folder / "graph" / "HCLG.fst").exists():
            raise ConfigError(
                f"{folder}: no speech model here ({missing[0]} is missing); "
                "give a folder with --model or reinstall the package"
            )
        vosk = _vosk()
        try:
            self._model = vosk.Model(str(folder))
        except Exception as error:
            raise ConfigError(f"{folder}: the speech model does not load: {error}") from error
        self._recogniser = vosk.KaldiRecognizer
        self.folder = folder

    def knows(self, word: str) -> bool:
        """Whether a word is in the vocabulary. Unknown words would be dropped in silence."""
        return int(self._model.vosk_model_find_word(word)) >= 0

    def unknown(self, words: Sequence[str]) -> list[str]:
        """The words it does not know, sorted."""
        return sorted(word for word in set(words) if not self.knows(word))

    def recogniser(self, grammar: Sequence[str], rate: int = RATE) -> Any:
        """A fresh recogniser for a grammar."""
        if not grammar or not all(isinstance(phrase, str) and phrase for phrase in grammar):
            raise ConfigError("an empty grammar would crash the recogniser: give phrases")
        return self._recogniser(self._model, rate, json.dumps(list(grammar), ensure_ascii=False))


class Listener:
    """Hears one utterance at a time.

    `complete` says whether a text is a whole command that nothing longer can follow; then the
    utterance ends after `stable` blocks without a change instead of waiting for silence.
    """

    def __init__(
        self,
        model: Model,
        grammar: Sequence[str],
        complete: Callable[[str], bool],
        stable: int = 3,
        rate: int = RATE,
    ) -> None:
        """Ready for the first block."""
        self._recogniser = model.recogniser(grammar, rate)
        self._complete = complete
        self._stable = stable
        self._partial, self._unchanged = "", 0

    def feed(self, block: bytes) -> str | None:
        """Take 16-bit mono samples; the text once the utterance has ended ("" = nothing heard)."""
        if self._recogniser.AcceptWaveform(block):
            return _text(self._recogniser.Result(), "text")
        partial = _text(self._recogniser.PartialResult(), "partial")
        self._unchanged = self._unchanged + 1 if partial == self._partial else 0
        self._partial = partial
        if partial and self._unchanged >= self._stable and self._complete(partial):
            final = self.finish()
            # the last look may still change the words: then it was not that command
            return final if final else partial
        return None

    @property
    def heard(self) -> str:
        """What was heard of the utterance until now."""
        return self._partial

    def finish(self) -> str:
        """End the utterance here."""
        return _text(self._recogniser.FinalResult(), "text")


def hear(
    listener: Listener, samples: bytes, address: Callable[[str], bool] = lambda _: False
) -> Utterance:
    """What a recording says, as one utterance with the moment it was known.

    A breath after the wake word or the chair may end a piece: while the text is only an
    `address` the rest is waited for, so that a command said in two breaths loses nothing.
    """
    pieces: list[str] = []
    used = 0
    for block in blocks(samples):
        used += len(block) // 2
        text = listener.feed(block)
        if text:
            pieces.append(text)
            if not address(" ".join(pieces)):
                return Utterance(" ".join(pieces), used)
    return Utterance(" ".join([*pieces, listener.finish()]).strip(), used)


def blocks(samples: bytes) -> Iterator[bytes]:
    """Cut 16-bit samples into 100 ms blocks."""
    for start in range(0, len(samples), 2 * BLOCK):
        yield samples[start : start + 2 * BLOCK]


def _text(result: str, key: str) -> str:
    return str(json.loads(result).get(key, "")).strip()


def _vosk() -> Any:
    """The wheel, quiet: it logs to standard error by itself."""
    import vosk

    vosk.SetLogLevel(-1)
    return vosk
