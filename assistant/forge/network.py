"""What does the acoustic model compute? (PyTorch)

Forty MFCCs per 10 ms in, two numbers per phone per 30 ms out. The shape is that of the small Korean
model: a first layer over three frames, fourteen factored time-delay layers (768 wide, 64 in the
bottleneck) with a 0.66 bypass, three times fewer frames from the fourth on, a final bottleneck.
Batch norms are kept as a gain and an offset; gains stay positive so that they can be written back.
"""

from __future__ import annotations

import math

import torch
from torch import Tensor, nn
from torch.nn import functional

OFFSETS = (1, 1, 1, 0, *([3] * 10))  # time offsets of the factored layers
BYPASS = 0.66
CONTEXT = 34  # frames of past and future that one output sees
WIDTH, BOTTLENECK, INPUTS = 768, 64, 40
SMALLEST_GAIN = 1e-3
WARPS = (0.90, 0.93, 0.96, 1.0, 1.0, 1.0, 1.04, 1.08, 1.12)


class Features(nn.Module):
    """Kaldi's high-resolution MFCCs (20 to 7600 Hz, all 40 kept) of sound in int16 range."""

    window: Tensor
    mel: Tensor
    mels: Tensor
    cosine: Tensor

    def __init__(self) -> None:
        super().__init__()
        place = torch.arange(400, dtype=torch.float64)
        hann = 0.5 - 0.5 * torch.cos(2 * math.pi * place / 399)
        self.register_buffer("window", hann.pow(0.85).float())
        self.register_buffer("mel", mel_bank())
        self.register_buffer("mels", torch.stack([mel_bank(warp) for warp in WARPS]))
        self.register_buffer("cosine", cosine_transform())

    def log_mel(self, sound: Tensor, *, warped: bool = False) -> Tensor:
        """Log energies; warped: every row as if said by a longer or shorter throat."""
        frames = sound.unfold(1, 400, 160)
        frames = frames - frames.mean(-1, keepdim=True)
        first, rest = frames[..., :1] * 0.03, frames[..., 1:] - 0.97 * frames[..., :-1]
        spectrum = torch.fft.rfft(torch.cat([first, rest], -1) * self.window, 512)
        power = spectrum.real.square() + spectrum.imag.square()
        if warped:
            energies = torch.bmm(
                power, self.mels[torch.randint(len(WARPS), (len(power),), device=power.device)]
            )
        else:
            energies = power @ self.mel
        return torch.log(torch.clamp(energies, min=1.1920929e-07))

    def forward(self, sound: Tensor) -> Tensor:
        return self.log_mel(sound) @ self.cosine


def mel_bank(warp: float = 1.0) -> Tensor:
    """Triangles between 20 and 7600 Hz on the mel scale, over 257 bins of 31.25 Hz.

    A warp moves all frequencies by that factor, less and less above 4.8 kHz.
    """

    def mel(hertz: float) -> float:
        return 1127.0 * math.log(1 + hertz / 700.0)

    beyond = (8000 - 4800 * warp) / 3200
    low, step = mel(20.0), (mel(7600.0) - mel(20.0)) / (INPUTS + 1)
    bank = torch.zeros(257, INPUTS)
    for band in range(INPUTS):
        left, centre, right = (low + (band + k) * step for k in (0, 1, 2))
        for bin_number in range(256):
            hertz = bin_number * 16000 / 512.0
            at = mel(hertz * warp if hertz < 4800 else 4800 * warp + (hertz - 4800) * beyond)
            if left < at < right:
                rising = at <= centre
                slope = (at - left) / (centre - left) if rising else (right - at) / (right - centre)
                bank[bin_number, band] = slope
    return bank


def cosine_transform() -> Tensor:
    """DCT-II with Kaldi's scaling and liftering (22)."""
    n = torch.arange(INPUTS, dtype=torch.float64)
    rows = math.sqrt(2.0 / INPUTS) * torch.cos(math.pi / INPUTS * (n[None] + 0.5) * n[:, None])
    rows[0] = math.sqrt(1.0 / INPUTS)
    lifter = 1 + 0.5 * 22 * torch.sin(math.pi * n / 22)
    return (rows * lifter[:, None]).T.float().contiguous()


