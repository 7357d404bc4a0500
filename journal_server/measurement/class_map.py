"""The class map as a small picture file: the likeliest class of each pixel, for whoever asks what was seen where."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from PIL import Image

Floats = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]


def likeliest_png(classes: Floats) -> bytes:
    """A greyscale PNG whose pixels are places in ``segmentation.CLASSES``.

    Parameters
    ----------
    classes : float32 (h, w, 6), class probabilities
    """
    out = io.BytesIO()
    Image.fromarray(np.argmax(classes, axis=2).astype(np.uint8)).save(out, "PNG", optimize=True)
    return out.getvalue()


def read_likeliest(png: bytes) -> Bytes:
    """The map again, uint8 (h, w)."""
    with Image.open(io.BytesIO(png)) as opened:
        return np.asarray(opened.convert("L"))


def classes_at(likeliest: Bytes, points: Sequence[Sequence[float]], width: int, height: int) -> list[int]:
    """The class at each point.

    Parameters
    ----------
    likeliest : uint8 (h, w), places in ``segmentation.CLASSES``
    points : (x, y) in displayed pixels of the photo, where (0, 0) is the corner of the first pixel; what lies outside
        is read at the nearest edge
    width, height : of the photo in displayed pixels
    """
    rows, columns = likeliest.shape
    found = []
    for x, y in points:
        column = min(max(int(x * columns / width), 0), columns - 1)
        row = min(max(int(y * rows / height), 0), rows - 1)
        found.append(int(likeliest[row, column]))
    return found
