"""How does a small room change what a microphone hears?

A shoebox room by image sources: every wall sends back the same share of the sound, chosen so
that the measured reverberation time is the wanted one. No furniture, no frequency dependence:
a simulation, and every recording says so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Wave = NDArray[np.float64]
HZ = 16_000
SOUND_SPEED = 343.0
# A perfect box rings on a few notes; moving every mirror image a little breaks them up.
IMAGE_JITTER = 0.08
# A box of mirrors rings longer than Eyring says: measure, correct, measure again.
CORRECTIONS = 4
# Mirror images all have the same sign and would heap up the lowest notes.
RUMBLE_HZ = 80.0
REVERBERATION = (0.3, 0.6)
DISTANCE = (0.3, 1.2)


@dataclass(frozen=True, slots=True)
class Room:
    """Size in metres, reverberation time in seconds, and metres from mouth to microphone."""

    size: tuple[float, float, float]
    rt60: float
    distance: float

    def __str__(self) -> str:
        x, y, z = self.size
        return f"{x:.1f}x{y:.1f}x{z:.1f} m, RT60 {self.rt60:.2f} s, {self.distance:.2f} m"


def draw_room(rng: np.random.Generator, distance: tuple[float, float] = DISTANCE) -> Room:
    """A small salon room; the ranges are those of the module's constants."""
    x, y, z = rng.uniform((3.0, 3.5, 2.4), (5.0, 6.5, 3.0))
    rt60 = rng.uniform(*REVERBERATION)
    metres = rng.uniform(*distance)
    return Room((round(x, 1), round(y, 1), round(z, 1)), round(rt60, 2), round(metres, 2))


def wall_reflection(room: Room) -> float:
    """Share of the sound pressure that a wall sends back (Eyring)."""
    x, y, z = room.size
    surface = 2 * (x * y + y * z + x * z)
    absorbed = 1 - np.exp(-0.161 * x * y * z / (surface * room.rt60))
    return float(np.sqrt(1 - absorbed))


def impulse_response(room: Room, rng: np.random.Generator) -> Wave:
    """What the microphone hears of one click; the direct sound has height one at its delay."""
    size = np.array(room.size)
    microphone = size * rng.uniform(0.3, 0.7, 3)
    mouth = _mouth(microphone, size, room.distance, rng)
    images, bounces = _images(mouth, size, room.rt60)
    images += rng.uniform(-IMAGE_JITTER, IMAGE_JITTER, images.shape) * (bounces > 0)[:, None]
    metres = np.linalg.norm(images - microphone, axis=1)
    keep = metres < room.rt60 * SOUND_SPEED
    metres, bounces = metres[keep], bounces[keep]
    reflection = wall_reflection(room)
    for _ in range(CORRECTIONS):
        height = reflection**bounces * room.distance / metres
        response = _clicks(metres / SOUND_SPEED * HZ, height, int(room.rt60 * HZ) + 2)
        reflection **= measured_rt60(response) / room.rt60
    return response


def measured_rt60(response: Wave) -> float:
    """Three times the fall from -5 to -25 dB of the energy still to come (Schroeder, T20)."""
    left = np.cumsum(response[::-1] ** 2)[::-1]
    fall = 10 * np.log10(left / left[0] + 1e-12)
    return float(np.argmax(fall < -25) - np.argmax(fall < -5)) / HZ * 3


def reverberate(wave: Wave, response: Wave) -> Wave:
    """The sound as heard in the room, tail included, less the rumble."""
    length = len(wave) + len(response) - 1
    size = 1 << (length - 1).bit_length()
    heard = np.fft.rfft(wave, size) * np.fft.rfft(response, size)
    return without_rumble(np.fft.irfft(heard, size)[:length])


def without_rumble(wave: Wave) -> Wave:
    """Less what lies below RUMBLE_HZ: no microphone for speech takes it."""
    frequency = np.fft.rfftfreq(len(wave), 1 / HZ)
    kept = frequency**2 / (frequency**2 + RUMBLE_HZ**2)
    return np.asarray(np.fft.irfft(np.fft.rfft(wave) * kept, len(wave)))


def direct_delay(room: Room) -> float:
    """Seconds from mouth to microphone."""
    return room.distance / SOUND_SPEED


def _mouth(microphone: Wave, size: Wave, distance: float, rng: np.random.Generator) -> Wave:
    """A place at the wanted distance that is inside the room."""
    while True:
        way = rng.normal(size=3) * (1, 1, 0.3)
        mouth = np.asarray(microphone + way / np.linalg.norm(way) * distance)
        if np.all(mouth > 0.2) and np.all(mouth < size - 0.2):
            return mouth


def _images(mouth: Wave, size: Wave, rt60: float) -> tuple[Wave, NDArray[np.int64]]:
    """Mirror images within the reverberation time, and the walls each one met."""
    reach = np.ceil(rt60 * SOUND_SPEED / size / 2).astype(int)
    axes, walls = [], []
    for axis in range(3):
        count = np.arange(-reach[axis], reach[axis] + 1)
        axes.append(
            np.concatenate([2 * count * size[axis] + sign * mouth[axis] for sign in (1, -1)])
        )
        walls.append(np.concatenate([np.abs(2 * count), np.abs(2 * count - 1)]))
    places = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    met = sum(np.meshgrid(*walls, indexing="ij"), start=np.zeros((), dtype=np.int64))
    return places, np.asarray(met).reshape(-1)


def _clicks(place: Wave, height: Wave, length: int) -> Wave:
    """Clicks between samples are shared by their two neighbours."""
    whole = place.astype(int)
    part = place - whole
    response = np.zeros(length + 1)
    np.add.at(response, whole, height * (1 - part))
    np.add.at(response, whole + 1, height * part)
    return response
