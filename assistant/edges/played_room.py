"""A room without a sound card: recordings as the microphone, what is said kept, devices unplugged.

The same listening and speaking code runs on it as on a card. Own speech may come back into the
microphone (`echo`), as it does in a small salon.
"""

from __future__ import annotations

import threading
from array import array
from dataclasses import dataclass

from assistant.edges.level import hiss
from assistant.edges.resample import resample
from assistant.edges.sound_card import BLOCKS_A_SECOND, Take
from assistant.edges.wav_files import Sound
from assistant.errors import DeviceError

BLOCK_SECONDS = 1 / BLOCKS_A_SECOND
FLOOR = 12  # peak of the room's own hiss: digital silence misleads the recogniser
FULL = 32767
PATIENCE = 2.0  # seconds that a block may wait for its turn
REFLECTIONS = ((0.000, 1.0), (0.011, 0.5), (0.023, 0.35), (0.061, 0.2), (0.110, 0.1))


@dataclass(frozen=True, slots=True)
class Playing:
    """A sound that begins at a sample of the room."""

    start: int
    samples: array[int]


class PlayedRoom:
    """A `Card`. Somebody calls `tick` for every tenth of a second."""

    def __init__(self, rate: int = 16_000, *, echo: float = 0.0, paced: bool = False) -> None:
        """Quiet. `echo`: own speech in the microphone, 1 = as loud as it left.

        `paced`: the loudspeaker takes a tenth of a second per `tick`, which another thread calls.
        """
        self.rate = rate
        self.microphone_there = self.loudspeaker_there = True
        self.said = array("h")  # everything that sounded, at the room's rate, from the start
        self._echo = echo
        self._step = rate // BLOCKS_A_SECOND
        self._place = 0  # samples since the start
        self._over = 0  # where the last sound that somebody plays will end
        self._take: Take | None = None
        self._playing: list[Playing] = []
        self._hiss = hiss(FLOOR, 2 * self._step + 317)
        self._paced = paced
        self._ticked = threading.Condition()
        self._taken = 0  # samples that the loudspeaker took in this tick

    @property
    def full(self) -> bool:
        """Whether the loudspeaker has all that sounds in this tick."""
        return self._taken >= self._step

    @property
    def seconds(self) -> float:
        """How long the room has been there."""
        return self._place / self.rate

    @property
    def still(self) -> float:
        """Seconds since somebody spoke or our own voice sounded; 0 while either does."""
        return max(0, self._place - max(self._over, len(self.said))) / self.rate

    def play(self, sound: Sound, at: float | None = None) -> float:
        """Somebody speaks (now, or at a time of the room); when it will be over."""
        samples = resample(sound, self.rate).samples
        start = self._place if at is None else round(at * self.rate)
        self._playing.append(Playing(start, samples))
        self._over = max(self._over, start + len(samples))
        return (start + len(samples)) / self.rate

    def tick(self) -> None:
        """A tenth of a second passes."""
        block = self._block()
        self._place += self._step
        self._playing = [p for p in self._playing if p.start + len(p.samples) > self._place]
        with self._ticked:
            self._taken = max(0, self._taken - self._step)
            self._ticked.notify_all()
        if self.microphone_there and self._take is not None:
            self._take(block.tobytes())

    def _block(self) -> array[int]:
        here = self._place % len(self._hiss)
        mixed = [*self._hiss[here : here + self._step]]
        mixed += self._hiss[: self._step - len(mixed)]
        for playing in self._playing:
            first = max(playing.start, self._place)
            after = self._place + self._step
            if first >= after:
                continue
            part = playing.samples[first - playing.start : after - playing.start]
            for offset, value in enumerate(part, start=first - self._place):
                mixed[offset] += value
        return array("h", (max(-FULL, min(FULL, value)) for value in mixed))

    # ----------------------------------------------------------- as a card

    def open_input(self, name: str, take: Take) -> _Ear:
        """The room's microphone."""
        if not self.microphone_there:
            raise DeviceError(
                "no microphone: plug one in, or name one in the settings (here: none)"
            )
        self._take = take
        return _Ear(self)

    def open_output(self, name: str) -> _Mouth:
        """The room's loudspeaker."""
        self.check_loudspeaker()
        return _Mouth(self)

    def check_loudspeaker(self) -> None:
        """`DeviceError` while it is unplugged."""
        if not self.loudspeaker_there:
            raise DeviceError("no loudspeaker: plug one in, or name one in the settings")

    def forget_input(self) -> None:
        """Nobody listens any more."""
        self._take = None

    def sounds(self, samples: array[int]) -> None:
        """Our own voice sounds for a moment, and comes back if there is an echo."""
        with self._ticked:
            if self._paced and not self._ticked.wait_for(lambda: not self.full, PATIENCE):
                raise DeviceError("loudspeaker: it takes no sound: look at its plug")
            self._taken += len(samples)
        missing = self._place - len(self.said)
        self.said.extend(array("h", bytes(2 * max(0, missing))))
        begins = len(self.said)
        self.said.extend(samples)
        if self._echo:
            for delay, level in REFLECTIONS:
                factor = level * self._echo
                heard = array("h", (round(value * factor) for value in samples))
                self._playing.append(Playing(begins + round(delay * self.rate), heard))


@dataclass(slots=True)
class _Ear:
    room: PlayedRoom
    overflows: int = 0

    def close(self) -> None:
        self.room.forget_input()


@dataclass(slots=True)
class _Mouth:
    room: PlayedRoom

    @property
    def rate(self) -> int:
        return self.room.rate

    def play(self, block: array[int]) -> None:
        self.room.check_loudspeaker()
        self.room.sounds(block)

    def drain(self) -> None:
        self.room.check_loudspeaker()

    def hush(self) -> None:
        self.room.check_loudspeaker()

    def close(self) -> None:
        """Nothing to let go of."""
