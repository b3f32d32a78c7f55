"""How do weights get from the Korean model into ours, and from ours into a Vosk model folder?"""

from __future__ import annotations

from pathlib import Path
from typing import cast

import numpy as np
import torch
from torch import Tensor

from assistant.forge import kaldi, phones
from assistant.forge.kaldi import Field, Floats
from assistant.forge.network import BYPASS, CONTEXT, INPUTS, WIDTH, Factored, Network

Fields = dict[str, Field]
MFCC_CONF = """--use-energy=false
--num-mel-bins=40
--num-ceps=40
--low-freq=20
--high-freq=7600
--allow-upsample=true
--allow-downsample=true
"""


def from_korean(model: bytes, outputs: int, dropout: float = 0.0) -> Network:
    """The hidden layers of the Korean model; a speaker vector of zero; a fresh output."""
    parts = kaldi.read_components(model)
    network = Network(outputs, dropout)
    with torch.no_grad():
        whiten, first = parts["lda"], parts["tdnn1.affine"]
        weight, bias = table(first, "<LinearParams>"), table(first, "<BiasParams>")
        lda = table(whiten, "<LinearParams>")
        network.first.weight.copy_(weight @ lda[:, : 3 * INPUTS])
        network.first.bias.copy_(weight @ table(whiten, "<BiasParams>") + bias)
        copy_norm(parts["tdnn1.batchnorm"], network.first_gain, network.first_shift)
        for number, layer in enumerate(network.layers, start=2):
            name, factored = f"tdnnf{number}", cast(Factored, layer)
            factored.down.copy_(table(parts[f"{name}.linear"], "<LinearParams>"))
            factored.up.copy_(table(parts[f"{name}.affine"], "<LinearParams>"))
            factored.bias.copy_(table(parts[f"{name}.affine"], "<BiasParams>"))
            copy_norm(parts[f"{name}.batchnorm"], factored.gain, factored.shift)
        copy_final(parts, network)
    return network


def copy_final(parts: dict[str, Fields], network: Network) -> None:
    network.squeeze.copy_(table(parts["prefinal-l"], "<Params>"))
    widen = parts["prefinal-chain.affine"]
    network.widen.weight.copy_(table(widen, "<LinearParams>"))
    network.widen.bias.copy_(table(widen, "<BiasParams>"))
    copy_norm(parts["prefinal-chain.batchnorm1"], network.widen_gain, network.widen_shift)
    network.last.copy_(table(parts["prefinal-chain.linear"], "<Params>"))
    copy_norm(parts["prefinal-chain.batchnorm2"], network.last_gain, network.last_shift)
    network.output.weight.mul_(0.2)
    network.output.bias.zero_()


def table(fields: Fields, name: str) -> Tensor:
    return torch.from_numpy(np.array(fields[name], np.float32))


def copy_norm(fields: Fields, gain: Tensor, shift: Tensor) -> None:
    """A batch norm with fixed statistics is a gain and a shift."""
    rms, floor = cast(float, fields["<TargetRms>"]), cast(float, fields["<Epsilon>"])
    scale = rms / torch.sqrt(table(fields, "<StatsVar>") + floor)
    gain.copy_(scale)
    shift.copy_(-table(fields, "<StatsMean>") * scale)


def acoustic_model(network: Network, priors: Tensor | None = None) -> bytes:
    """final.mdl: the transition model and the network; priors are taken off the output's bias."""
    file = kaldi.NetworkFile(INPUTS)
    source = "Append(Offset(input, -1), input, Offset(input, 1))"
    first = kaldi.fixed_affine(array(network.first.weight), array(network.first.bias))
    last = file.add("tdnn1.affine", first, source)
    last = add_norm(file, "tdnn1", network.first_gain, network.first_shift, last)
    for number, layer in enumerate(network.layers, start=2):
        last = add_factored(file, f"tdnnf{number}", cast(Factored, layer), last)
    nothing = np.zeros(network.squeeze.shape[0], np.float32)
    last = file.add("prefinal-l", kaldi.fixed_affine(array(network.squeeze), nothing), last)
    widen = kaldi.fixed_affine(array(network.widen.weight), array(network.widen.bias))
    last = file.add("prefinal.affine", widen, last)
    last = add_norm(file, "prefinal", network.widen_gain, network.widen_shift, last)
    narrow = array(network.last * network.last_gain[:, None])
    last = file.add("prefinal.linear", kaldi.fixed_affine(narrow, array(network.last_shift)), last)
    bias = network.output.bias if priors is None else network.output.bias - priors
    end = kaldi.fixed_affine(array(network.output.weight), array(bias))
    last = file.add("output.affine", end, last)
    network_bytes = file.write(last, CONTEXT)
    return b"\x00B" + kaldi.transition_model(phones.PHONE_COUNT) + network_bytes


