"""What do the larger operators of the synthesiser's graph compute? Sums, layers, sound."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import torch
from torch import Tensor
from torch.nn import functional

from assistant.forge.operators import Settings, operator, together, whole


@operator("ReduceMean")
def mean(settings: Settings, x: Sequence[Any]) -> Tensor:
    return x[0].mean(whole(x[1]), keepdim=bool(settings["keepdims"]))  # type: ignore[no-any-return]


@operator("ReduceSum")
def total(settings: Settings, x: Sequence[Any]) -> Tensor:
    return x[0].sum(whole(x[1]), keepdim=bool(settings["keepdims"]))  # type: ignore[no-any-return]


@operator("LayerNormalization")
def layer_norm(settings: Settings, x: Sequence[Any]) -> Tensor:
    value, gain, shift = together(*x)
    return functional.layer_norm(value, value.shape[-1:], gain, shift, settings["epsilon"])


@operator("SkipLayerNormalization")
def skip_layer_norm(settings: Settings, x: Sequence[Any]) -> Tensor:
    first, second, gain, shift = together(*x)
    joined = first + second
    return functional.layer_norm(joined, joined.shape[-1:], gain, shift, settings["epsilon"])


@operator("MatMulInteger")
def matmul(_: Settings, x: Sequence[Any]) -> Tensor:
    return torch.matmul(*together(x[0], x[1]))


@operator("FusedMatMul")
def fused(settings: Settings, x: Sequence[Any]) -> Tensor:
    first, second = together(x[0], x[1])
    first = first.transpose(-1, -2) if settings.get("transA") else first
    return torch.matmul(first, second) * settings.get("alpha", 1.0)


@operator("Conv", "ConvInteger")
def convolve(settings: Settings, x: Sequence[Any]) -> Tensor:
    x = together(*(v for v in x[:3] if v is not None)) if len(x) < 4 else together(*x[:2])
    bias = x[2] if len(x) == 3 else None
    pad, step, wide = settings["pads"][0], settings["strides"][0], settings["dilations"][0]
    return functional.conv1d(x[0], x[1], bias, step, pad, wide, settings["group"])


@operator("ConvTranspose")
def widen(settings: Settings, x: Sequence[Any]) -> Tensor:
    x = together(*x)
    bias = x[2] if len(x) == 3 else None
    more = settings.get("output_padding", [0])[0]
    return functional.conv_transpose1d(
        x[0], x[1], bias, settings["strides"][0], settings["pads"][0], more, settings["group"]
    )


def lstm_weights(x: Sequence[Any]) -> list[Tensor]:
    """Per direction: input, recurrent, two biases, with the gates in PyTorch's order."""
    found = []
    for way in range(2):
        rows = []
        for place, scale, zero in ((1, 8, 9), (2, 10, 11)):
            packed, grain, origin = x[place], x[scale], x[zero]
            plain = (packed[way].float() - origin[way].float()) * grain[way]
            rows.append(gates(plain.T))
        half = x[3].shape[1] // 2
        rows += [gates(x[3][way][:half]), gates(x[3][way][half:])]
        found += [r.contiguous() for r in rows]
    return found


def gates(rows: Tensor) -> Tensor:
    """ONNX: input, output, forget, cell; PyTorch: input, forget, cell, output."""
    i, o, f, c = rows.chunk(4)
    return torch.cat([i, f, c, o])


@operator("DynamicQuantizeLSTM")
def lstm(settings: Settings, x: Sequence[Any]) -> tuple[Tensor, None, None]:
    weights = settings["weights"]
    sound: Tensor = x[0].to(weights[0].device)
    nothing = torch.zeros(2, sound.shape[1], settings["hidden_size"], device=sound.device)
    out, _, _ = torch.lstm(sound, [nothing, nothing], weights, True, 1, 0.0, False, True, False)
    steps, count, width = out.shape
    return out.reshape(steps, count, 2, width // 2).transpose(1, 2), None, None


@operator("STFT")
def spectrum(_: Settings, x: Sequence[Any]) -> Tensor:
    sound = x[0].squeeze(-1) if x[0].ndim == 3 else x[0]
    sound, window = together(sound, x[2])
    frames = sound.unfold(1, int(x[3]), int(x[1])) * window
    return torch.view_as_real(torch.fft.rfft(frames))


@operator("Resize")
def resize(settings: Settings, x: Sequence[Any]) -> Tensor:
    scale = float(x[2].reshape(-1)[-1])
    if settings["mode"] == b"nearest":
        return functional.interpolate(x[0], scale_factor=scale, mode="nearest")
    return functional.interpolate(
        x[0], scale_factor=scale, mode="linear", align_corners=False, recompute_scale_factor=False
    )


@operator("Pad")
def pad(settings: Settings, x: Sequence[Any]) -> Tensor:
    sizes = whole(x[1])
    half = len(sizes) // 2
    return functional.pad(x[0], (sizes[half - 1], sizes[-1]), settings["mode"].decode())
