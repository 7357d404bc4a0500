"""The frame: a polygon in displayed pixels, and what share of each pixel of a class map it covers."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from journal_server.errors import InputRefused

Floats = npt.NDArray[np.float32]
Polygon = npt.NDArray[np.float64]

_SUBPIXELS = 4
_MAX_POINTS = 1000
_OVERLAP_PX = 400


def checked_frame(points: Sequence[Sequence[float]], width: int, height: int) -> Polygon:
    """The polygon as float (n, 2).

    Raises
    ------
    InputRefused
        If it has fewer than three points or no area, or lies outside the photo.
    """
    try:
        polygon = np.array([[float(x), float(y)] for x, y in points], dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise InputRefused("The frame must be a list of points, each with x and y in pixels.", "frame") from error
    if not 3 <= len(polygon) <= _MAX_POINTS:
        raise InputRefused(f"The frame needs at least three points; {len(polygon)} were given.", "frame")
    if not np.isfinite(polygon).all():
        raise InputRefused("The frame has a point that is not a number.", "frame")
    inside = np.clip(polygon, 0, [width, height])
    if polygon_area(polygon) < 1 or polygon_area(inside) < 1:
        raise InputRefused("The frame has no area inside the photo.", "frame")
    return polygon


def polygon_area(polygon: Polygon) -> float:
    """Area of a simple polygon (n, 2), by the shoelace formula."""
    x, y = polygon[:, 0], polygon[:, 1]
    return float(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2)


def coverage(polygon: Polygon, shape: tuple[int, int], scale: tuple[float, float]) -> Floats:
    """Share of each pixel that the polygon covers, float32 ``shape`` (h, w) in [0, 1].

    ``scale`` (x, y) takes the polygon's pixels to those of the map.
    """
    height, width = shape
    points = polygon * scale
    left, top = np.clip(np.floor(points.min(axis=0)).astype(int), 0, [width, height])
    right, bottom = np.clip(np.ceil(points.max(axis=0)).astype(int), 0, [width, height])
    mask = np.zeros(shape, np.float32)
    if right <= left or bottom <= top:
        return mask
    size = int(right - left) * _SUBPIXELS, int(bottom - top) * _SUBPIXELS
    drawn = Image.new("L", size)
    # The drawn outline belongs to the filled area, hence half a subpixel less.
    corners = [tuple(p) for p in ((points - [left, top]) * _SUBPIXELS - 0.5).tolist()]
    ImageDraw.Draw(drawn).polygon(corners, fill=255)
    reduced = drawn.reduce(_SUBPIXELS)
    mask[top:bottom, left:right] = np.asarray(reduced, np.float32) / np.float32(255)
    return mask


def overlap(first: Polygon, second: Polygon, width: int, height: int) -> float:
    """Area that two polygons share inside the photo / area of both together, in [0, 1].

    Parameters
    ----------
    first, second : float (n, 2) and (m, 2), in displayed pixels
    width, height : of the photo in displayed pixels
    """
    scale = min(1.0, _OVERLAP_PX / max(width, height))
    shape = max(1, round(height * scale)), max(1, round(width * scale))
    masks = [coverage(polygon, shape, (shape[1] / width, shape[0] / height)) for polygon in (first, second)]
    both = float(np.minimum(*masks).sum(dtype=np.float64))
    either = float(np.maximum(*masks).sum(dtype=np.float64))
    return both / either if either else 0.0


def long_side(polygon: Polygon) -> npt.NDArray[np.float64]:
    """Unit vector (x, y) along the long side of the smallest rectangle round the polygon, x >= 0."""
    hull = _hull(polygon)
    edges = np.roll(hull, -1, axis=0) - hull
    best_area, best_axis = math.inf, np.array([1.0, 0.0])
    for edge in edges:
        length = math.hypot(*edge)
        if length == 0:
            continue
        along = edge / length
        across = np.array([-along[1], along[0]])
        extent = np.ptp(polygon @ along), np.ptp(polygon @ across)
        if extent[0] * extent[1] < best_area:
            best_area = float(extent[0] * extent[1])
            best_axis = along if extent[0] >= extent[1] else across
    return best_axis if best_axis[0] > 0 or (best_axis[0] == 0 and best_axis[1] > 0) else -best_axis


def _hull(polygon: Polygon) -> Polygon:
    """Convex hull by Andrew's monotone chain (1979)."""
    points = sorted({(float(x), float(y)) for x, y in polygon})
    halves: list[list[tuple[float, float]]] = []
    for ordered in (points, points[::-1]):
        half: list[tuple[float, float]] = []
        for point in ordered:
            while len(half) > 1 and _turn(half[-2], half[-1], point) <= 0:
                half.pop()
            half.append(point)
        halves.append(half[:-1])
    return np.array(halves[0] + halves[1])


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
