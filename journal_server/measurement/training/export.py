"""Write the shipped ONNX file from a trained state: batch norms folded, weights stored as 16-bit floats.

python export.py STATE.pth ../weights/segmentation.onnx
"""

# mypy: allow-subclassing-any, allow-untyped-decorators

from __future__ import annotations

import sys
import warnings
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper
from torch import Tensor, nn

from journal_server.measurement.training.network import SegmentationNetwork, log_class_weights


class Probabilities(nn.Module):
    """(1, 9, h, w) in, (1, h, w, 6) probabilities out."""

    def __init__(self, network: SegmentationNetwork) -> None:
        super().__init__()
        self.network = network

    def forward(self, x: Tensor) -> Tensor:
        logits = self.network(x)
        return (logits - log_class_weights(logits)).permute(0, 2, 3, 1).softmax(-1)


def halve_weights(model: onnx.ModelProto) -> onnx.ModelProto:
    """Store large 32-bit initialisers in 16 bits, each followed by a cast that the runtime folds when loading."""
    casts, kept = [], []
    for tensor in model.graph.initializer:
        values = numpy_helper.to_array(tensor)
        if values.dtype != np.float32 or values.size < 64:
            kept.append(tensor)
            continue
        small = numpy_helper.from_array(values.astype(np.float16), tensor.name + "_half")
        kept.append(small)
        casts.append(helper.make_node("Cast", [small.name], [tensor.name], to=TensorProto.FLOAT))
    nodes = [*casts, *model.graph.node]
    del model.graph.initializer[:], model.graph.node[:]
    model.graph.initializer.extend(kept)
    model.graph.node.extend(nodes)
    onnx.checker.check_model(model)
    return model


def export(state: Path, target: Path) -> None:
    network = SegmentationNetwork()
    saved = torch.load(state, map_location="cpu", weights_only=True)
    network.load_state_dict({k: v.float() if v.is_floating_point() else v for k, v in saved.items()})
    model = Probabilities(network).eval()
    free = {2: "height", 3: "width"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        torch.onnx.export(
            model, (torch.zeros(1, 9, 480, 640),), str(target), dynamo=False, opset_version=17,
            input_names=["x"], output_names=["probabilities"],
            dynamic_axes={"x": free, "probabilities": {1: "height", 2: "width"}},
        )  # fmt: skip
    onnx.save(halve_weights(onnx.load(target)), target)
    print(f"{target}: {target.stat().st_size} bytes")


if __name__ == "__main__":
    export(Path(sys.argv[1]), Path(sys.argv[2]))
