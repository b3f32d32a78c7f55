"""The voice at the chair: one thread speaks what the queue gives, and can be cut at any block.

What it says first is decided by `core/speaking.py`. A sentence that cannot be spoken is beeped,
a loudspeaker that fails is reported for the screen to flash and opened again for the next
sentence. Every sentence ends in exactly one SpeechDone.
"""

from __future__ import annotations

import threading
from array import array
from collections.abc import Callable, Iterable
from typing import Literal, Protocol

from assistant.core.events import Priority, Say, SpeechDone, Unsay
from assistant.core.speaking import SpeechQueue
from assistant.edges import tones
from assistant.edges.loudspeaker import BLOCK, Loudspeaker, Opener
from assistant.edges.renderer import Rendered
from assistant.edges.resample import resample
from assistant.edges.wav_files import Sound
from assistant.errors import DeviceError

FULL = 32_767
Outcome = Literal["played", "cut", "failed"]


class Sentences(Protocol):
    """What it needs of the renderer."""

    def rendered(self, text: str) -> Rendered:
        """The sound of a text, or a beep."""


class LiveVoice:
    """Speaks in a thread of its own. `say` and `unsay` never wait and never raise."""

    def __init__(
        self,
        sentences: Sentences,
        open_loudspeaker: Opener,
        *,
        now: Callable[[], float],
        done: Callable[[SpeechDone], None],
        trouble: Callable[[str], None],
        volume: float = 1.0,
    ) -> None:
        """`done` is told the end of each sentence, `trouble` one line when words cannot sound.

        Both are called on the voice's own thread: they should only put something in a queue.
        """
        self.volume = volume
        self._sentences = sentences
        self._open = open_loudspeaker
        self._now, self._done, self._trouble = now, done, trouble
        self._queue = SpeechQueue()
        self._texts: dict[int, str] = {}
        self._changed = threading.Condition()
        self._cut = threading.Event()
        self._closing = False
        self._loudspeaker: Loudspeaker | None = None
        self._silent_since = now()
        self._thread = threading.Thread(target=self._run, name="voice", daemon=True)
        self._thread.start()

    def say(self, say: Say, text: str) -> None:
        """Queue a sentence; a more urgent one cuts the present one."""
        with self._changed:
            self._texts[say.id] = text
            if self._queue.push(say):
                self._cut.set()
            self._changed.notify()

    def unsay(self, unsay: Unsay) -> None:
        """Drop waiting calls that are no longer true."""
        with self._changed:
            self._queue.unsay(unsay)

    def prepare(self, texts: Iterable[str]) -> None:
        """Render fixed sentences before they are needed."""
        for text in texts:
            self._sentences.rendered(text)

    def speaking(self, tail: float) -> bool:
        """Whether it speaks now, or did so less than `tail` seconds ago (its echo may sound)."""
        with self._changed:
            return self._queue.current is not None or self._now() - self._silent_since < tail

    def stop(self) -> None:
        """Go silent, in the middle of a word if need be, and say nothing more. Never waits."""
        with self._changed:
            self._closing = True
            self._cut.set()
            self._changed.notify()

    def close(self) -> None:
        """Stop, and wait until the loudspeaker is let go of."""
        self.stop()
        self._thread.join()

    # ------------------------------------------------------------- its thread

    def _run(self) -> None:
        while (say := self._next()) is not None:
            outcome = self._speak(say.priority, self._texts.pop(say.id))
            with self._changed:
                self._queue.finished()
                self._silent_since = self._now()
            self._done(SpeechDone(self._silent_since, say.id, outcome))
        if self._loudspeaker is not None:
            self._loudspeaker.close()

    def _next(self) -> Say | None:
        """Wait for a sentence; None when it is time to go."""
        with self._changed:
            while not self._closing:
                say = self._queue.start_next()
                if say is not None:
                    self._cut.clear()
                    self._forget_dropped(say)
                    return say
                self._changed.wait()
            return None

    def _forget_dropped(self, say: Say) -> None:
        """Texts of calls that were dropped from the queue are not kept for ever."""
        if not len(self._queue):
            self._texts = {say.id: self._texts[say.id]}

    def _speak(self, priority: Priority, text: str) -> Outcome:
        made = self._sentences.rendered(text)
        if not made.spoken:
            self._trouble(f"could not be spoken: {text}")
        try:
            if self._loudspeaker is None:
                self._loudspeaker = self._open()
            whole = self._play(self._loudspeaker, priority, made.sound)
        except DeviceError as error:
            self._trouble(str(error))
            if self._loudspeaker is not None:
                self._loudspeaker.close()
                self._loudspeaker = None
            return "failed"
        if not whole:
            return "cut"
        return "played" if made.spoken else "failed"

    def _play(self, loudspeaker: Loudspeaker, priority: Priority, words: Sound) -> bool:
        """True if it sounded to its end."""
        rate = loudspeaker.rate
        samples = tones.lead(priority, rate).samples + resample(words, rate).samples
        step = round(BLOCK * rate)
        for place in range(0, len(samples), step):
            if self._cut.is_set():
                loudspeaker.hush()
                return False
            loudspeaker.play(_louder(samples[place : place + step], self.volume))
        loudspeaker.drain()
        return True


def _louder(block: array[int], factor: float) -> array[int]:
    if factor == 1.0:
        return block
    return array("h", (max(-FULL, min(FULL, round(value * factor))) for value in block))
