"""Carrying a frame drawn on one photo of a planting to its other photos.

The photos are taken from nearly the same stance, so that shift, turn and scale (a similarity) describe most of
the change; fuller models fitted to a card of a tenth of the frame's length only enlarge the noise. Landmarks of
wall and planter (Lowe's SIFT, 2004, with RANSAC, Fischler and Bolles 1981) come first where there are enough,
since a card may have been set elsewhere; the card comes next; without either the frame is not moved.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from journal_server.measurement.frame import Polygon, coverage
from journal_server.measurement.landmarks import (
    FEWEST_MATCHES,
    TOLERANCE,
    View,
    as_complex,
    consensus,
    matched_places,
    similarity,
)

_MANY = 14
_AGREEING = 0.80  # overlap of the frames carried by card and by landmarks

# Mean distance of the frame's corners from the outline they should lie on, as a share of the frame's longer extent, by
# way of carrying: the 90th percentile over the pairs of photos of the sample season.
TYPICAL_ERROR = {"card and features": 0.02, "features": 0.03, "card": 0.04, "few features": 0.04}


@dataclass(frozen=True)
class CarriedFrame:
    """``polygon`` in the other photo's displayed pixels, or None; ``how`` it was carried; a warning if doubtful.

    ``how`` is one of "card and features", "features", "card", "few features", "scaled". ``error_px`` is the
    distance that nine of ten carried frames stay within, None where unknown.
    """

    polygon: tuple[tuple[float, float], ...] | None
    how: str
    error_px: float | None
    warning: str | None


def carry_frame(frame: Polygon, from_view: View, to_view: View) -> CarriedFrame:
    """The frame as it should lie in another photo of the same planting.

    Parameters
    ----------
    frame : (n, 2), displayed pixels of the first photo
    from_view, to_view : the two photos
    """
    polygon = np.asarray(frame, float)
    by_card = _by_card(polygon, from_view, to_view)
    by_landmarks, count = _by_landmarks(polygon, from_view, to_view)
    if by_landmarks is not None and count >= _MANY:
        agree = by_card is not None and overlap(by_card, by_landmarks) >= _AGREEING
        warning = None
        if by_card is not None and not agree:
            warning = (
                "The card seems to have been moved; the frame was carried by what stands around it. Please check it."
            )
        return _carried(by_landmarks, "card and features" if agree else "features", warning, to_view)
    if by_card is not None:
        warning = "The frame was carried by the card alone, which is rough if the card was moved. Please check it."
        return _carried(by_card, "card", warning, to_view)
    if by_landmarks is not None:
        warning = "Little in the two photos could be matched, so the frame is rough. Please check it."
        return _carried(by_landmarks, "few features", warning, to_view)
    scaled = polygon * [to_view.width / from_view.width, to_view.height / from_view.height]
    warning = "The frame could not be carried to this photo; it stands where it was drawn. Please draw it again here."
    return CarriedFrame(_points(scaled), "scaled", None, warning)


def overlap(first: Polygon, second: Polygon) -> float:
    """Area that two polygons share over the area of both, in [0, 1]."""
    both = np.concatenate([first, second])
    low, extent = both.min(axis=0), np.ptp(both, axis=0)
    scale = 256 / max(float(extent.max()), 1e-9)
    shape = int(np.ceil(extent[1] * scale)) + 1, int(np.ceil(extent[0] * scale)) + 1
    masks = [coverage((polygon - low) * scale, shape, (1.0, 1.0)) for polygon in (first, second)]
    union = float(np.maximum(*masks).sum())
    return float(np.minimum(*masks).sum()) / union if union else 0.0


def _carried(polygon: Polygon, how: str, warning: str | None, view: View) -> CarriedFrame:
    inside = coverage(polygon, (64, 64), (64 / view.width, 64 / view.height))
    if inside.sum() < 8:
        return CarriedFrame(None, how, None, "The planter seems to be out of this photo. Please draw the frame here.")
    extent = float(np.ptp(polygon, axis=0).max())
    return CarriedFrame(_points(polygon), how, TYPICAL_ERROR[how] * extent, warning)


def _points(polygon: Polygon) -> tuple[tuple[float, float], ...]:
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in polygon)


def _by_card(polygon: Polygon, from_view: View, to_view: View) -> Polygon | None:
    if from_view.card_corners is None or to_view.card_corners is None:
        return None
    return _moved(polygon, similarity(as_complex(from_view.card_corners), as_complex(to_view.card_corners)))


def _by_landmarks(polygon: Polygon, from_view: View, to_view: View) -> tuple[Polygon | None, int]:
    places_1, places_2 = matched_places(from_view, to_view)
    if len(places_1) < FEWEST_MATCHES:
        return None, 0
    first, second = as_complex(places_1), as_complex(places_2)
    agreeing = consensus(first, second, TOLERANCE * max(to_view.width, to_view.height))
    count = int(agreeing.sum())
    if count < FEWEST_MATCHES:
        return None, count
    turn, shift = similarity(first[agreeing], second[agreeing])
    if not 0.4 < abs(turn) * from_view.width / to_view.width < 2.5:
        return None, count
    return _moved(polygon, (turn, shift)), count


def _moved(polygon: Polygon, by: tuple[complex, complex]) -> Polygon:
    turn, shift = by
    moved = turn * as_complex(polygon) + shift
    return np.stack([moved.real, moved.imag], axis=1)
