"""Bring an exported file to 8 bits: ``python -m ...training.quantise FLOAT.onnx ../weights/segmentation.onnx``.

Weights by channel in 7 bits, so that processors whose 8-bit products saturate compute the same; activations in 8 bits,
their ranges read off drawn scenes of fixed seeds. The first convolutions, of few channels, which 8 bits make no faster,
and what they would coarsen, the head and all after it, stay in floating point.
"""

# mypy: allow-subclassing-any

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import onnx
from numpy.typing import NDArray
from onnx import helper, numpy_helper
from onnxruntime import quantization

from journal_server.measurement import segmentation
from journal_server.measurement.colour import lab_of_hexes
from journal_server.measurement.training.drawn_scenes import DrawnScene, draw_scene

FIRST_SEED, SCENES, SIDE = 77_000_000, 32, 448
QUANTISED = ["Conv", "Clip", "Add", "Concat", "Resize"]
FLOAT_NODES = ["/network/stem/stem.1/Conv", "/network/hint_half/hint_half.1/Conv", "/network/head/Conv"]

_MOST_LOGIT = 80.0  # the exponential of 88 is more than 32 bits hold


class DrawnInputs(quantization.CalibrationDataReader):
    """Network inputs of drawn scenes, colours told for every second one, darker and brighter by turns."""

    def __init__(self) -> None:
        self._inputs = self._drawn()

    def get_next(self) -> dict[str, NDArray[np.float32]] | None:
        return next(self._inputs, None)

    def _drawn(self) -> Iterator[dict[str, NDArray[np.float32]]]:
        for index in range(SCENES):
            scene = draw_scene(FIRST_SEED + index, SIDE)
            exposure = (1.0, 0.55, 1.0, 1.5)[index % 4]
            srgb = np.clip(scene.srgb * exposure, 0, 255).astype(np.uint8)
            yield segmentation.network_inputs(srgb, *(_declared(scene) if index % 2 else _nothing()))


def _declared(scene: DrawnScene) -> tuple[NDArray[Any], NDArray[Any]]:
    bloom, foliage = (
        lab_of_hexes(tuple("#" + bytes(round(255 * min(1.0, c)) for c in colour).hex() for colour in colours))
        for colours in (scene.bloom_colours, scene.foliage_colours)
    )
    return bloom, foliage


def _nothing() -> tuple[NDArray[Any], NDArray[Any]]:
    return np.zeros((0, 3)), np.zeros((0, 3))


def widen_weights(model: onnx.ModelProto) -> onnx.ModelProto:
    """Undo ``export.halve_weights``: 32-bit initialisers without casts."""
    stored = {tensor.name: tensor for tensor in model.graph.initializer}
    kept = []
    for node in model.graph.node:
        if node.op_type == "Cast" and node.input[0] in stored:
            values = numpy_helper.to_array(stored.pop(node.input[0])).astype(np.float32)
            stored[node.output[0]] = numpy_helper.from_array(values, node.output[0])
        else:
            kept.append(node)
    del model.graph.initializer[:], model.graph.node[:]
    model.graph.initializer.extend(stored.values())
    model.graph.node.extend(kept)
    return model


def fold_class_weights(model: onnx.ModelProto) -> onnx.ModelProto:
    """Take the class weights off in the head's bias instead of off every pixel."""
    stored = {tensor.name: tensor for tensor in model.graph.initializer}
    subtract = next(node for node in model.graph.node if node.op_type == "Sub")
    head = next(node for node in model.graph.node if node.name == "/network/head/Conv")
    constant = next(node for node in model.graph.node if subtract.input[1] in node.output)
    weights = numpy_helper.to_array(constant.attribute[0].t)
    bias = numpy_helper.to_array(stored[head.input[2]])
    # the head gives four pixels a class, class by class
    stored[head.input[2]].CopyFrom(numpy_helper.from_array(bias - np.repeat(weights.ravel(), 4), head.input[2]))
    for node in model.graph.node:
        node.input[:] = [subtract.input[0] if name == subtract.output[0] else name for name in node.input]
    model.graph.node.remove(subtract)
    model.graph.node.remove(constant)
    return model


def spread_softmax(model: onnx.ModelProto) -> onnx.ModelProto:
    """Exponentials over their sum, class by class (1, 6, h, w): twice as fast as the softmax of each pixel.

    Raises ValueError if the head's logits could overflow the exponential.
    """
    nodes = {node.op_type: node for node in model.graph.node if node.op_type in ("Transpose", "Softmax")}
    stored = {tensor.name: numpy_helper.to_array(tensor) for tensor in model.graph.initializer}
    head = next(node for node in model.graph.node if node.name == "/network/head/Conv")
    highest = (6 * np.abs(stored[head.input[1]]).sum((1, 2, 3)) + np.abs(stored[head.input[2]])).max()
    if highest > _MOST_LOGIT:
        raise ValueError(f"logits may reach {highest:.0f}")
    logits = nodes["Transpose"].input[0]
    for node in nodes.values():
        model.graph.node.remove(node)
    model.graph.initializer.append(numpy_helper.from_array(np.array([1]), "class_axis"))
    model.graph.node.extend(
        [
            helper.make_node("Exp", [logits], ["raised"]),
            helper.make_node("ReduceSum", ["raised", "class_axis"], ["total"], keepdims=1),
            helper.make_node("Div", ["raised", "total"], ["probabilities"]),
        ]
    )
    shape: list[str | int | None] = [1, len(segmentation.CLASSES), "height", "width"]
    model.graph.output[0].CopyFrom(helper.make_tensor_value_info("probabilities", onnx.TensorProto.FLOAT, shape))
    del model.graph.value_info[:]
    onnx.checker.check_model(model)
    return model


def quantise(source: Path, target: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        wide, ready = Path(folder) / "wide.onnx", Path(folder) / "ready.onnx"
        onnx.save(fold_class_weights(widen_weights(onnx.load(source))), wide)
        quantization.quant_pre_process(str(wide), str(ready), skip_symbolic_shape=True)
        quantization.quantize_static(
            str(ready), str(target), DrawnInputs(), quant_format=quantization.QuantFormat.QDQ, per_channel=True,
            reduce_range=True, activation_type=quantization.QuantType.QUInt8,
            weight_type=quantization.QuantType.QInt8, op_types_to_quantize=QUANTISED, nodes_to_exclude=FLOAT_NODES,
            calibrate_method=quantization.CalibrationMethod.MinMax,
        )  # fmt: skip
    onnx.save(spread_softmax(onnx.load(target)), target)
    print(f"{target}: {target.stat().st_size} bytes")


if __name__ == "__main__":
    quantise(Path(sys.argv[1]), Path(sys.argv[2]))
