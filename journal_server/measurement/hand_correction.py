"""A class map corrected by hand: strokes painted over the photo are taken as the person's word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from journal_server.errors import InputRefused
from journal_server.measurement.shares import BACKGROUND, BLOOM, FOLIAGE, SPENT

Floats = npt.NDArray[np.float32]

PAINTS = {"bloom": BLOOM, "foliage": FOLIAGE, "spent": SPENT, "other": BACKGROUND}
"""What a stroke may paint, and the class of the map that it becomes."""


@dataclass(frozen=True)
class Stroke:
    """A round brush drawn along ``points`` (x, y); they and the brush's ``width`` are in displayed pixels."""

    paint: str
    width: float
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class PaintedMap:
    """A class map with what was painted over it.

    ``before`` and ``after`` are float32 (h, w, 6), probabilities; ``layers`` says for each painted class what share of
    each pixel (h, w) it covers, later strokes over earlier ones; ``untouched`` is the share that no stroke covers.
    ``brush_px`` is the width in pixels of the map of the last brush at each pixel, 0 where none was.
    """

    before: Floats
    after: Floats
    layers: dict[int, Floats]
    untouched: Floats
    brush_px: Floats


def checked_strokes(strokes: Sequence[Stroke]) -> tuple[Stroke, ...]:
    """The strokes; InputRefused if one paints an unknown class, is without width or points, or is not of numbers."""
    for stroke in strokes:
        if stroke.paint not in PAINTS:
            raise InputRefused(f"A stroke paints one of: {', '.join(PAINTS)}; not {stroke.paint!r}.", "correction")
        points = np.asarray(stroke.points, float)
        if points.ndim != 2 or points.shape[1:] != (2,) or not len(points) or not np.isfinite(points).all():
            raise InputRefused("A stroke needs points, each with x and y in pixels.", "correction")
        if not (np.isfinite(stroke.width) and stroke.width > 0):
            raise InputRefused(f"A stroke needs a width above 0 pixels, not {stroke.width}.", "correction")
    return tuple(strokes)


def paint(classes: Floats, strokes: Sequence[Stroke], width: int, height: int) -> PaintedMap:
    """Paint the strokes over a class map, in their order.

    Parameters
    ----------
    classes : float32 (h, w, 6), probabilities
    strokes : as `checked_strokes` gives them
    width, height : of the photo in displayed pixels, in which the strokes are
    """
    shape = classes.shape[:2]
    layers = {PAINTS[stroke.paint]: np.zeros(shape, np.float32) for stroke in strokes}
    untouched, brush = np.ones(shape, np.float32), np.zeros(shape, np.float32)
    scale = (shape[1] / width, shape[0] / height)
    for stroke in strokes:
        window, covered = stroke_coverage(stroke, shape, scale)
        for layer in (*layers.values(), untouched):
            layer[window] *= 1 - covered
        layers[PAINTS[stroke.paint]][window] += covered
        brush[window][covered > 0] = stroke.width * (scale[0] * scale[1]) ** 0.5
    after = classes * untouched[..., None]
    for kind, layer in layers.items():
        after[..., kind] += layer
    return PaintedMap(classes, after, layers, untouched, brush)


Window = tuple[slice, slice]


def stroke_coverage(stroke: Stroke, shape: tuple[int, int], scale: tuple[float, float]) -> tuple[Window, Floats]:
    """Share of each pixel that the stroke covers, in the window of the map (rows, columns) that it can reach.

    A pixel at distance d from the line is covered as a slab of its own width at that distance is: exactly for a
    straight line along the rows or columns, within a few hundredths of a pixel else.

    Parameters
    ----------
    shape : (h, w) of the map
    scale : (x, y), takes displayed pixels to those of the map
    """
    points, radius = np.asarray(stroke.points, float), stroke.width / 2
    half_pixel = 0.5 / (scale[0] * scale[1]) ** 0.5
    window = _window(points, radius + half_pixel, shape, scale)
    squared = np.full(tuple(part.stop - part.start for part in window), np.inf, np.float32)
    starts = points if len(points) == 1 else points[:-1]
    for start, end in zip(starts, points[-len(starts) :], strict=True):
        part = _window(np.stack([start, end]), radius + half_pixel, shape, scale)
        inner = tuple(slice(p.start - w.start, p.stop - w.start) for p, w in zip(part, window, strict=True))
        np.minimum(squared[inner], _squared_distance(start, end, part, scale), out=squared[inner])
    distance = np.sqrt(squared.astype(np.float64))  # in float32 what is wholly covered would come out a little less
    nearer, farther = distance - half_pixel, distance + half_pixel
    covered = (np.minimum(farther, radius) - np.maximum(nearer, -radius)) / (2 * half_pixel)
    return window, np.clip(covered, 0, 1).astype(np.float32)


def _window(
    points: npt.NDArray[np.float64], reach: float, shape: tuple[int, int], scale: tuple[float, float]
) -> Window:
    height, width = shape
    low = np.clip(np.floor((points.min(axis=0) - reach) * scale), 0, [width, height]).astype(int)
    high = np.clip(np.ceil((points.max(axis=0) + reach) * scale), low, [width, height]).astype(int)
    return slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))


def _squared_distance(
    start: npt.NDArray[np.float64], end: npt.NDArray[np.float64], window: Window, scale: tuple[float, float]
) -> Floats:
    """Squared distance in displayed pixels from the middle of each pixel in the window to the segment."""
    y = (np.arange(window[0].start, window[0].stop) + 0.5)[:, None] / scale[1] - start[1]
    x = (np.arange(window[1].start, window[1].stop) + 0.5)[None, :] / scale[0] - start[0]
    x, y = x.astype(np.float32), y.astype(np.float32)
    across, down = (np.float32(extent) for extent in end - start)
    length_2 = across * across + down * down
    if length_2 == 0:
        return np.asarray(x * x + y * y)
    at = np.clip((x * across + y * down) / length_2, 0, 1)
    return np.asarray((x - at * across) ** 2 + (y - at * down) ** 2)
