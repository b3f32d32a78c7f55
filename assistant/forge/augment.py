"""What happens to clean speech on its way to a salon's microphone? (PyTorch, whole batches)

Speed and pitch, a small room, the microphone's colour, a telephone now and then, other people, real
and synthetic noises (a dryer is air noise with blade harmonics, water is two moving bands), level
from near to far, clipping, and the 16-bit steps of a quiet recording.
"""

from __future__ import annotations

import math
import random

import torch
from torch import Tensor

RATE = 16000
ROOM = 8000  # samples of a room's answer


class Noises:
    """Pieces of recorded noise on the device."""

    def __init__(self, pieces: list[Tensor]) -> None:
        self.pieces = [p for p in pieces if len(p) > RATE // 2]
        self.whole = torch.cat(self.pieces)
        self.lengths = torch.tensor([len(p) for p in self.pieces], device=self.whole.device)
        self.starts = torch.cumsum(self.lengths, 0) - self.lengths

    def draw(self, count: int, length: int, device: torch.device) -> Tensor:
        """A row of noise each, from a random moment of a random piece, repeated where short."""
        picked = torch.randint(0, len(self.pieces), (count, 1), device=device)
        length_of = self.lengths[picked]
        at = (torch.rand(count, 1, device=device) * length_of).long()
        at = (at + torch.arange(length, device=device)[None]) % length_of
        return self.whole[self.starts[picked] + at].float() / 32768


def uniform(count: int, low: float, high: float, device: torch.device) -> Tensor:
    return torch.empty(count, 1, device=device).uniform_(low, high)


def decibels(value: Tensor) -> Tensor:
    return torch.pow(10.0, value / 20.0)


def fft_length(samples: int) -> int:
    return 1 << (samples - 1).bit_length()


def loudness(x: Tensor) -> Tensor:
    return x.std(1, keepdim=True) + 1e-5


def change_speed(x: Tensor, rates: Tensor, slowest: float) -> Tensor:
    """Play each row faster (rate over 1) or slower; pitch moves with it."""
    length = x.shape[1]
    longest = int(length / slowest) + 1
    at = torch.arange(longest, device=x.device)[None] * rates
    left = at.long()
    share = at - left
    inside = left < length - 1
    left = left.clamp(max=length - 2)
    return (x.gather(1, left) * (1 - share) + x.gather(1, left + 1) * share) * inside


def room(count: int, device: torch.device) -> Tensor:
    """Direct sound, a few early reflections and a tail that dies away in 0.1 to 0.6 s."""
    time = torch.arange(ROOM, device=device)[None] / RATE
    decay = uniform(count, 0.1, 0.6, device)
    tail = torch.randn(count, ROOM, device=device) * torch.exp(-6.9 * time / decay)
    tail = tail * (time > uniform(count, 0.002, 0.02, device))
    tail = tail / tail.square().sum(1, keepdim=True).sqrt()
    answer = tail * decibels(-uniform(count, 0, 18, device))
    early = torch.randint(16, 480, (count, 6), device=device)
    strength = torch.randn(count, 6, device=device) * 0.35
    answer.scatter_add_(1, early, strength)
    answer = answer * (torch.rand(count, 1, device=device) < 0.7)
    answer[:, 0] += 1.0
    return answer


def colour(count: int, bins: int, device: torch.device) -> Tensor:
    """A microphone's frequency response: smooth bumps of some dB, sometimes a telephone's band."""
    hertz = torch.linspace(0, RATE / 2, bins, device=device)[None]
    knots = torch.randn(count, 12, device=device) * uniform(count, 0, 5, device)
    place = torch.log(hertz / 100 + 1) / math.log(81) * 10.99
    left = place.long()
    share = place - left
    smooth = knots[:, left[0]] * (1 - share) + knots[:, left[0] + 1] * share
    kind = torch.rand(count, 1, device=device)
    low = torch.where(
        kind < 0.12, uniform(count, 150, 350, device), uniform(count, 10, 110, device)
    )
    high = torch.where(
        kind < 0.12,
        uniform(count, 3200, 3900, device),
        torch.where(
            kind < 0.3, uniform(count, 4500, 7500, device), uniform(count, 8000, 20000, device)
        ),
    )
    band = 1 / (1 + (low / (hertz + 1)) ** 6) / (1 + (hertz / high) ** 16)
    coloured: Tensor = decibels(smooth) * band
    return coloured


def shaped_noise(count: int, length: int, device: torch.device) -> Tensor:
    """Noise with a random slope and three bumps, its loudness moving slowly."""
    size = fft_length(length)
    hertz = torch.fft.rfftfreq(size, 1 / RATE).to(device)[None]
    shape = (hertz / 500 + 0.05) ** uniform(count, -1.2, 0.3, device)
    for _ in range(3):
        centre, width = uniform(count, 100, 7000, device), uniform(count, 100, 1500, device)
        bump = torch.exp(-(((hertz - centre) / width) ** 2))
        shape = shape * (1 + uniform(count, 0, 3, device) * bump)
    spectrum = torch.fft.rfft(torch.randn(count, size, device=device)) * shape
    noise = torch.fft.irfft(spectrum, size)[:, :length]
    time = torch.arange(length, device=device)[None] / RATE
    beat = torch.sin(2 * math.pi * uniform(count, 0.3, 8, device) * time)
    return noise / loudness(noise) * (1 + uniform(count, 0, 0.8, device) * beat)


def machine(count: int, length: int, device: torch.device) -> Tensor:
    """A dryer or extractor: air noise with harmonics of a blade rate that wanders a little."""
    time = torch.arange(length, device=device)[None] / RATE
    rate = uniform(count, 90, 450, device)
    wander = 1 + 0.01 * torch.sin(2 * math.pi * uniform(count, 0.1, 0.6, device) * time)
    hum = torch.zeros(count, length, device=device)
    for harmonic in range(1, 9):
        level = uniform(count, 0, 1, device) / harmonic**0.7
        hum = hum + level * torch.sin(2 * math.pi * rate * harmonic * time * wander)
    return shaped_noise(count, length, device) + uniform(count, 0.2, 1.5, device) * hum


def clatter(count: int, length: int, device: torch.device) -> Tensor:
    """Dishes, tools, steps: short rings and thuds at random moments over a quiet room."""
    knocks = torch.rand(count, length, device=device) < uniform(count, 0.3, 6, device) / RATE
    strength = torch.randn(count, length, device=device).abs() * knocks
    time = torch.arange(RATE // 4, device=device)[None] / RATE
    ring = torch.zeros(count, RATE // 4, device=device)
    for _ in range(4):
        pitch = torch.exp(uniform(count, math.log(180.0), math.log(6500.0), device))
        fading = torch.exp(-time * uniform(count, 12, 120, device))
        ring = ring + uniform(count, 0, 1, device) * fading * torch.sin(2 * math.pi * pitch * time)
    thud = torch.randn(count, RATE // 4, device=device) * torch.exp(
        -time * uniform(count, 40, 300, device)
    )
    ring = ring + thud * uniform(count, 0, 1, device)
    size = fft_length(length + RATE // 4)
    spectrum = torch.fft.rfft(strength, size) * torch.fft.rfft(ring, size)
    made = torch.fft.irfft(spectrum, size)[:, :length]
    quiet = shaped_noise(count, length, device) * uniform(count, 0.05, 0.6, device)
    return made / loudness(made) + quiet


def babble(speech: Tensor) -> Tensor:
    """Three to six other rows of the batch at once, shifted in time."""
    mixed = torch.zeros_like(speech)
    for _ in range(random.randint(3, 6)):
        rows = speech.roll(random.randint(1, max(1, len(speech) - 1)), 0)
        mixed = mixed + rows.roll(random.randrange(speech.shape[1]), 1) * random.uniform(0.4, 1)
    return mixed


def one_talker(speech: Tensor) -> Tensor:
    """A single other person in the background."""
    rows = speech.roll(random.randint(1, max(1, len(speech) - 1)), 0)
    return rows.roll(random.randrange(speech.shape[1]), 1)


def background(speech: Tensor, noises: Noises | None) -> Tensor:
    """A noise for every row, of unit loudness; the kind is drawn row by row."""
    count, length = speech.shape
    device = speech.device
    kind = torch.rand(count, 1, device=device)
    found = shaped_noise(count, length, device)
    choices = [
        (0.84, machine(count, length, device)),
        (0.64, clatter(count, length, device)),
        (0.52, babble(speech)),
    ]
    if noises is not None:
        choices.append((0.28, noises.draw(count, length, device)))
    if random.random() < 0.3:  # two at once, as in a real room
        found = found + 0.5 * machine(count, length, device)
    for below, noise in choices:
        found = torch.where(kind < below, noise / loudness(noise), found)
    return found / loudness(found)


def signal_to_noise(count: int, device: torch.device, hardness: float) -> Tensor:
    """dB; a quarter of the rows nearly clean, the rest from 30 down to 30 - 32 x hardness."""
    noisy = 30 - 32 * hardness * torch.rand(count, 1, device=device)
    clean = uniform(count, 30, 60, device)
    return torch.where(torch.rand(count, 1, device=device) < 0.25, clean, noisy)


def microphone(x: Tensor) -> Tensor:
    """Level, clipping now and then, an offset, 16-bit steps; int16 range comes out."""
    count, device = x.shape[0], x.device
    x = x / (x.abs().amax(1, keepdim=True) + 1e-6) * decibels(-uniform(count, 0, 34, device))
    clipped = torch.rand(count, 1, device=device) < 0.05
    x = torch.where(clipped, (x * 4).clamp(-0.6, 0.6), x)
    offset = torch.rand(count, 1, device=device) < 0.1
    x = x + offset * uniform(count, -0.02, 0.02, device)
    return torch.round(x * 32767)


def law_codec(x: Tensor) -> Tensor:
    """The 8-bit mu-law of a telephone line."""
    scaled = x / (x.abs().amax(1, keepdim=True) + 1e-6)
    packed = torch.sign(scaled) * torch.log1p(255 * scaled.abs()) / math.log(256)
    packed = torch.round(packed * 127) / 127
    return torch.sign(packed) * (torch.pow(256.0, packed.abs()) - 1) / 255


def augment(x: Tensor, speech: Tensor, noises: Noises | None, hardness: float) -> Tensor:
    """Rows of clean sound -> what a microphone hears; `speech` marks the samples of the speech."""
    count, length = x.shape
    size = fft_length(length + ROOM)
    spectrum = torch.fft.rfft(x, size) * torch.fft.rfft(room(count, x.device), size)
    wet = torch.fft.irfft(spectrum, size)[:, :length]
    power = (wet.square() * speech).sum(1, keepdim=True) / (speech.sum(1, keepdim=True) + 1)
    level = torch.where(power > 1e-10, power.sqrt(), torch.full_like(power, 0.01))
    ratio = signal_to_noise(count, x.device, hardness)
    noisy = wet + background(wet, noises) * level * decibels(-ratio)
    talker = one_talker(wet)
    near = torch.rand(count, 1, device=x.device) < 0.08
    noisy = noisy + near * talker * level / loudness(talker) * decibels(
        -uniform(count, 8, 20, x.device)
    )
    coloured = torch.fft.rfft(noisy, fft_length(length))
    coloured = coloured * colour(count, coloured.shape[1], x.device)
    heard = torch.fft.irfft(coloured, fft_length(length))[:, :length]
    coded = torch.rand(count, 1, device=x.device) < 0.06
    return microphone(torch.where(coded, law_codec(heard), heard))


def mask(log_mel: Tensor) -> Tensor:
    """Flatten a band of some rows and a moment of others, so that no single cue is relied on."""
    count, frames, bands = log_mel.shape
    device = log_mel.device
    place = torch.arange(bands, device=device)[None, None]
    low = torch.randint(0, bands, (count, 1, 1), device=device)
    wide = torch.randint(0, 8, (count, 1, 1), device=device)
    wide = wide * (torch.rand(count, 1, 1, device=device) < 0.3)
    inside = (place >= low) & (place < low + wide)
    log_mel = torch.where(inside, log_mel.mean(2, keepdim=True), log_mel)
    moment = torch.arange(frames, device=device)[None, :, None]
    for _ in range(2):
        start = torch.randint(0, frames, (count, 1, 1), device=device)
        lasts = torch.randint(0, 9, (count, 1, 1), device=device)
        lasts = lasts * (torch.rand(count, 1, 1, device=device) < 0.35)
        inside = (moment >= start) & (moment < start + lasts)
        log_mel = torch.where(inside, log_mel.mean(1, keepdim=True), log_mel)
    return log_mel
