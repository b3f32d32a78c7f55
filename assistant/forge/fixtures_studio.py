"""How is one recording made, again and the same way?

A line is said by a voice, heard in a small room, laid over a noise at a stated level and written
as 16 kHz G.711 mu-law. Rooms, levels and speeds are drawn from a seed that is the recording's
own name (whatever the wake word is), so that one recording can be made again without the others.

SNR rule: power of the reverberated speech over power of the noise, both over the span from the
start to the end of the speech, full band, dither not counted.
"""

from __future__ import annotations

import hashlib
from array import array
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from assistant.edges import recordings, wav_files
from assistant.edges.recordings import CLEAN, Recording
from assistant.edges.word_files import load_commands
from assistant.errors import ConfigError
from assistant.forge import fixtures_noise as noises
from assistant.forge import fixtures_room as rooms
from assistant.forge import fixtures_texts as texts
from assistant.forge.fixtures_room import HZ, Wave
from assistant.forge.fixtures_voices import CHATTER_VOICES, Cast, licence
from assistant.forge.synth import CERTIFICATION_VOICES, cache_folder

# Seconds of room before and after, so that the end can be heard. In a rehearsal a quiet room
# follows every recording anyway, and there are many of them: clean ones need only ring out.
LEAD, TAIL = 0.3, 0.9
REHEARSAL_LEAD, REHEARSAL_TAIL, CLEAN_REHEARSAL_TAIL = 0.2, 0.6, 0.35
SPEECH_DBFS = (-30.0, -24.0)
NOISE_CLIP_SECONDS, NOISE_CLIP_DBFS = 6.0, -34.0
PEAK = 0.9
SPEEDS = (0.92, 1.15)
NOISES = ("dryer", "water", "chatter")
QUIET = "quiet"
REHEARSAL = "rehearsal"


@dataclass(frozen=True, slots=True)
class Wanted:
    """One recording to make; no text means noise alone."""

    text: str
    voice: str
    noise: str
    snr_db: float | None
    set: str

    @property
    def file(self) -> str:
        """Its name."""
        return recordings.recording_name(self.text, self.voice, self.noise, self.snr_db)

    def draw(self, wake: str) -> np.random.Generator:
        """The same random numbers for this recording every time, whatever the wake word is."""
        seed = replace(self, text=texts.seed_text(self.text, wake)).file
        return np.random.default_rng(list(hashlib.sha256(seed.encode()).digest()))


