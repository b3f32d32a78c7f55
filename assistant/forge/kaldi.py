"""How are Kaldi's binary model files read and written? (no PyTorch here)

Reads the matrices of an nnet3 model; writes a transition model with one state per phone and an
nnet3 network with fixed layers, which is all that Vosk needs to decode.
"""

from __future__ import annotations

import math
import re
import struct
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
Field = Floats | float | int | None
WHOLE = frozenset({"<Dim>", "<BlockDim>"})


def whole(value: int) -> bytes:
    return b"\x04" + struct.pack("<i", value)


def real(value: float) -> bytes:
    return b"\x04" + struct.pack("<f", value)


def matrix(values: npt.ArrayLike) -> bytes:
    array = np.ascontiguousarray(values, "<f4")
    return b"FM " + whole(array.shape[0]) + whole(array.shape[1]) + array.tobytes()


def vector(values: npt.ArrayLike) -> bytes:
    array = np.ascontiguousarray(values, "<f4")
    return b"FV " + whole(array.shape[0]) + array.tobytes()


def whole_vector(values: Sequence[int]) -> bytes:
    return b"\x04" + struct.pack("<i", len(values)) + struct.pack(f"<{len(values)}i", *values)


# ---------------------------------------------------------------------------- reading
def read_components(model: bytes) -> dict[str, dict[str, Field]]:
    """Component name -> its fields (matrices, vectors, numbers)."""
    end = model.index(b"</Nnet3>")
    starts = [m.start() for m in re.finditer(rb"<ComponentName> ", model[:end])]
    found: dict[str, dict[str, Field]] = {}
    for start, stop in zip(starts, [*starts[1:], end], strict=True):
        head = re.match(rb"<ComponentName> (\S+) (\S+) ", model[start:stop])
        if head is not None:
            found[head[1].decode()] = read_fields(model[start + head.end() : stop])
    return found


def read_fields(block: bytes) -> dict[str, Field]:
    fields: dict[str, Field] = {}
    place = 0
    while place < len(block):
        token = re.match(rb"(</?[A-Za-z0-9-]+>) ", block[place : place + 60])
        if token is None:
            place += 1
            continue
        name = token[1].decode()
        fields[name], place = read_value(block, place + token.end(), name)
    return fields


def read_value(block: bytes, place: int, name: str) -> tuple[Field, int]:
    """The value after a token, and the place after it."""
    kind = block[place : place + 3]
    if kind == b"FM ":
        rows, columns = (struct.unpack_from("<i", block, place + at)[0] for at in (4, 9))
        return floats(block, place + 13, rows * columns).reshape(rows, columns), (
            place + 13 + 4 * rows * columns
        )
    if kind == b"FV ":
        count = struct.unpack_from("<i", block, place + 4)[0]
        return floats(block, place + 8, count), place + 8 + 4 * count
    if block[place : place + 1] == b"\x04" and name != "<TimeOffsets>":
        form = "<i" if name in WHOLE else "<f"
        value: float | int = struct.unpack_from(form, block, place + 1)[0]
        return value, place + 5
    return None, place


def floats(block: bytes, place: int, count: int) -> Floats:
    return np.frombuffer(block, "<f4", count, place).copy()


# ---------------------------------------------------------------------------- writing
def transition_model(phone_count: int) -> bytes:
    """One emitting state per phone: output 2(p-1) on entry, 2(p-1)+1 while it lasts."""
    numbers = list(range(1, phone_count + 1))
    topology = whole_vector(numbers) + whole_vector([-1, *([0] * phone_count)])
    topology += whole(-1) + whole(1) + whole(2)  # not the plain HMM form; one entry, two states
    topology += whole(0) + whole(1) + whole(2)  # entry class 0, loop class 1, two transitions
    topology += whole(0) + real(0.5) + whole(1) + real(0.5) + whole(-1) + whole(-1) + whole(0)
    states = b"".join(
        whole(p) + whole(0) + whole(2 * (p - 1)) + whole(2 * (p - 1) + 1) for p in numbers
    )
    chances = [0.0, *([math.log(0.5)] * (2 * phone_count))]
    return (
        b"<TransitionModel> <Topology> " + topology + b"</Topology> <Tuples> "
        + whole(phone_count) + states + b"</Tuples> <LogProbs> " + vector(chances)
        + b"</LogProbs> </TransitionModel> "
    )  # fmt: skip


