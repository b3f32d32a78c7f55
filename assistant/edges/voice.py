"""Speaks at the chair: the order of speech, tones, cutting within a block, the echo gate.

The hub's thread calls `say` and `unsay`; one thread of its own calls `pump` again and again,
each time for a block of sound. What fails is told: a call that did not sound comes
again, and a beep stands in for words that could not be made.
"""

from __future__ import annotations

import contextlib
import logging
import threading
from array import array
from collections.abc import Callable, Iterator
from typing import Literal

from assistant.core.events import (
    DeviceBack,
    DeviceLost,
    Event,
    Say,
    SpeechDone,
    Unsay,
)
from assistant.core.speaking import SpeechQueue, waits
from assistant.edges import tones
from assistant.edges.gate import Gate
from assistant.edges.loudspeaker import BLOCK, WAKE, Loudspeaker
from assistant.edges.renderer import Rendered
from assistant.edges.resample import resample
from assistant.edges.sound_card import Card
from assistant.errors import DeviceError

log = logging.getLogger(__name__)
IDLE = 0.25  # seconds until the queue is looked at again if nobody says anything
HELD = 0.05
ASLEEP = 5.0  # seconds of silence after which an output may have gone to sleep
RETRY = 2.0  # seconds between two looks for a lost loudspeaker: a sentence's time on the screen
SOFT, LOUD = 0.45, 1.0  # volume in a quiet room, and the cap
QUIET_ROOM, LOUD_ROOM = -55.0, -30.0  # dB of full scale
FULL = 32767
Outcome = Literal["played", "cut", "failed"]


def volume(noise: float) -> float:
    """Louder in a louder room, up to a cap."""
    share = (noise - QUIET_ROOM) / (LOUD_ROOM - QUIET_ROOM)
    return SOFT + (LOUD - SOFT) * min(1.0, max(0.0, share))


