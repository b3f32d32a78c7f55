"""How is an ONNX graph run by PyTorch, on a GPU where there is one?

Only the operators of the speech synthesiser are known. Its 8-bit weights become plain numbers and
nothing is rounded on the way, so the sound is a little better than that of the 8-bit run. Small
whole numbers (shapes, lengths) stay in main memory; only the sound's path goes to the device.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor

from assistant.forge import layers
from assistant.forge.operators import OPERATORS, Operator, Settings

Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Step:
    """One node of the graph, and which values nobody needs after it."""

    run: Operator
    settings: Settings
    inputs: list[str]
    outputs: list[str]
    done: list[str]


class Graph:
    """A graph that can be run again and again on one device."""

    def __init__(self, model: Path, device: str, more: Sequence[str] = ()) -> None:
        import onnx

        loaded = onnx.load(str(model)).graph
        self.device = torch.device(device)
        self.outputs = [*(o.name for o in loaded.output), *more]
        self.constants = {
            i.name: constant(onnx.numpy_helper.to_array(i)) for i in loaded.initializer
        }
        nodes = [(n.op_type, settings_of(n), list(n.input), list(n.output)) for n in loaded.node]
        self.unpack(nodes)
        nodes = without_rounding(nodes)
        self.place()
        last = {name: place for place, node in enumerate(nodes) for name in node[2]}
        kept = {*self.constants, *self.outputs, ""}
        done: list[list[str]] = [[] for _ in nodes]
        for name, place in last.items():
            if name not in kept:
                done[place].append(name)
        self.steps = [
            Step(OPERATORS[kind], settings, inputs, outputs, gone)
            for (kind, settings, inputs, outputs), gone in zip(nodes, done, strict=True)
        ]

    def unpack(self, nodes: Sequence[tuple[str, Settings, list[str], list[str]]]) -> None:
        """8-bit weights become numbers: zero points are taken off once."""
        for kind, settings, inputs, _ in nodes:
            if kind in ("MatMulInteger", "ConvInteger") and inputs[1] in self.constants:
                zero = self.constants.get(inputs[3], torch.zeros(()))
                weight = self.constants[inputs[1]]
                if not weight.is_floating_point():
                    self.constants[inputs[1]] = weight.float() - zero.float()
            elif kind == "DynamicQuantizeLSTM":
                found = layers.lstm_weights([self.constants.get(n) for n in inputs])
                settings["weights"] = [w.to(self.device) for w in found]

    def place(self) -> None:
        for name, value in self.constants.items():
            if value.is_floating_point() and value.ndim:
                self.constants[name] = value.to(self.device)

    @torch.inference_mode()
    def run(self, **feeds: Tensor) -> list[Tensor]:
        values: Values = {**self.constants, "": None}
        for name, value in feeds.items():
            values[name] = value.to(self.device) if value.is_floating_point() else value
        for step in self.steps:
            found = step.run(step.settings, [values[n] for n in step.inputs])
            if len(step.outputs) == 1 and not isinstance(found, tuple):
                values[step.outputs[0]] = found
            else:
                values.update(zip(step.outputs, found, strict=False))
            for name in step.done:
                values.pop(name, None)
        return [values[name] for name in self.outputs]


Node = tuple[str, Settings, list[str], list[str]]


def without_rounding(nodes: Sequence[Node]) -> list[Node]:
    """Biases of 8-bit layers are rounded to whole numbers of a scale that is not used here."""
    floored = {n[3][0] for n in nodes if n[0] == "Floor"}
    whole_biases = {n[2][0] for n in nodes if n[0] == "Cast" and n[1]["to"] == 6} & floored
    return [
        ("Identity", *node[1:])
        if (node[0] == "Floor" and node[3][0] in whole_biases)
        or (node[0] == "Cast" and node[2][0] in whole_biases)
        else node
        for node in nodes
    ]


def constant(array: Any) -> Tensor:
    wide = array if array.dtype in (np.float32, np.bool_) else array.astype(np.int64)
    return torch.from_numpy(np.array(wide))


def settings_of(node: Any) -> Settings:
    import onnx

    found = {a.name: onnx.helper.get_attribute_value(a) for a in node.attribute}
    if node.op_type == "ConstantOfShape":
        found["value"] = constant(onnx.numpy_helper.to_array(found["value"]))
    return found
