"""The threshold methods that any measuring must beat, as published."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Bytes = npt.NDArray[np.uint8]
Mask = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]


def excess_green_otsu(srgb: Bytes) -> tuple[Mask, Mask]:
    """Plant where 2g - r - b of the chromatic coordinates exceeds Otsu's threshold; bloom by vivid hue.

    Woebbecke et al. (1995), Transactions of the ASAE 38(1), 259-269; Otsu (1979), IEEE Transactions on Systems,
    Man, and Cybernetics 9(1), 62-66.
    """
    red, green, blue = _chromatic(srgb)
    index = 2 * green - red - blue
    leaf = index > otsu_threshold(index)
    return _with_bloom(srgb, leaf)


def excess_green_minus_red(srgb: Bytes) -> tuple[Mask, Mask]:
    """Plant where (2g - r - b) - (1.4r - g) is above zero; bloom by vivid hue.

    Meyer and Neto (2008), Computers and Electronics in Agriculture 63(2), 282-293.
    """
    red, green, blue = _chromatic(srgb)
    return _with_bloom(srgb, (2 * green - red - blue) - (1.4 * red - green) > 0)


def hue_ranges(srgb: Bytes) -> tuple[Mask, Mask]:
    """Leaves from yellow-green to green-blue, bloom any other vivid or any bright hueless colour (common practice)."""
    hue, saturation, value = _hsv(srgb)
    leaf = (hue > 60 / 360) & (hue < 170 / 360) & (saturation > 0.15) & (value > 0.08)
    return _with_bloom(srgb, leaf)


def otsu_threshold(values: Floats, bins: int = 256) -> float:
    """The threshold with the largest variance between the two classes (Otsu 1979)."""
    counts, edges = np.histogram(values, bins)
    middles = (edges[:-1] + edges[1:]) / 2
    below = np.cumsum(counts).astype(float)
    above = below[-1] - below
    sums = np.cumsum(counts * middles)
    with np.errstate(divide="ignore", invalid="ignore"):
        between = below * above * (sums / below - (sums[-1] - sums) / above) ** 2
    return float(middles[int(np.nanargmax(between[:-1]))])


METHODS: dict[str, Callable[[Bytes], tuple[Mask, Mask]]] = {
    "excess green with Otsu": excess_green_otsu,
    "excess green minus excess red": excess_green_minus_red,
    "hue ranges": hue_ranges,
}


def baseline_shares(method: str, srgb: Bytes, frame: npt.NDArray[np.float32]) -> tuple[float, float | None]:
    """Canopy fill and bloom cover by a threshold method; ``frame`` (H, W) is the share of each pixel inside."""
    leaf, bloom = METHODS[method](srgb)
    plant = float((frame * (leaf | bloom)).sum())
    cover = float((frame * bloom).sum()) / plant if plant > 0 else None
    return plant / float(frame.sum()), cover


def _with_bloom(srgb: Bytes, leaf: Mask) -> tuple[Mask, Mask]:
    hue, saturation, value = _hsv(srgb)
    green = (hue > 60 / 360) & (hue < 170 / 360)
    vivid = (saturation > 0.4) & (value > 0.35) & ~green
    white = (saturation < 0.12) & (value > 0.85)
    bloom = (vivid | white) & ~leaf
    return leaf, bloom


def _chromatic(srgb: Bytes) -> tuple[Floats, Floats, Floats]:
    values = srgb.astype(np.float64)
    total = np.maximum(values.sum(axis=-1), 1)
    return values[..., 0] / total, values[..., 1] / total, values[..., 2] / total


def _hsv(srgb: Bytes) -> tuple[Floats, Floats, Floats]:
    from skimage.color import rgb2hsv

    hsv = rgb2hsv(srgb)
    return hsv[..., 0], hsv[..., 1], hsv[..., 2]