def fixed_affine(weight: Floats, bias: Floats) -> bytes:
    return (
        b"<FixedAffineComponent> <LinearParams> " + matrix(weight)
        + b"<BiasParams> " + vector(bias) + b"</FixedAffineComponent> "
    )  # fmt: skip


def batch_norm(gain: Floats, shift: Floats) -> bytes:
    """y = gain x + shift, written as a mean and a variance; the gain must be positive."""
    if (gain <= 0).any():
        raise ValueError("a batch norm cannot have a gain that is not positive")
    variance = np.maximum(1.0 / gain.astype(np.float64) ** 2 - 1e-6, 0.0)
    return (
        b"<BatchNormComponent> <Dim> " + whole(len(gain)) + b"<BlockDim> " + whole(len(gain))
        + b"<Epsilon> " + real(1e-6) + b"<TargetRms> " + real(1.0) + b"<TestMode> T<Count> "
        + real(1e5) + b"<StatsMean> " + vector(-shift / gain) + b"<StatsVar> " + vector(variance)
        + b"</BatchNormComponent> "
    )  # fmt: skip


def rectifier(width: int) -> bytes:
    nothing = vector(np.zeros(0))
    return (
        b"<RectifiedLinearComponent> <Dim> " + whole(width) + b"<ValueAvg> " + nothing
        + b"<DerivAvg> " + nothing + b"<Count> " + real(0.0) + b"<OderivRms> " + nothing
        + b"<OderivCount> " + real(0.0) + b"<NumDimsSelfRepaired> " + real(0.0)
        + b"<NumDimsProcessed> " + real(0.0) + b"<SelfRepairScale> " + real(1e-5)
        + b"</RectifiedLinearComponent> "
    )  # fmt: skip


def time_delay(weight: Floats, bias: Floats, offsets: Sequence[int]) -> bytes:
    return (
        b"<TdnnComponent> <MaxChange> " + real(0.75) + b"<LearningRate> " + real(0.001)
        + b"<TimeOffsets> " + whole_vector(offsets) + b"<LinearParams> " + matrix(weight)
        + b"<BiasParams> " + vector(bias) + b"<OrthonormalConstraint> " + real(0.0)
        + b"<UseNaturalGradient> T<NumSamplesHistory> " + real(2000.0) + b"<AlphaInOut> "
        + real(4.0) + real(4.0) + b"<RankInOut> " + whole(20) + whole(20) + b"</TdnnComponent> "
    )  # fmt: skip


def pass_through(width: int) -> bytes:
    return (
        b"<NoOpComponent> <Dim> " + whole(width) + b"<BackpropScale> " + real(1.0)
        + b"</NoOpComponent> "
    )  # fmt: skip


class NetworkFile:
    """Collects components and the lines that wire them together."""

    def __init__(self, inputs: int) -> None:
        self.lines = [f"input-node name=input dim={inputs}"]
        self.components: list[tuple[str, bytes]] = []

    def add(self, name: str, component: bytes, source: str) -> str:
        self.components.append((name, component))
        self.lines.append(f"component-node name={name} component={name} input={source}")
        return name

    def write(self, last: str, context: int) -> bytes:
        self.lines.append(f"output-node name=output input={last} objective=linear")
        body = b"".join(
            b"<ComponentName> " + name.encode() + b" " + component
            for name, component in self.components
        )
        return (
            b"<Nnet3> \n" + "\n".join(self.lines).encode() + b"\n\n<NumComponents> "
            + whole(len(self.components)) + body + b"</Nnet3> <LeftContext> " + whole(context)
            + b"<RightContext> " + whole(context) + b"<Priors> " + vector(np.zeros(0))
        )  # fmt: skip
