"""What does a salon sound like behind a voice: dryer, running water, chatter?

All of it is synthesised, none is recorded: no recording of a hair dryer with a usable licence was
found. A dryer is shaped air with the tones of its fan blades and a motor whine; water is two
bands of hiss that come and go, with bubbles; chatter is six other voices in the same room.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from assistant.forge.fixtures_room import HZ, Wave, draw_room, impulse_response, reverberate

DRYER_HZ = 48_000  # the whine lies above what 16 kHz can hold: made here, then decimated
BLADE_TONES = 8
CHATTER_VOICES = 6
CHATTER_DISTANCE = (1.5, 2.3)
DITHER_DBFS = -70.0


def level_db(wave: Wave) -> float:
    """RMS level against full scale 1.0."""
    return float(10 * np.log10(np.mean(np.square(wave)) + 1e-20))


def dither(samples: int, rng: np.random.Generator) -> Wave:
    """A hiss at DITHER_DBFS: digital silence spoils recognisers and no microphone gives it."""
    return rng.normal(0.0, 10 ** (DITHER_DBFS / 20), samples)


def shaped(
    samples: int, corners: Sequence[tuple[float, float]], hz: int, rng: np.random.Generator
) -> Wave:
    """Noise whose spectrum follows (Hz, dB) corners, straight lines between them."""
    spectrum = np.fft.rfft(rng.normal(size=samples))
    frequency = np.fft.rfftfreq(samples, 1 / hz)
    places, heights = zip(*corners, strict=True)
    curve = np.interp(np.log(frequency + 1.0), np.log(np.array(places) + 1.0), heights)
    return np.asarray(np.fft.irfft(spectrum * 10 ** (curve / 20), samples))


def slow_wander(samples: int, hz: int, per_second: float, rng: np.random.Generator) -> Wave:
    """A smooth random line around 0 with spread 1, with about so many bends a second."""
    count = max(4, int(samples / hz * per_second) + 3)
    knots = rng.normal(size=count)
    return np.interp(np.linspace(0, count - 1, samples), np.arange(count), knots)


def resample(wave: Wave, old: int, new: int) -> Wave:
    """Another sample rate, by cutting or padding the spectrum of the whole sound."""
    samples = round(len(wave) * new / old)
    spectrum = np.fft.rfft(wave)
    bins = samples // 2 + 1
    fitted = np.zeros(bins, dtype=complex)
    shared = min(bins, len(spectrum))
    fitted[:shared] = spectrum[:shared]
    return np.asarray(np.fft.irfft(fitted, samples) * new / old)


def dryer(seconds: float, rng: np.random.Generator) -> Wave:
    """Air, fan blades and motor; its loudness is set by the mixer, not here."""
    samples = int(seconds * DRYER_HZ)
    air = shaped(
        samples,
        ((0, -30), (120, -8), (600, 0), (2500, -3), (7000, -12), (20000, -30)),
        DRYER_HZ,
        rng,
    )
    blade = rng.uniform(100, 400) * (1 + 0.01 * slow_wander(samples, DRYER_HZ, 2, rng))
    turn = 2 * np.pi * np.cumsum(blade) / DRYER_HZ
    tones = sum(
        rng.uniform(0.3, 1) / part * np.sin(part * turn + rng.uniform(0, 6))
        for part in range(1, BLADE_TONES + 1)
    )
    pitch = rng.uniform(10_000, 13_000) * (1 + 0.003 * slow_wander(samples, DRYER_HZ, 3, rng))
    whine_turn = 2 * np.pi * np.cumsum(pitch) / DRYER_HZ
    whine = np.sin(whine_turn) + 0.3 * np.sin(whine_turn / 2)  # half the pitch: an uneven armature
    parts = ((air, 0.0), (np.asarray(tones), -8.0), (whine, -20.0))
    made = sum(part / part.std() * 10 ** (db / 20) for part, db in parts)
    return resample(np.asarray(made), DRYER_HZ, HZ)


def water(seconds: float, rng: np.random.Generator) -> Wave:
    """A running basin tap: splash and spray that come and go, and bubbles that ring and die."""
    samples = int(seconds * HZ)
    splash = shaped(samples, ((0, -40), (300, -12), (900, 0), (2200, -6), (8000, -25)), HZ, rng)
    spray = shaped(samples, ((0, -60), (1500, -20), (3500, 0), (8000, -4)), HZ, rng)
    bands = ((splash, 0.25, 5.0, 0.0), (spray, 0.35, 9.0, -3.0))
    made = np.zeros(samples)
    for band, depth, bends, db in bands:
        swell = np.exp(depth * slow_wander(samples, HZ, bends, rng))
        made += band / band.std() * swell * 10 ** (db / 20)
    bubbles = _bubbles(samples, rng)
    made += bubbles / (bubbles.std() + 1e-9) * 10 ** (-8 / 20)
    return made


def _bubbles(samples: int, rng: np.random.Generator) -> Wave:
    """About thirty a second; a small bubble rings higher and dies sooner."""
    heard = np.zeros(samples)
    for start in rng.integers(0, samples, int(30 * samples / HZ)):
        pitch = rng.uniform(400, 2500)
        time = np.arange(min(int(0.06 * HZ), samples - start)) / HZ
        rise = 1 + 4 * time  # a bubble's note climbs as it nears the surface
        heard[start : start + len(time)] += (
            rng.uniform(0.2, 1)
            * np.sin(2 * np.pi * pitch * rise * time)
            * np.exp(-time * pitch / 12)
        )
    return heard


def chatter(seconds: float, talkers: Sequence[Wave], rng: np.random.Generator) -> Wave:
    """Six voices talking at once, further away than the stylist, each in its own place."""
    samples = int(seconds * HZ)
    made = np.zeros(samples)
    for talker in talkers[:CHATTER_VOICES]:
        start = int(rng.integers(0, len(talker)))
        said = np.resize(np.roll(talker, -start), samples + HZ)
        response = impulse_response(draw_room(rng, CHATTER_DISTANCE), rng)
        heard = reverberate(said, response)[HZ : HZ + samples]  # the room already rings
        made += heard / (heard.std() + 1e-9) * 10 ** (rng.uniform(-4, 0) / 20)
    return made
