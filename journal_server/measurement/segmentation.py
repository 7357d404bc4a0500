"""Learned segmentation: class probabilities for every pixel from colour, context and the declared colours.

A small encoder-decoder run on the CPU by onnxruntime; ``training/README.md`` says how it was trained, on what,
and how it fails.
"""

from __future__ import annotations

import math
import threading
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

if TYPE_CHECKING:
    from onnxruntime import InferenceSession

CLASSES = ("background", "foliage", "bloom", "spent", "planter", "card")
METHOD = "learned 3"
WORKING_PIXELS = 300_000
LARGEST_ENLARGEMENT = 1.5
_STRIDE = 32
# A photo brought to the working size stays as it is; rounding its sides moved the scale by less than this.
_ROUNDED_SCALE = 0.004
_WHITE_D65 = np.array([0.95047, 1.0, 1.08883])
_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
_CUBE_STEPS = 16384
_loading = threading.Lock()

Floats = NDArray[np.float32]


def working_size(width: int, height: int) -> tuple[int, int]:
    """Width and height in pixels at which a photo of ``width`` x ``height`` is segmented, aspect kept."""
    scale = min(LARGEST_ENLARGEMENT, math.sqrt(WORKING_PIXELS / (width * height)))
    if abs(scale - 1) < _ROUNDED_SCALE:
        return width, height
    return max(1, round(width * scale)), max(1, round(height * scale))


def segment(srgb: NDArray[np.uint8], bloom_lab: NDArray[Any], foliage_lab: NDArray[Any]) -> Floats:
    """Class probabilities of a photo at the working size.

    Args:
        srgb: (H, W, 3) sRGB as displayed, white-balanced or plain, any size.
        bloom_lab: (n, 3) declared bloom colours, CIELAB (D65, 2 degree observer); may be empty.
        foliage_lab: (m, 3) declared foliage colours, likewise.

    Returns:
        (h, w, 6) probabilities in the order of ``CLASSES``, summing to 1; (w, h) is ``working_size(W, H)``.

    Raises:
        ValueError: if ``srgb`` is not a non-empty (H, W, 3) array of uint8.
    """
    if srgb.ndim != 3 or srgb.shape[2] != 3 or srgb.dtype != np.uint8 or srgb.size == 0:
        raise ValueError(f"expected a non-empty (H, W, 3) array of uint8, got {srgb.dtype} {srgb.shape}")
    width, height = working_size(srgb.shape[1], srgb.shape[0])
    small = srgb if srgb.shape[:2] == (height, width) else _resized(srgb, width, height)
    padded = np.pad(small, ((0, -height % _STRIDE), (0, -width % _STRIDE), (0, 0)), mode="edge")
    inputs = network_inputs(padded, np.asarray(bloom_lab), np.asarray(foliage_lab))
    planes: Floats = _session().run(None, inputs)[0][0, :, :height, :width]
    # Class by class in memory, which all that follows reads class by class.
    return np.ascontiguousarray(planes).transpose(1, 2, 0)


def _resized(srgb: NDArray[np.uint8], width: int, height: int) -> NDArray[np.uint8]:
    method = Image.Resampling.BOX if srgb.shape[1] > 2 * width else Image.Resampling.BILINEAR
    return np.asarray(Image.fromarray(srgb).resize((width, height), method))


@lru_cache(maxsize=1)
def _load() -> InferenceSession:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    options.inter_op_num_threads = 1
    weights = files("journal_server.measurement").joinpath("weights", "segmentation.onnx").read_bytes()
    return onnxruntime.InferenceSession(weights, options, providers=["CPUExecutionProvider"])


def _session() -> InferenceSession:
    # lru_cache alone would let two first callers each load the network
    with _loading:
        return _load()


def network_inputs(srgb: NDArray[np.uint8], bloom_lab: NDArray[Any], foliage_lab: NDArray[Any]) -> dict[str, Floats]:
    """What the network takes, (1, 9, h, w): scaled sRGB, then three hint planes of blooms and three of leaves."""
    planes = np.zeros((1, 9, *srgb.shape[:2]), np.float32)
    planes[0, :3] = srgb.transpose(2, 0, 1)
    planes[0, :3] -= 127.0
    planes[0, :3] /= 128.0
    if len(bloom_lab) or len(foliage_lab):
        # A few rows at a time stay in the processor's cache.
        for top in range(0, srgb.shape[0], _STRIDE):
            rows = slice(top, top + _STRIDE)
            lab = _lab_planes(srgb[rows])
            for first, colours in ((3, bloom_lab), (6, foliage_lab)):
                if len(colours):
                    planes[0, first : first + 3, rows] = _hints(lab, colours)
    return {"x": planes}


def _hints(lab: Floats, colours: NDArray[Any]) -> Floats:
    """(3, h, w): chroma distance / 40 and lightness difference / 50 to the nearest colour, and a flag of ones."""
    known = colours.astype(np.float32)
    # Squared distance with lightness counted half, but for a part that is the same for all colours.
    weighted = known * np.array([0.25, 1.0, 1.0], np.float32)
    distances = (-2 * weighted) @ lab.reshape(3, -1) + (weighted * known).sum(axis=1, keepdims=True)
    nearest = np.zeros(distances.shape[1], np.uint16)
    for index in range(1, len(known)):
        np.copyto(nearest, index, where=distances[index] < distances[0])
        np.minimum(distances[0], distances[index], out=distances[0])
    out = np.ones_like(lab)
    light, a, b = lab - np.take(known.T, nearest, axis=1).reshape(lab.shape)
    np.minimum(np.sqrt(a * a + b * b) / 40.0, 3.0, out=out[0])
    np.divide(light, 50.0, out=out[1])
    return out


def _lab_planes(srgb: NDArray[np.uint8]) -> Floats:
    """(3, h, w) CIELAB (D65) of 8-bit sRGB, IEC 61966-2-1 and CIE 15; tables make it fast enough for each photo."""
    planes = np.ascontiguousarray(srgb.reshape(-1, 3).T)
    linear = np.take(_linear_table(), planes)
    xyz = _xyz_steps() @ linear
    steps = np.minimum(xyz, _CUBE_STEPS - 1).astype(np.uint16)
    x, y, z = np.take(_cube_table(), steps)
    lab = np.empty((3, planes.shape[1]), np.float32)
    np.subtract(116 * y, 16, out=lab[0])
    np.multiply(x - y, 500, out=lab[1])
    np.multiply(y - z, 200, out=lab[2])
    return lab.reshape(3, *srgb.shape[:2])


@lru_cache(maxsize=1)
def _xyz_steps() -> Floats:
    return np.asarray(_TO_XYZ / _WHITE_D65[:, None] * _CUBE_STEPS, np.float32)


@lru_cache(maxsize=1)
def _linear_table() -> Floats:
    code = np.arange(256) / 255.0
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4).astype(np.float32)


@lru_cache(maxsize=1)
def _cube_table() -> Floats:
    t = (np.arange(_CUBE_STEPS) + 0.5) / _CUBE_STEPS
    return np.where(t > 0.008856452, np.cbrt(t), t * 7.787037 + 16 / 116).astype(np.float32)
