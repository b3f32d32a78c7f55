"""Vosk: sound in 100 ms blocks -> the text of one utterance.

One recogniser per utterance. It hears by the strict grammar of our whole language; which of its
guesses counts is decided by what is a command now. An utterance ends when the model's endpoint
rules say so, or earlier: as soon as what was heard is one whole command that has stood still for
a moment, that nothing longer can follow, and after which the speaker is silent.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.core.endings import Attention
from assistant.core.guesses import Guess, choose
from assistant.core.language import Language
from assistant.edges import grammar_file
from assistant.edges.level import loudness
from assistant.errors import ConfigError

RATE = 16_000
BLOCK = 1_600  # samples: 100 ms
GUESSES = 8
# Blocks without a change after which a command is over; the second if a longer one begins like it,
# the third if it is too loud to tell that nobody goes on speaking.
STILL, STILL_OPEN, STILL_LOUD = 2, 3, 5
FALLS = 12.0  # dB from the loudest block of an utterance to the silence after it
LEAD = 12  # blocks kept from before the first word shows, half a second after it began
# The model's rules end an utterance after half a second of silence, and know of it some blocks
# later. So many blocks of it are taken out, so many times: two seconds, while a command may go on.
PAUSE, KNOWN_LATER, PATIENCE = 3, 4, 7
QUIET = -2  # below warnings: it warns of every utterance that has several guesses
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
        self._vosk = _vosk()
        self.folder = folder
        self._model = self._loaded(folder)
        self._language: Language | None = None

    def _loaded(self, folder: Path) -> Any:
        try:
            return self._vosk.Model(str(folder))
        except Exception as error:
            raise ConfigError(f"{self.folder}: the speech model does not load: {error}") from error

    def speak(self, language: Language) -> None:
        """Load the model with this language; a large model has its own and keeps it."""
        if language is self._language or not (self.folder / grammar_file.GRAMMAR).exists():
            return
        vocabulary = grammar_file.read_vocabulary(self.folder)
        self._model = None  # not two of them in memory
        with grammar_file.model_that_speaks(language, self.folder, vocabulary) as folder:
            self._model = self._loaded(folder)
        self._language = language

    def knows(self, word: str) -> bool:
        """Whether a word is in the vocabulary. Unknown words would be dropped in silence."""
        return int(self._model.vosk_model_find_word(word)) >= 0

    def unknown(self, words: Sequence[str]) -> list[str]:
        """The words it does not know, sorted."""
        return sorted(word for word in set(words) if not self.knows(word))

    def recogniser(self, language: Language, rate: int = RATE) -> Any:
        """A fresh recogniser for a language."""
        self.speak(language)
        recogniser = self._vosk.KaldiRecognizer(self._model, rate)
        recogniser.SetMaxAlternatives(GUESSES)
        return recogniser


class Listener:
    """Hears one utterance at a time.

    A command that has not changed for some blocks ends the utterance without waiting for silence:
    sooner if nothing longer can follow than if only the same at more length can. A breath after an
    address may end a piece, and then the rest is waited for. So it is after half a command: what
    was said before the pause is heard again with what comes, as if there had been none.
    """

    def __init__(
        self, model: Model, language: Language, attention: Attention, rate: int = RATE
    ) -> None:
        """Ready for the first block."""
        self._fresh: Callable[[], Any] = lambda: model.recogniser(language, rate)
        self._recogniser = self._fresh()
        self._piece_sound: list[bytes] = []  # to be heard again if a look came too early
        self._attention = attention
        self._partial, self._unchanged, self._pauses = "", 0, 0
        self.before = ""  # who is meant, said before a breath

    def feed(self, block: bytes) -> str | None:
        """Take 16-bit mono samples; the text once the utterance has ended ("" = nothing heard)."""
        self._piece_sound.append(block)
        if self._recogniser.AcceptWaveform(block):
            return self._piece(self._recogniser.Result())
        partial = str(json.loads(self._recogniser.PartialResult()).get("partial", "")).strip()
        self._unchanged = self._unchanged + 1 if partial == self._partial else 0
        self._partial = partial
        if not partial:
            del self._piece_sound[:-LEAD]
        standing = self._joined(partial)
        if not self._stands(standing):
            return None
        text = self.finish()
        if self._attention.meaning(text) == self._attention.meaning(standing):
            return text
        self._go_on()
        return None

    def _go_on(self) -> None:
        """Hear it again, and what follows: a long word shows before it is said to its end."""
        self._recogniser, self._unchanged = self._fresh(), 0
        for block in self._piece_sound:
            self._recogniser.AcceptWaveform(block)

    def _stands(self, text: str) -> bool:
        told = self._attention
        if not self._partial or self._unchanged < STILL or told.is_address(text):
            return False
        if told.is_complete(text):
            return self._unchanged >= STILL_LOUD or self._silent()
        return self._unchanged >= STILL_OPEN and told.is_settled(text) and self._silent()

    def _silent(self) -> bool:
        """Whether the speaker is silent: a word shows up to half a second after it began."""
        levels = [loudness(block) for block in self._piece_sound]
        return max(levels[-STILL:]) <= max(levels) - FALLS

    @property
    def heard(self) -> str:
        """What was heard since the last breath."""
        return self._partial

    def finish(self) -> str:
        """End the utterance here."""
        return self._joined(self._chosen(self._recogniser.FinalResult()))

    def _piece(self, result: str) -> str | None:
        text = self._chosen(result)
        whole = self._joined(text)
        addressed = self._attention.is_address(whole)
        goes_on = text and not addressed and self._attention.is_unfinished(whole)
        if goes_on and self._pauses < PATIENCE:
            self._pauses, self._partial = self._pauses + 1, text
            del self._piece_sound[-PAUSE - KNOWN_LATER : -KNOWN_LATER]
            self._go_on()
            return None
        self._piece_sound.clear()
        self._partial = ""
        if (text and addressed) or (self.before and not text):
            self.before = whole
            return None
        return whole

    def _chosen(self, result: str) -> str:
        return choose(_guesses(result), lambda text: self._attention.meaning(self._joined(text)))

    def _joined(self, text: str) -> str:
        return f"{self.before} {text}".strip()


def hear(listener: Listener, samples: bytes) -> Utterance:
    """What a recording says, as one utterance with the moment it was known."""
    used = 0
    for block in blocks(samples):
        used += len(block) // 2
        if text := listener.feed(block):
            return Utterance(text, used)
    return Utterance(listener.finish(), used)


def blocks(samples: bytes) -> Iterator[bytes]:
    """Cut 16-bit samples into 100 ms blocks."""
    for start in range(0, len(samples), 2 * BLOCK):
        yield samples[start : start + 2 * BLOCK]


def _guesses(result: str) -> list[Guess]:
    """Best first; a text that differs only in its silences comes once."""
    said = json.loads(result)
    found: dict[str, float] = {}
    for guess in said.get("alternatives", [{"text": said.get("text", ""), "confidence": 0.0}]):
        found.setdefault(str(guess["text"]).strip(), float(guess["confidence"]))
    return list(found.items())


def _vosk() -> Any:
    """The wheel, quiet: it logs to standard error by itself."""
    import vosk

    vosk.SetLogLevel(QUIET)
    return vosk
