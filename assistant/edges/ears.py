"""Blocks of sound -> utterances in the present mode -> Heard. Owns the model and recognisers.

One recogniser per utterance. Talk that is not meant for us is not even passed on: what people
say in a salon is nobody's record. The wake word alone opens the ear for a whole command, as the
key does; "<wake>, chair two" waits a breath for the rest.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from assistant.core.endings import Attention
from assistant.core.events import Event, Heard, Mode
from assistant.core.intents import UNKNOWN, Names, Words
from assistant.core.language import language
from assistant.edges.gate import Gate
from assistant.edges.level import QUIETEST
from assistant.edges.level import loudness as loudness
from assistant.edges.microphone import Frame
from assistant.edges.recogniser import RATE, Listener, Model

WOKEN_SECONDS = 8.0  # after the key, or the wake word alone
BREATH_SECONDS = 2.0  # after the wake word and a chair
ONSET = 0.5  # seconds from the first sound of an utterance until it shows
LONGEST = 12.0  # seconds: no command is longer, talk is
BLOCK_SECONDS = 0.1
BEFORE = 3  # blocks that a new recogniser hears again, so that no first sound is cut
LEVELS = 100  # blocks whose loudness is remembered: ten seconds


class Ears:
    """`take` is called by one thread; `listen` and `wake` by any."""

    def __init__(
        self, model: Model, words: Words, names: Names, gate: Gate, tell: Callable[[Event], None]
    ) -> None:
        """Open mode until told otherwise."""
        self._model, self._words, self._names = model, words, names
        self._gate, self._tell = gate, tell
        self._mode: Mode = "open"
        self._woken_until = float("-inf")
        self._key = False
        self._listener: Listener | None = None
        self._how, self._rate = Attention(words, names, "open"), RATE
        self._began: float | None = None
        self._before: deque[bytes] = deque(maxlen=BEFORE)
        self._waits: float | None = None
        self._language = language(words, names)
        model.speak(self._language)  # now, not when somebody speaks
        self._levels: deque[float] = deque(maxlen=LEVELS)

    # ------------------------------------------------------ from other threads

    def listen(self, mode: Mode) -> None:
        """From the next utterance on, in this mode."""
        self._mode = mode

    def wake(self) -> None:
        """The key: the next utterance needs no wake word."""
        self._key = True

    @property
    def hearing(self) -> bool:
        """Somebody is saying words that we listen for."""
        return self._began is not None and self._waits is None

    @property
    def noise(self) -> float:
        """Loudness of the room between the words, in dB of full scale."""
        levels = sorted(self._levels)
        return levels[len(levels) // 5] if levels else QUIETEST

    # ------------------------------------------------------------- one thread

    def take(self, frame: Frame) -> None:
        """Hear one block."""
        if self._key:
            self._key, self._woken_until = False, frame.at + WOKEN_SECONDS
            self._forget()
        if self._gate.shut(frame.at - BLOCK_SECONDS, frame.at):
            self._forget()
            return
        self._levels.append(loudness(frame.samples))
        listener = self._ready(frame)
        samples = self._gate.without_leak(frame.samples, frame.at - BLOCK_SECONDS, frame.at)
        text = listener.feed(samples)
        self._before.append(samples)
        if self._began is None and set(listener.heard.split()) - {UNKNOWN}:
            self._began = frame.at - ONSET
        if text is None and self._over(listener, frame.at):
            text = listener.finish()
        if text is not None:
            self._ended(text, frame.at)

    def _over(self, listener: Listener, at: float) -> bool:
        """Nothing more is to come: too long for a command, or nothing followed the address."""
        alone = listener.before == self._words.wake
        if listener.before and not listener.heard:
            if self._waits is None:
                self._waits = at
                if alone:
                    self._woken_until = at + WOKEN_SECONDS
            self._began = at - ONSET
            return at - self._waits > (WOKEN_SECONDS if alone else BREATH_SECONDS)
        self._waits = None
        return self._began is not None and at - self._began > LONGEST

    def _ready(self, frame: Frame) -> Listener:
        """The listener of this utterance, a new one if it has not begun and the mode changed."""
        woken = frame.at < self._woken_until
        how = Attention(self._words, self._names, self._mode, woken)
        changed = (how, frame.rate) != (self._how, self._rate)
        if self._listener is None or (self._began is None and changed):
            self._how, self._rate = how, frame.rate
            self._listener = self._new()
            for block in self._before:
                self._listener.feed(block)
        return self._listener

    def _new(self) -> Listener:
        """For one utterance."""
        return Listener(self._model, self._language, self._how, self._rate)

    def _ended(self, text: str, at: float) -> None:
        how, began = self._how, self._began if self._began is not None else at - ONSET
        self._forget(keep_sound=not text)
        words = text.split()
        if text == self._words.wake:
            return
        addressed = how.woken or words[:1] == [self._words.wake]
        if not set(words) - {UNKNOWN} or not (addressed or how.mode != "open"):
            return
        if words[0] != self._words.wake:
            whole = how.is_complete(text)
            if self._gate.own(text, began, at, whole=whole):
                return
        if how.woken:
            self._woken_until = float("-inf")
        self._tell(Heard(at, text, began, woken=how.woken))

    def _forget(self, *, keep_sound: bool = False) -> None:
        """The next block begins a new utterance."""
        self._listener = self._began = self._waits = None
        if not keep_sound:
            self._before.clear()