class Voice:
    """One sentence at a time, the urgent first."""

    def __init__(
        self,
        card: Card,
        name: str,
        render: Callable[[str], Rendered],
        gate: Gate,
        *,
        now: Callable[[], float],
        tell: Callable[[Event], None],
        user_speaks: Callable[[], bool],
        noise: Callable[[], float],
    ) -> None:
        """Silent; `user_speaks` and `noise` come from the ears."""
        self.muted = False  # while a journal is folded: it was all said before
        self.lost = False  # told as lost and not yet as back; a journal may end so
        self._card, self._name, self._render, self._gate = card, name, render, gate
        self._now, self._tell, self._user_speaks, self._noise = now, tell, user_speaks, noise
        self._changed = threading.Condition()
        self._queue = SpeechQueue()
        self._texts: dict[int, str] = {}
        self._cut = False
        self._taken_at = 0.0
        self._blocks: Iterator[array[int]] | None = None
        self._loudspeaker: Loudspeaker | None = None
        self._again = False
        self._tried_at = self._silent_since = float("-inf")
        self._shown_until: float | None = None  # without a loudspeaker the screen shows it

    # ----------------------------------------------------- the hub's thread

    def say(self, say: Say, text: str) -> None:
        """Queue a sentence; a more urgent one cuts the present one."""
        if self.muted:
            return
        with self._changed:
            self._texts[say.id] = text
            self._cut = self._queue.push(say) or self._cut
            self._changed.notify()

    def unsay(self, unsay: Unsay) -> None:
        """Drop waiting calls that are no longer true."""
        with self._changed:
            self._queue.unsay(unsay)

    # --------------------------------------------------- the voice's thread

    def run(self, stopped: threading.Event) -> None:
        """Speak until stopped."""
        while not stopped.is_set():
            pause = self.pump()
            if pause:
                with self._changed:
                    self._changed.wait(pause)

    def pump(self) -> float:
        """One block of speech; seconds until it is worth calling again."""
        with self._changed:
            say = self._queue.current
            if say is None:
                say = self._queue.start_next()
                self._taken_at = self._now()
            cut = self._cut
        if say is None:
            self._keep_open()
            return IDLE
        try:
            return self._speak(say, cut)
        except DeviceError:
            return self._failed(say)
        except Exception:  # whatever it is: the next call must sound
            log.exception("speaking failed: %r", say)
            return self._failed(say)

    def close(self) -> None:
        """Fall silent and let go of the loudspeaker."""
        if self._loudspeaker is not None:
            self._loudspeaker.close()
            self._loudspeaker = None

    def _speak(self, say: Say, cut: bool) -> float:
        if self._shown_until is not None:
            return HELD if self._now() < self._shown_until else self._ended(say, "failed")
        if self._blocks is None:
            if cut:
                return self._ended(say, "cut")
            if self._user_speaks() and self._now() - self._taken_at < waits(say):
                return HELD
            self._blocks = self._begin(say)
        loudspeaker = self._open()
        block = None if cut else next(self._blocks, None)
        if block is not None:
            loudspeaker.play(block)
            return 0.0
        if cut:
            loudspeaker.hush()
            return self._ended(say, "cut")
        loudspeaker.drain()
        return self._ended(say, "played")

    def _begin(self, say: Say) -> Iterator[array[int]]:
        """Tone and words as blocks. The gate is shut for the words: a tone is no word."""
        text = self._texts[say.id]
        rate = self._open().rate
        made = self._render(text) if text else None
        lead = tones.lead(say.priority, rate).samples
        if self._now() - self._silent_since > ASLEEP:
            lead = array("h", bytes(2 * round(WAKE * rate))) + lead
        if made:
            self._sounds(made.spoken)
        step, level = round(BLOCK * rate), volume(self._noise())
        yield from _blocks(lead, step, level)
        if made:
            self._gate.speaks(self._now(), text, made.sound.seconds)
            yield from _blocks(resample(made.sound, rate).samples, step, level)

    def _open(self) -> Loudspeaker:
        """The loudspeaker, which stays open between sentences."""
        if self._loudspeaker is None:
            self._loudspeaker = self._card.open_output(self._name)
        return self._loudspeaker

    def _keep_open(self) -> None:
        """Open it before it is needed; look for a lost one, so that its return is told."""
        if self._loudspeaker is None and self._now() - self._tried_at >= RETRY:
            self._tried_at = self._now()
            with contextlib.suppress(DeviceError):  # the next sentence tells it
                self._open()
                self._sounds(True)

    def _sounds(self, well: bool) -> None:
        """Tell the going and coming of speech: a lasting beep is as bad as no loudspeaker."""
        if well and self.lost:
            self._tell(DeviceBack(self._now(), "loudspeaker"))
        if not well and not self.lost:
            self._tell(DeviceLost(self._now(), "loudspeaker"))
        self.lost = not well

    def _failed(self, say: Say) -> float:
        """Once more from the start if it was open a moment ago: it may only have stumbled.

        Else it is lost, and nothing is tried for as long as the sentence can be read.
        """
        was_open = self._loudspeaker is not None
        self.close()
        self._blocks = None
        self._gate.silent(self._now())
        if was_open and not self._again:
            self._again = True
            return 0.0
        self._sounds(False)
        self._shown_until = self._now() + RETRY
        return HELD

    def _ended(self, say: Say, outcome: Outcome) -> float:
        self._blocks, self._shown_until, self._again = None, None, False
        now = self._now()
        self._gate.silent(now)
        self._silent_since = now
        with self._changed:
            if not self._queue.finished(cut=outcome == "cut"):
                self._texts.pop(say.id, None)
            self._cut = False
        self._tell(SpeechDone(now, say.id, outcome))
        return 0.0


def _blocks(samples: array[int], step: int, level: float) -> Iterator[array[int]]:
    """Short pieces at a volume."""
    for start in range(0, len(samples), step):
        part = samples[start : start + step]
        yield array("h", (max(-FULL, min(FULL, round(v * level))) for v in part))