class Studio:
    """Voices and the chatter bank, kept between recordings."""

    def __init__(self) -> None:
        self.cast = Cast()
        self._wake = load_commands().wake
        self._bank: dict[str, Wave] = {}

    def noise(self, name: str, seconds: float, without: str, draw: np.random.Generator) -> Wave:
        """So much of a noise; chatter never has the voice that is speaking."""
        if name == "dryer":
            return noises.dryer(seconds, draw)
        if name == "water":
            return noises.water(seconds, draw)
        if name == "chatter":
            others = [voice for voice in CHATTER_VOICES if voice != without]
            chosen = draw.choice(others, noises.CHATTER_VOICES, replace=False)
            return noises.chatter(seconds, [self._talk(str(v)) for v in chosen], draw)
        raise ConfigError(f"noise {name} is unknown: use {CLEAN}, {', '.join(NOISES)}")

    def _talk(self, voice: str) -> Wave:
        """A minute or so of small talk by one voice, kept in the cache folder."""
        if voice not in self._bank:
            said = texts.read_lines().chatter
            mark = hashlib.sha256("|".join(said).encode()).hexdigest()[:8]
            kept = cache_folder() / "chatter" / f"{voice}-{mark}.npy"
            if not kept.exists():
                kept.parent.mkdir(parents=True, exist_ok=True)
                start = CHATTER_VOICES.index(voice)
                lines = [said[(start + step) % len(said)] for step in range(3)]
                np.save(kept, np.concatenate([self.cast.say(line, voice, 1.0) for line in lines]))
            self._bank[voice] = np.load(kept)
        return self._bank[voice]

    def record(self, wanted: Wanted, folder: Path) -> Recording:
        """Make one recording and its line of the manifest."""
        if wanted.voice in CERTIFICATION_VOICES:
            raise ConfigError(f"voice {wanted.voice} is kept for certification: name another")
        draw = wanted.draw(self._wake)
        if not wanted.text:
            sound = self._noise_alone(wanted.noise, draw)
            return _keep(wanted, folder, sound, None, "none")
        speech = self.cast.say(wanted.text, wanted.voice, round(draw.uniform(*SPEEDS), 2))
        room = rooms.draw_room(draw)
        heard = rooms.reverberate(speech, rooms.impulse_response(room, draw))
        lead, tail = around(wanted)
        start = lead + rooms.direct_delay(room)
        span = (start, start + len(speech) / HZ)
        sound = np.zeros(int((span[1] + tail) * HZ))
        begin = int(lead * HZ)
        sound[begin : begin + len(heard)] = heard[: len(sound) - begin]
        sound *= 10 ** ((draw.uniform(*SPEECH_DBFS) - noises.level_db(_part(sound, span))) / 20)
        if wanted.snr_db is not None:
            behind = self.noise(wanted.noise, len(sound) / HZ + 0.1, wanted.voice, draw)
            sound += _at_snr(behind[: len(sound)], sound, span, wanted.snr_db)
        return _keep(wanted, folder, sound + noises.dither(len(sound), draw), span, str(room))

    def _noise_alone(self, name: str, draw: np.random.Generator) -> Wave:
        samples = int(NOISE_CLIP_SECONDS * HZ)
        floor = noises.dither(samples, draw)
        if name == QUIET:
            return floor
        made = self.noise(name, NOISE_CLIP_SECONDS, "", draw)[:samples]
        return floor + made * 10 ** ((NOISE_CLIP_DBFS - noises.level_db(made)) / 20)


def around(wanted: Wanted) -> tuple[float, float]:
    """Seconds of room before and after the speech."""
    if wanted.set != REHEARSAL:
        return LEAD, TAIL
    return REHEARSAL_LEAD, CLEAN_REHEARSAL_TAIL if wanted.noise == CLEAN else REHEARSAL_TAIL


def _part(sound: Wave, span: tuple[float, float]) -> Wave:
    return sound[int(span[0] * HZ) : int(span[1] * HZ)]


def _at_snr(noise: Wave, speech: Wave, span: tuple[float, float], snr_db: float) -> Wave:
    """The noise, as loud as the SNR rule says."""
    ratio = noises.level_db(_part(speech, span)) - noises.level_db(_part(noise, span))
    return np.asarray(noise * 10 ** ((ratio - snr_db) / 20))


def _keep(
    wanted: Wanted, folder: Path, sound: Wave, span: tuple[float, float] | None, room: str
) -> Recording:
    """Write the file, mended so that it cannot clip, and say what is in it."""
    sound = sound * min(1.0, PEAK / float(np.abs(sound).max()))
    samples = array("h", np.round(sound * 32767).astype(np.int16).tobytes())
    wav_files.write(folder / wanted.file, wav_files.Sound(HZ, samples), mulaw=True)
    return Recording(
        file=wanted.file,
        text=wanted.text,
        voice=wanted.voice,
        noise=wanted.noise,
        snr_db=wanted.snr_db,
        room=room,
        seconds=round(len(sound) / HZ, 3),
        speech_start=None if span is None else round(span[0], 3),
        speech_end=None if span is None else round(span[1], 3),
        licence=licence(wanted.voice) if wanted.text else "Apache-2.0 (synthesised here)",
        set=wanted.set,
        sha256=hashlib.sha256((folder / wanted.file).read_bytes()).hexdigest(),
    )