class Factored(nn.Module):
    """One factored layer: down to the bottleneck and up again, each over two moments in time."""

    def __init__(self, offset: int, bottleneck: int) -> None:
        super().__init__()
        self.offset = offset
        spliced = 2 if offset else 1
        self.down = nn.Parameter(torch.randn(bottleneck, WIDTH * spliced) / math.sqrt(WIDTH))
        self.up = nn.Parameter(torch.randn(WIDTH, bottleneck * spliced) / math.sqrt(bottleneck))
        self.bias = nn.Parameter(torch.zeros(WIDTH))
        self.gain = nn.Parameter(torch.ones(WIDTH))
        self.shift = nn.Parameter(torch.zeros(WIDTH))

    def forward(self, x: Tensor, dropout: float) -> Tensor:
        if self.offset:
            low = functional.linear(torch.cat([x[:, :-1], x[:, 1:]], -1), self.down)
            high = functional.linear(torch.cat([low[:, :-1], low[:, 1:]], -1), self.up, self.bias)
            kept = x[:, 1:-1]
        else:
            high = functional.linear(functional.linear(x, self.down), self.up, self.bias)
            kept = x
        fresh = functional.relu(high) * self.gain + self.shift
        return BYPASS * kept + drop(fresh, dropout)


def drop(x: Tensor, amount: float) -> Tensor:
    """Noise on whole channels, the same at all times, as Kaldi's continuous dropout."""
    if amount <= 0:
        return x
    noise = torch.rand(x.shape[0], 1, x.shape[2], device=x.device, dtype=x.dtype)
    return x * (1 + 2 * amount * (2 * noise - 1))


class Network(nn.Module):
    """Features (batch, frames, 40) -> (batch, ceil(frames / 3), outputs)."""

    def __init__(self, outputs: int, dropout: float = 0.0, bottleneck: int = BOTTLENECK) -> None:
        super().__init__()
        self.dropout, self.bottleneck = dropout, bottleneck
        self.first = nn.Linear(3 * INPUTS, WIDTH)
        self.first_gain = nn.Parameter(torch.ones(WIDTH))
        self.first_shift = nn.Parameter(torch.zeros(WIDTH))
        self.layers = nn.ModuleList(Factored(offset, bottleneck) for offset in OFFSETS)
        self.squeeze = nn.Parameter(torch.randn(BOTTLENECK, WIDTH) / math.sqrt(WIDTH))
        self.widen = nn.Linear(BOTTLENECK, WIDTH)
        self.widen_gain = nn.Parameter(torch.ones(WIDTH))
        self.widen_shift = nn.Parameter(torch.zeros(WIDTH))
        self.last = nn.Parameter(torch.randn(BOTTLENECK, WIDTH) / math.sqrt(WIDTH))
        self.last_gain = nn.Parameter(torch.ones(BOTTLENECK))
        self.last_shift = nn.Parameter(torch.zeros(BOTTLENECK))
        self.output = nn.Linear(BOTTLENECK, outputs)

    def forward(self, features: Tensor) -> Tensor:
        amount = self.dropout if self.training else 0.0
        frames = features.shape[1]
        steps = (frames + 2) // 3
        x = pad_edges(features, steps)
        x = torch.cat([x[:, :-2], x[:, 1:-1], x[:, 2:]], -1)
        x = functional.relu(self.first(x)) * self.first_gain + self.first_shift
        x = drop(x, amount)
        for place, layer in enumerate(self.layers):
            if place == 3:  # now at times -30, -29, ...: keep every third
                x = x[:, ::3][:, : steps + 20]
            x = layer(x, amount)
        x = functional.relu(self.widen(functional.linear(x, self.squeeze)))
        x = functional.linear(x * self.widen_gain + self.widen_shift, self.last)
        found: Tensor = self.output((x * self.last_gain + self.last_shift)[:, :steps])
        return found

    @torch.no_grad()
    def keep_gains_positive(self) -> None:
        """A batch norm can only be written with a positive gain."""
        gains: list[Tensor] = [
            parameter
            for name, parameter in self.named_parameters()
            if name.endswith("gain") and name != "last_gain"
        ]
        torch._foreach_clamp_min_(gains, SMALLEST_GAIN)


@torch.no_grad()
def widened(network: Network, bottleneck: int) -> Network:
    """The same function with a wider bottleneck in the factored layers, its new part still idle."""
    found = Network(network.output.out_features, network.dropout, bottleneck)
    state, kept = found.state_dict(), network.bottleneck
    for name, value in network.state_dict().items():
        if name.endswith(".down"):  # as loud as the old rows, heard by nobody so far
            state[name] *= value.std() / state[name].std()
            state[name][:kept] = value
        elif name.endswith(".up"):
            state[name].zero_()
            halves = zip(state[name].split(bottleneck, 1), value.split(kept, 1), strict=True)
            for new, old in halves:
                new[:, :kept] = old
        else:
            state[name] = value
    found.load_state_dict(state)
    return found


def pad_edges(features: Tensor, steps: int) -> Tensor:
    """Repeat the first and last frame as Kaldi does, far enough for the context on both sides."""
    batch, frames, width = features.shape
    after = CONTEXT + 3 * steps - frames
    return torch.cat(
        [
            features[:, :1].expand(batch, CONTEXT, width),
            features,
            features[:, -1:].expand(batch, after, width),
        ],
        1,
    )
