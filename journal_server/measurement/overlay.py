"""The class map drawn over the photo, told apart by lightness, pattern and outline, not by hue alone."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw
from scipy import ndimage

from journal_server.measurement.frame import Polygon

Floats = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]


@dataclass(frozen=True)
class LegendEntry:
    """One kind of area: its code, its word for people, its sRGB colour and how it is drawn."""

    code: str
    word: str
    colour: str
    pattern: str


# Lightness steps down from bloom (CIELAB L* 91) over leaf (56) to spent (22), so that the three stay apart in
# any colour vision and in print.
LEGEND = (
    LegendEntry("bloom", "open bloom", "#ffe57f", "plain, with a dark outline"),
    LegendEntry("foliage", "leaves, stems and buds", "#2f9282", "slanted lines"),
    LegendEntry("spent", "spent bloom", "#4b2146", "dots"),
    LegendEntry("background", "everything else", "#808080", "grey, as in the photo"),
)

_STRENGTH = 0.62
_INK = np.array([20, 20, 20], np.float32)
_PAPER = (255, 255, 255)


def draw_overlay(srgb: Bytes, classes: Floats, frame: Polygon | None = None, *, file_format: str = "WEBP") -> bytes:
    """A picture file of the photo with its class map.

    Parameters
    ----------
    srgb : uint8 (H, W, 3), the photo as displayed, at the size to draw
    classes : float32 (h, w, 6), class probabilities of the same photo
    frame : polygon (n, 2) in pixels of ``srgb``, drawn as a line; what lies outside is left paler
    file_format : "WEBP" or "PNG"
    """
    height, width = srgb.shape[:2]
    labels = _labels(classes, width, height)
    drawn = _grey_photo(srgb)
    for label, entry in ((1, LEGEND[1]), (3, LEGEND[2]), (2, LEGEND[0])):
        mask = labels == label
        drawn[mask] += (_rgb(entry.colour) - drawn[mask]) * (_STRENGTH * _pattern(entry.code, mask))[mask][:, None]
    step = max(1, round(width / 1200))
    drawn[_outline(labels == 2, step)] = _INK
    picture = Image.fromarray(np.clip(drawn, 0, 255).astype(np.uint8))
    if frame is not None:
        _draw_frame(picture, frame, 2 * step)
    buffer = io.BytesIO()
    options = {"quality": 82, "method": 2} if file_format == "WEBP" else {}
    picture.save(buffer, file_format, **options)
    return buffer.getvalue()


def _labels(classes: Floats, width: int, height: int) -> npt.NDArray[np.int64]:
    """The likeliest class of each pixel, (H, W)."""
    planes = [
        np.asarray(
            Image.fromarray(np.ascontiguousarray(classes[..., i])).resize((width, height), Image.Resampling.BILINEAR)
        )
        for i in range(classes.shape[-1])
    ]
    return np.asarray(np.argmax(np.stack(planes), axis=0))


def _grey_photo(srgb: Bytes) -> Floats:
    grey = srgb @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    return np.repeat((0.75 * grey + 32)[..., None], 3, axis=2).astype(np.float32)


def _rgb(colour: str) -> Floats:
    return np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)], np.float32)


def _pattern(code: str, mask: npt.NDArray[np.bool_]) -> Floats:
    """Strength of the tint at each pixel, in [0.5, 1.5]."""
    height, width = mask.shape
    pitch = max(5, round(width / 160))
    y, x = np.ogrid[:height, :width]
    if code == "foliage":
        return np.where((x + y) % pitch < max(1, pitch // 4), 0.45, 1.05).astype(np.float32)
    if code == "spent":
        middle = pitch / 2
        distance = (x % pitch - middle) ** 2 + (y % pitch - middle) ** 2
        return np.where(distance < (pitch / 4) ** 2, 0.3, 1.35).astype(np.float32)
    return np.full(mask.shape, 1.2, np.float32)


def _outline(mask: npt.NDArray[np.bool_], step: int) -> npt.NDArray[np.bool_]:
    return np.asarray(ndimage.binary_dilation(mask, iterations=step) & ~mask)


def _draw_frame(picture: Image.Image, frame: Polygon, line: int) -> None:
    points = [(float(x), float(y)) for x, y in frame]
    draw = ImageDraw.Draw(picture)
    draw.line([*points, points[0]], fill=(0, 0, 0), width=line + 2)
    draw.line([*points, points[0]], fill=_PAPER, width=line)
