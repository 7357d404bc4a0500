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

    The frame is moved by ``error_px`` in eight directions and made larger and smaller by as much at its ends; the
    root mean square of what that does to a number is added to its half-width in quadrature, since the frame's error
    and the segmentation's have nothing to do with each other.

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
    there = _numbers(small, np.asarray(frame, float), scale)
    moved = [_numbers(small, polygon, scale) for polygon in _moved_frames(np.asarray(frame, float), error_px)]
    wider: dict[str, Any] = {}
    for name in MOVED:
        estimate: Estimate | None = getattr(measurement, name)
        changes = [numbers[name] - there[name] for numbers in moved if name in numbers and name in there]
        if estimate is not None and changes:
            wider[name] = _wider(estimate, math.sqrt(sum(c * c for c in changes) / len(changes)), name)
    return replace(measurement, **wider)


def _moved_frames(frame: Polygon, error_px: float) -> Iterator[Polygon]:
    for step in range(_DIRECTIONS):
        angle = 2 * math.pi * step / _DIRECTIONS
        yield frame + error_px * np.array([math.cos(angle), math.sin(angle)])
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
