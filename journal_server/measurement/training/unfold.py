"""Start from a shipped ONNX file: its batch norms are folded into the convolutions, and are parted from them again."""

# mypy: allow-untyped-decorators

from __future__ import annotations

from pathlib import Path

import onnx
import torch
from onnx import numpy_helper
from torch import Tensor, nn

from journal_server.measurement.training.network import SegmentationNetwork


def convolutions_of(path: Path) -> dict[str, list[Tensor]]:
    """Module name of each convolution -> weight and, where it has one, bias."""
    graph = onnx.load(path).graph
    values = {t.name: numpy_helper.to_array(t).astype("float32") for t in graph.initializer}
    values |= {n.output[0]: values[n.input[0]] for n in graph.node if n.op_type == "Cast" and n.input[0] in values}
    found = {}
    for node in graph.node:
        if node.op_type == "Conv":
            found[_module_name(node.name)] = [torch.from_numpy(values[name].copy()) for name in node.input[1:]]
    return found


def _module_name(node: str) -> str:
    """``/network/blocks.1/expand/expand.0/Conv`` is the module ``blocks.1.expand.0``."""
    parts = node.strip("/").split("/")[1:-1]
    following = [*parts[1:], ""]
    return ".".join(part for part, after in zip(parts, following, strict=True) if not after.startswith(part + "."))


@torch.no_grad()
def start_from(network: SegmentationNetwork, path: Path, pictures: Tensor, hints: Tensor) -> list[str]:
    """Take up every convolution that still fits; give each batch norm the statistics of one batch.

    The network computes what the file does, where all of it fits. Returns the names of what did not fit.
    """
    modules = dict(network.named_modules())
    norms: dict[nn.BatchNorm2d, Tensor] = {}
    unlike = []
    for name, (weight, *bias) in convolutions_of(path).items():
        convolution = modules.get(name)
        if not isinstance(convolution, nn.Conv2d) or convolution.weight.shape != weight.shape:
            unlike.append(name)
            continue
        convolution.weight.copy_(weight)
        if convolution.bias is not None:
            convolution.bias.copy_(bias[0])
            continue
        stem, _, index = name.rpartition(".")
        norm = modules[f"{stem}.{int(index) + 1}"]
        assert isinstance(norm, nn.BatchNorm2d)
        norms[norm] = bias[0].to(norm.bias)

    def restore(norm: nn.Module, inputs: tuple[Tensor, ...]) -> None:
        assert isinstance(norm, nn.BatchNorm2d)
        assert norm.running_mean is not None
        assert norm.running_var is not None
        norm.running_mean.copy_(inputs[0].mean((0, 2, 3)))
        norm.running_var.copy_(inputs[0].var((0, 2, 3)))
        norm.weight.copy_((norm.running_var + norm.eps).sqrt())
        norm.bias.copy_(norms[norm] + norm.running_mean)

    hooks = [norm.register_forward_pre_hook(restore) for norm in norms]
    network.eval()(pictures, hints)
    network.train()
    for hook in hooks:
        hook.remove()
    return unlike
