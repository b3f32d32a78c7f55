"""Is everything there for a session? One finding per thing, with what to do about it.

Nothing that is recorded here is kept.
"""

from __future__ import annotations

import os
import queue
import shutil
import time
from array import array
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant import app
from assistant.core.events import Priority
from assistant.edges import recordings, tones, wav_files
from assistant.edges.clock import Sources
from assistant.edges.ears import loudness
from assistant.edges.recogniser import Model
from assistant.edges.renderer import Renderer
from assistant.edges.resample import resample
from assistant.edges.settings_file import Settings
from assistant.edges.sound_card import Card
from assistant.edges.wav_files import Sound
from assistant.errors import AssistantError, DeviceError

LISTENED = 3.0  # seconds
NOTHING = -85.0  # dB of full scale: less is a muted microphone, not a quiet room
LOUD, TOO_LOUD = -42.0, -30.0
SPOKEN = -24.0  # what usual speech comes to at arm's length on most microphones (from memory)
ROOM_FOR_A_DAY = 20 << 20  # bytes; a journal takes less than one megabyte
PHRASE = "start root tap"
TEST_SENTENCE = "This is how I sound. Crown, thirty, three zero."
Take = Callable[[], Iterator["Finding"]]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at."""

    name: str
    ok: bool
    what: str
    mend: str = ""

    def __str__(self) -> str:
        """ "microphone   ok         noise -52 dB: quiet enough"."""
        mark = "ok" if self.ok else "look here"
        return f"{self.name:<12} {mark:<10} {self.what}" + (f"; {self.mend}" if self.mend else "")


def guarded(name: str, look: Callable[[], Finding]) -> Finding:
    """What a look found, or the trouble that kept it from looking."""
    try:
        return look()
    except AssistantError as error:
        what, _, mend = str(error).splitlines()[0].rpartition(": ")
        return Finding(name, False, what or mend, mend if what else "")


# ------------------------------------------------------------------- ears


def model_and_words(model: Model, book: app.Book, chairs: int) -> Finding:
    """The speech model and what we listen for."""
    names = book.names(chairs)
    words = sorted(app.every_word(book.words, names))
    unknown = model.unknown(words)
    if unknown:
        mend = "use other words, or add them to the model (DEVELOPERS.md, 'Add a word')"
        return Finding("words", False, f"not known: {', '.join(unknown)}", mend)
    return Finding("words", True, f"all {len(words)} words we listen for are known")


def asked_words(model: Model, words: Sequence[str]) -> Iterator[Finding]:
    """Whether the model knows these words."""
    for word in words:
        known = model.knows(word.lower())
        mend = "" if known else "use another, or add it (DEVELOPERS.md, 'Add a word')"
        yield Finding(word, known, "known" if known else "not known", mend)


def recognised(model: Model, book: app.Book, chairs: int) -> Finding:
    """A shipped recording through the recogniser."""
    said = f"{book.words.wake} {PHRASE}"
    sound = wav_files.read(recordings.recording_for(said, "stylist", recordings.CLEAN, None))
    began = time.perf_counter()
    text = app.recorded_hearing(book, model, chairs).hear_sound(sound, "open").text
    took = time.perf_counter() - began
    if text != said:
        mend = "reinstall the speech model, or give another with --model"
        return Finding("recognition", False, f"heard {text!r} for {said!r}", mend)
    return Finding("recognition", True, f"a shipped recording is understood, in {took:.1f} s")


def microphone(card: Card, name: str) -> Finding:
    """Three seconds of the room."""
    noise = loudness(record(card, name, LISTENED))
    return noise_finding(noise)


def noise_finding(noise: float) -> Finding:
    """What a noise level means for somebody who wants to be heard."""
    said = f"noise {noise:.0f} dB of full scale, about {SPOKEN - noise:.0f} dB below your voice"
    if noise < NOTHING:
        mend = "unmute it, turn its level up, or name another in the settings"
        return Finding("microphone", False, "nothing comes in", mend)
    if noise > TOO_LOUD:
        mend = "too loud for an open microphone: use a headset or come within 30 cm"
        return Finding("microphone", False, said, mend)
    if noise > LOUD:
        return Finding("microphone", True, said + ": rather loud, come within half a metre")
    return Finding("microphone", True, said + ": quiet enough")


def record(card: Card, name: str, seconds: float) -> bytes:
    """So many seconds of the microphone; `DeviceError` if nothing comes."""
    blocks: queue.Queue[bytes] = queue.Queue()
    opened = card.open_input(name, blocks.put)
    try:
        return b"".join(blocks.get(timeout=2.0) for _ in range(round(seconds * 10)))
    except queue.Empty:
        raise DeviceError(
            "microphone: it sends nothing: plug it in again, or name another in the settings"
        ) from None
    finally:
        opened.close()


# ------------------------------------------------------------------ mouth


def speech(renderer: Renderer) -> Finding:
    """Text to sound."""
    sound = renderer.render(TEST_SENTENCE)
    return Finding("speech", True, f"sentences are made, {sound.seconds:.1f} s for a test")


def loudspeaker(card: Card, name: str, renderer: Renderer | None) -> Finding:
    """A tone and a sentence; a person must say whether they were heard."""
    speaker = card.open_output(name)
    try:
        samples = array("h", tones.lead(Priority.DUE, speaker.rate).samples)
        if renderer is not None:
            words: Sound = renderer.rendered(TEST_SENTENCE).sound
            samples += resample(words, speaker.rate).samples
        step = speaker.rate // 10
        for start in range(0, len(samples), step):
            speaker.play(samples[start : start + step])
        speaker.drain()
    finally:
        speaker.close()
    return Finding("loudspeaker", True, "a tone and a sentence were played: did you hear them?")


# ---------------------------------------------------------------- machine


def clock(sources: Sources | None = None) -> Finding:
    """Whether clocks survive sleep and a restart."""
    asked = sources or Sources()
    if not hasattr(time, "CLOCK_BOOTTIME"):
        return Finding("clock", True, "no clock that counts sleep: keep the machine awake")
    if not asked.boot_id() or not asked.rtc():
        what = "no real-time clock: after a power cut every clock is called out as in doubt"
        return Finding("clock", True, what)
    return Finding("clock", True, "counts through sleep and clock changes; survives a restart")


def disk(settings: Settings) -> Finding:
    """Whether the journal can be written, and how fast."""
    folder = settings.sessions
    path = folder / f".soundcheck-{os.getpid()}"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        began = time.perf_counter()
        with path.open("wb") as file:
            file.write(b"x")
            file.flush()
            os.fsync(file.fileno())
        took = (time.perf_counter() - began) * 1000
        path.unlink()
        free = shutil.disk_usage(folder).free
    except OSError as error:
        return Finding("disk", False, f"{folder}: {error.strerror}", "choose another folder")
    if free < ROOM_FOR_A_DAY:
        return Finding("disk", False, f"{free >> 20} MB free", "free some space")
    return Finding("disk", True, f"{folder}: {free >> 20} MB free, written in {took:.0f} ms")


def settings_finding(settings: Settings, path: Path) -> Finding:
    """What was read from where."""
    if not path.exists():
        return Finding("settings", True, f"none yet ({path}); everything as shipped")
    return Finding("settings", True, f"{path}: {settings.chairs} chairs")
