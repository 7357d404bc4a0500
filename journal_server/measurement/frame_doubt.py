"""A frame that was carried from another photo lies a little off; what that may do to the numbers widens them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from journal_server.measurement.frame import Polygon, coverage
from journal_server.measurement.result import Estimate, Measurement
from journal_server.measurement.shares import shares_in

MOVED = ("canopy_fill", "bloom_cover", "flower_to_leaf", "spent_share")
_DIRECTIONS = 8
_STRIDE = 2


def widen_for_frame(
    measurement: Measurement, classes: npt.NDArray[np.float32], frame: Polygon, error_px: float
) -> Measurement:
    """The measurement with intervals that also hold the doubt about where the frame lies.

    The frame is moved by ``error_px`` in eight directions, and made larger and smaller by as much at its ends. A
    carried frame is off in both ways at once, so that the root mean squares of what the one and the other does to a
    number are added to its half-width in quadrature; the segmentation's error has nothing to do with the frame's.

    Parameters
    ----------
    measurement : made with ``frame``
    classes : float32 (h, w, 6), class probabilities of the same photo
    frame : (n, 2), displayed pixels
    error_px : distance that nine of ten carried frames stay within, in displayed pixels; 0 leaves all as it is

    Returns
    -------
    Measurement with the same values and wider intervals
    """
    if error_px <= 0:
        return measurement
    small = classes[::_STRIDE, ::_STRIDE]
    scale = (small.shape[1] / measurement.width, small.shape[0] / measurement.height)
    drawn = np.asarray(frame, float)
    there = _numbers(small, drawn, scale)
    moved, resized = (
        [_numbers(small, polygon, scale) for polygon in polygons]
        for polygons in (_moved_frames(drawn, error_px), _resized_frames(drawn, error_px))
    )
    wider: dict[str, Any] = {}
    for name in MOVED:
        estimate: Estimate | None = getattr(measurement, name)
        if estimate is not None and name in there:
            by = math.hypot(*(_spread(there[name], name, numbers) for numbers in (moved, resized)))
            wider[name] = _wider(estimate, by, name)
    return replace(measurement, **wider)


def _spread(there: float, name: str, elsewhere: list[dict[str, float]]) -> float:
    """The root mean square change of a number; 0 where it is known nowhere else."""
    changes = [numbers[name] - there for numbers in elsewhere if name in numbers]
    return math.sqrt(sum(change * change for change in changes) / len(changes)) if changes else 0.0


def _moved_frames(frame: Polygon, error_px: float) -> Iterator[Polygon]:
    for step in range(_DIRECTIONS):
        angle = 2 * math.pi * step / _DIRECTIONS
        yield frame + error_px * np.array([math.cos(angle), math.sin(angle)])


def _resized_frames(frame: Polygon, error_px: float) -> Iterator[Polygon]:
    middle = frame.mean(axis=0)
    reach = max(float(np.linalg.norm(frame - middle, axis=1).max()), 1e-9)
    for factor in (1 + error_px / reach, max(0.2, 1 - error_px / reach)):
        yield middle + (frame - middle) * factor


def _numbers(classes: npt.NDArray[np.float32], frame: Polygon, scale: tuple[float, float]) -> dict[str, float]:
    inside = coverage(frame * scale, classes.shape[:2], (1.0, 1.0))
    if not inside.any():
        return {}
    shares = shares_in(classes, inside)
    values = {name: getattr(shares, name) for name in MOVED}
    return {name: value for name, value in values.items() if value is not None}


def _wider(estimate: Estimate, by: float, name: str) -> Estimate:
    low = max(0.0, estimate.value - math.hypot(estimate.value - estimate.low, by))
    high = estimate.value + math.hypot(estimate.high - estimate.value, by)
    return Estimate(estimate.value, low, high if name == "flower_to_leaf" else min(1.0, high))
