"""Intervals of a photo corrected by hand: the method's error where nothing was painted, the hand's where it was.

Both are drawn from the same class map as the numbers. Why so, and how well it does, is written in the README here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from journal_server.measurement.grid import PhotoOnGrid
from journal_server.measurement.hand_correction import PaintedMap
from journal_server.measurement.intervals import least_half_width
from journal_server.measurement.result import Estimate, Measurement
from journal_server.measurement.shares import Shares, plant_in, shares_in
from journal_server.measurement.slots import slot_fill

Floats = npt.NDArray[np.float32]

OF_THE_FRAME = ("canopy_fill", "evenness")
OF_THE_PLANT = ("bloom_cover", "flower_to_leaf", "spent_share")
PLACED_WITHIN = 0.25
"""How far nine of ten edges lie from where they were meant to, as a share of the brush's width."""
_PAINTED = 0.5


def shares_by_hand(painted: PaintedMap, frame: Floats) -> Shares:
    """Shares of the painted map, with the doubt of the map before: painting is sure of itself, the method was not."""
    before = shares_in(painted.before, frame)
    after = shares_in(painted.after, frame)
    return replace(after, canopy_doubt=before.canopy_doubt, bloom_doubt=before.bloom_doubt)


@dataclass(frozen=True)
class HandDoubt:
    """What is left of the method's error, and the numbers as they would be with the painted edges elsewhere.

    ``left`` is the share of the frame, and of the plant in it, that no stroke covers.
    """

    left_of_frame: float
    left_of_plant: float
    numbers: dict[str, float]
    moved: tuple[tuple[dict[str, float], dict[str, float]], ...]


def with_intervals_by_hand(
    measurement: Measurement, painted: PaintedMap, grid: PhotoOnGrid, segmented_by: str, plants: int | None
) -> Measurement:
    """The measurement with the intervals of a photo corrected by hand.

    The method's half-width is multiplied by the root of the share that was not painted, as errors of places that have
    little to do with each other add up. What the painted edges of each class do to a number when all of them lie a
    quarter of the brush's width farther out, or farther in, is added in quadrature, class by class.

    Parameters
    ----------
    measurement : made from the painted map, its intervals as if the method had made all of it
    grid : the photo on the grid of the painted map
    segmented_by : name of the segmentation that gave the map before
    plants : number of plants in the planter, None where unknown

    Returns
    -------
    Measurement with the same values; no interval is narrower than the method's narrowest
    """
    doubt = _doubt(painted, grid, plants)
    widened: dict[str, Any] = {}
    for name in (*OF_THE_FRAME, *OF_THE_PLANT):
        estimate: Estimate | None = getattr(measurement, name)
        if estimate is not None:
            left = doubt.left_of_frame if name in OF_THE_FRAME else doubt.left_of_plant
            edges = math.sqrt(sum(_moved_by(name, pair, doubt.numbers) ** 2 for pair in doubt.moved))
            widened[name] = _estimate(estimate, name, segmented_by, math.sqrt(left), edges)
    return replace(measurement, **widened)


def painted_share(painted: PaintedMap, frame: Floats) -> float:
    """Share of the frame that was painted, in [0, 1]."""
    return 1 - _left(painted.untouched, frame)


def _doubt(painted: PaintedMap, grid: PhotoOnGrid, plants: int | None) -> HandDoubt:
    plant = np.maximum(plant_in(painted.before), grid.canopy) * grid.frame
    return HandDoubt(
        left_of_frame=_left(painted.untouched, grid.frame),
        left_of_plant=_left(painted.untouched, plant),
        numbers=_numbers(painted.after, grid, plants),
        moved=tuple(
            (_numbers(farther_out, grid, plants), _numbers(farther_in, grid, plants))
            for farther_out, farther_in in _moved_edges(painted)
        ),
    )


def _left(untouched: Floats, weights: Floats) -> float:
    whole = float(weights.sum(dtype=np.float64))
    return min(1.0, float((untouched * weights).sum(dtype=np.float64)) / whole) if whole > 0 else 1.0


def _moved_edges(painted: PaintedMap) -> Iterator[tuple[Floats, Floats]]:
    """For each painted class the map with its edges farther out, and farther in: there the method's map is back."""
    reach = PLACED_WITHIN * painted.brush_px
    for kind, layer in painted.layers.items():
        inside = layer > _PAINTED
        if not inside.any():
            continue
        away, nearest = ndimage.distance_transform_edt(~inside, return_indices=True)
        out = np.where(inside, 0, np.clip(reach[tuple(nearest)] + 1 - away, 0, 1)).astype(np.float32)
        gone = np.where(inside, np.clip(reach + 1 - _depth(inside), 0, 1), 0).astype(np.float32)
        own = np.zeros(painted.after.shape[-1], np.float32)
        own[kind] = 1
        yield (
            painted.after * (1 - out)[..., None] + own * out[..., None],
            painted.after * (1 - gone)[..., None] + painted.before * gone[..., None],
        )


def _depth(inside: npt.NDArray[np.bool_]) -> npt.NDArray[np.float64]:
    """Distance to the nearest pixel outside; the edge of the picture is none."""
    if inside.all():
        return np.full(inside.shape, np.inf)
    return np.asarray(ndimage.distance_transform_edt(inside))


def _numbers(classes: Floats, grid: PhotoOnGrid, plants: int | None) -> dict[str, float]:
    shares = shares_in(classes, grid.frame)
    values = {name: getattr(shares, name) for name in ("canopy_fill", *OF_THE_PLANT)}
    values["evenness"] = slot_fill(plant_in(classes), grid.frame, grid.polygon, plants).evenness if plants else None
    return {name: value for name, value in values.items() if value is not None}


def _moved_by(name: str, pair: tuple[dict[str, float], dict[str, float]], there: dict[str, float]) -> float:
    """The larger of what the two do to the number; 0 where they leave it undefined."""
    return max((abs(numbers[name] - there[name]) for numbers in pair if name in numbers and name in there), default=0.0)


def _estimate(estimate: Estimate, name: str, method: str, factor: float, edges: float) -> Estimate:
    half = max(estimate.value - estimate.low, estimate.high - estimate.value) * factor
    half = max(least_half_width(name, method), math.hypot(half, edges))
    highest = 1.0 if name in ("canopy_fill", "bloom_cover", "spent_share") else math.inf
    return Estimate(estimate.value, max(0.0, estimate.value - half), min(highest, estimate.value + half))