def add_norm(file: kaldi.NetworkFile, name: str, gain: Tensor, shift: Tensor, last: str) -> str:
    last = file.add(f"{name}.relu", kaldi.rectifier(WIDTH), last)
    return file.add(f"{name}.batchnorm", kaldi.batch_norm(array(gain), array(shift)), last)


def add_factored(file: kaldi.NetworkFile, name: str, layer: Factored, source: str) -> str:
    offset = layer.offset
    down = kaldi.time_delay(
        array(layer.down), np.zeros(0, np.float32), [-offset, 0] if offset else [0]
    )
    up = kaldi.time_delay(array(layer.up), array(layer.bias), [0, offset] if offset else [0])
    last = file.add(f"{name}.linear", down, source)
    last = file.add(f"{name}.affine", up, last)
    last = add_norm(file, name, layer.gain, layer.shift, last)
    joined = f"Sum(Scale({BYPASS}, {source}), {last})"
    return file.add(f"{name}.noop", kaldi.pass_through(WIDTH), joined)


def array(tensor: Tensor) -> Floats:
    return np.asarray(tensor.detach().float().cpu().numpy(), np.float32)


def read_network(model: bytes) -> Network:
    """A network back from a final.mdl that acoustic_model wrote."""
    parts = kaldi.read_components(model)
    outputs = table(parts["output.affine"], "<BiasParams>").shape[0]
    bottleneck = table(parts["tdnnf2.linear"], "<LinearParams>").shape[0]
    network = Network(outputs, bottleneck=bottleneck)
    with torch.no_grad():
        for name, linear in (("tdnn1.affine", network.first), ("output.affine", network.output)):
            linear.weight.copy_(table(parts[name], "<LinearParams>"))
            linear.bias.copy_(table(parts[name], "<BiasParams>"))
        norm_back(parts, "tdnn1", network.first_gain, network.first_shift)
        for number, layer in enumerate(network.layers, start=2):
            name, factored = f"tdnnf{number}", cast(Factored, layer)
            factored.down.copy_(table(parts[f"{name}.linear"], "<LinearParams>"))
            factored.up.copy_(table(parts[f"{name}.affine"], "<LinearParams>"))
            factored.bias.copy_(table(parts[f"{name}.affine"], "<BiasParams>"))
            norm_back(parts, name, factored.gain, factored.shift)
        final_back(parts, network)
    return network


def final_back(parts: dict[str, Fields], network: Network) -> None:
    prefix = "prefinal" if "prefinal.affine" in parts else "pf"
    network.squeeze.copy_(table(parts["prefinal-l"], "<LinearParams>"))
    network.widen.weight.copy_(table(parts[f"{prefix}.affine"], "<LinearParams>"))
    network.widen.bias.copy_(table(parts[f"{prefix}.affine"], "<BiasParams>"))
    norm_back(parts, prefix, network.widen_gain, network.widen_shift)
    network.last.copy_(table(parts[f"{prefix}.linear"], "<LinearParams>"))
    network.last_shift.copy_(table(parts[f"{prefix}.linear"], "<BiasParams>"))


def norm_back(parts: dict[str, Fields], name: str, gain: Tensor, shift: Tensor) -> None:
    fields = parts.get(f"{name}.batchnorm") or parts[f"{name}.bn"]
    copy_norm(fields, gain, shift)


def write_acoustic_model(network: Network, model: Path, priors: Tensor | None = None) -> None:
    (model / "am").mkdir(parents=True, exist_ok=True)
    (model / "conf").mkdir(parents=True, exist_ok=True)
    (model / "am" / "final.mdl").write_bytes(acoustic_model(network, priors))
    (model / "conf" / "mfcc.conf").write_text(MFCC_CONF, encoding="utf-8")
