"""What does each operator of the synthesiser's graph do to numbers, shapes and places?

Tensors of a few whole numbers stay in main memory, the rest is on the device.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import torch
from torch import Tensor
from torch.nn import functional

Settings = dict[str, Any]
Operator = Callable[[Settings, Sequence[Any]], Any]
KINDS = {1: torch.float32, 6: torch.int64, 7: torch.int64, 9: torch.bool}
OPERATORS: dict[str, Operator] = {}


def operator(*names: str) -> Callable[[Operator], Operator]:
    def keep(function: Operator) -> Operator:
        OPERATORS.update(dict.fromkeys(names, function))
        return function

    return keep


def together(*values: Tensor) -> list[Tensor]:
    """On one device; single numbers may stay where they are."""
    away = next((v.device for v in values if v.device.type != "cpu"), None)
    if away is None:
        return list(values)
    return [v.to(away) if v.ndim and v.device.type == "cpu" else v for v in values]


def whole(value: Tensor) -> list[int]:
    return [int(v) for v in value.reshape(-1).tolist()]


# ------------------------------------------------------------------------- one number at a time
def pairwise(name: str, function: Callable[..., Tensor]) -> None:
    OPERATORS[name] = lambda _, x: function(*together(x[0], x[1]))


def alone(name: str, function: Callable[..., Tensor]) -> None:
    OPERATORS[name] = lambda _, x: function(x[0])


def divide(a: Tensor, b: Tensor) -> Tensor:
    return a / b if a.is_floating_point() else torch.div(a, b, rounding_mode="trunc")


PAIRS: dict[str, Callable[..., Tensor]] = {
    "Add": torch.add, "Sub": torch.sub, "Mul": torch.mul, "Div": divide, "Pow": torch.pow,
    "Equal": torch.eq, "Greater": torch.gt, "Less": torch.lt, "GreaterOrEqual": torch.ge,
    "And": torch.logical_and, "MatMul": torch.matmul,
}  # fmt: skip
SINGLES: dict[str, Callable[..., Tensor]] = {
    "Floor": torch.floor, "Sqrt": torch.sqrt, "Sin": torch.sin, "Cos": torch.cos,
    "Exp": torch.exp, "Tanh": torch.tanh, "Sigmoid": torch.sigmoid,
    "Round": torch.round, "Identity": lambda x: x,
}  # fmt: skip
for _name, _function in PAIRS.items():
    pairwise(_name, _function)
for _name, _function in SINGLES.items():
    alone(_name, _function)


@operator("Atan")
def angle(_: Settings, x: Sequence[Any]) -> Tensor:
    """Of a quotient; nothing over nothing, as in exact silence, is no angle."""
    return torch.atan(torch.nan_to_num(x[0], nan=0.0, posinf=math.inf, neginf=-math.inf))


@operator("Cast")
def cast(settings: Settings, x: Sequence[Any]) -> Tensor:
    kind = KINDS[settings["to"]]
    value: Tensor = x[0]
    if value.dtype == kind:
        return value
    return value.to(kind) if kind == torch.float32 else value.cpu().to(kind)


@operator("Clip")
def clip(_: Settings, x: Sequence[Any]) -> Tensor:
    low, high = (None if len(x) <= k or x[k] is None else float(x[k]) for k in (1, 2))
    return torch.clamp(x[0], low, high)


@operator("LeakyRelu")
def leaky(settings: Settings, x: Sequence[Any]) -> Tensor:
    return functional.leaky_relu(x[0], settings.get("alpha", 0.01))


@operator("Where")
def where(_: Settings, x: Sequence[Any]) -> Tensor:
    choice, first, second = together(*x)
    return torch.where(choice, first, second)


@operator("FastGelu")
def gelu(_: Settings, x: Sequence[Any]) -> Tensor:
    return functional.gelu(torch.add(*together(*x)), approximate="tanh")


@operator("Softmax")
def softmax(settings: Settings, x: Sequence[Any]) -> Tensor:
    return torch.softmax(x[0], settings.get("axis", -1))


@operator("DynamicQuantizeLinear")
def unrounded(_: Settings, x: Sequence[Any]) -> tuple[Tensor, Tensor, Tensor]:
    return x[0], torch.ones(()), torch.zeros(())


@operator("DequantizeLinear")
def dequantise(_: Settings, x: Sequence[Any]) -> Tensor:
    value, scale, zero = together(*x)
    return (value.float() - zero.float()) * scale


# ------------------------------------------------------------------------- shapes and places
@operator("Shape")
def shape(_: Settings, x: Sequence[Any]) -> Tensor:
    return torch.tensor(x[0].shape)


@operator("Reshape")
def reshape(_: Settings, x: Sequence[Any]) -> Tensor:
    wanted = [x[0].shape[k] if n == 0 else n for k, n in enumerate(whole(x[1]))]
    return x[0].reshape(wanted)  # type: ignore[no-any-return]


@operator("Transpose")
def transpose(settings: Settings, x: Sequence[Any]) -> Tensor:
    return x[0].permute(settings["perm"])  # type: ignore[no-any-return]


@operator("Unsqueeze")
def unsqueeze(_: Settings, x: Sequence[Any]) -> Tensor:
    value: Tensor = x[0]
    for axis in sorted(whole(x[1])):
        value = value.unsqueeze(axis)
    return value


@operator("Squeeze")
def squeeze(_: Settings, x: Sequence[Any]) -> Tensor:
    return x[0].squeeze(tuple(whole(x[1])))  # type: ignore[no-any-return]


@operator("Concat")
def concat(settings: Settings, x: Sequence[Any]) -> Tensor:
    return torch.cat(together(*x), settings["axis"])


@operator("Split")
def split(settings: Settings, x: Sequence[Any]) -> tuple[Tensor, ...]:
    return torch.split(x[0], whole(x[1]), settings["axis"])


@operator("Gather")
def gather(settings: Settings, x: Sequence[Any]) -> Tensor:
    axis = settings.get("axis", 0)
    at = x[1].cpu()
    if at.ndim == 0:
        return x[0].select(axis, int(at))  # type: ignore[no-any-return]
    at = torch.where(at < 0, at + x[0].shape[axis], at)
    found = x[0].index_select(axis, at.reshape(-1).to(x[0].device))
    return found.reshape(  # type: ignore[no-any-return]
        (*x[0].shape[:axis], *at.shape, *x[0].shape[axis + 1 :])
    )


@operator("Slice")
def cut(_: Settings, x: Sequence[Any]) -> Tensor:
    value: Tensor = x[0]
    starts, ends = whole(x[1]), whole(x[2])
    axes = whole(x[3]) if len(x) > 3 else list(range(len(starts)))
    steps = whole(x[4]) if len(x) > 4 else [1] * len(starts)
    for start, end, axis, step in zip(starts, ends, axes, steps, strict=True):
        if step < 0:
            value = value.flip(axis)
            continue
        places: list[slice] = [slice(None)] * value.ndim
        places[axis] = slice(start, end, step)
        value = value[tuple(places)]
    return value


@operator("Expand")
def expand(_: Settings, x: Sequence[Any]) -> Tensor:
    wanted = torch.broadcast_shapes(x[0].shape, whole(x[1]))  # type: ignore[no-untyped-call]
    return x[0].expand(wanted)  # type: ignore[no-any-return]


@operator("ConstantOfShape")
def filled(settings: Settings, x: Sequence[Any]) -> Tensor:
    value: Tensor = settings["value"]
    return torch.full(whole(x[0]), value.item(), dtype=value.dtype)


@operator("Range")
def numbers(_: Settings, x: Sequence[Any]) -> Tensor:
    start, end, step = (v.item() for v in x)
    return torch.arange(start, end, step)


@operator("CumSum")
def running_sum(_: Settings, x: Sequence[Any]) -> Tensor:
    return torch.cumsum(x[0], int(x[1]))


@operator("NonZero")
def places_of(_: Settings, x: Sequence[Any]) -> Tensor:
    return x[0].cpu().nonzero().T


@operator("ScatterND")
def scatter(_: Settings, x: Sequence[Any]) -> Tensor:
    value, at, fresh = together(*x)
    value = value.clone()
    value[tuple(at.unbind(-1))] = fresh
    return value
