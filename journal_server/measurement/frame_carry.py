"""Carrying a frame drawn on one photo of a planting to its other photos.

The photos are taken from nearly the same stance, so that shift, turn and scale (a similarity) describe most of
the change; fuller models fitted to a card of a tenth of the frame's length only enlarge the noise. Landmarks of
wall and planter (Lowe's SIFT, 2004, with RANSAC, Fischler and Bolles 1981) come first where there are enough,
since a card may have been set elsewhere; the card comes next; without either the frame is not moved. How far the frame
may be off follows from how it was carried: from what the two ways say of each other, from where the landmarks lie, and
from whether the card stands as it stood.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from journal_server.measurement.frame import Polygon, coverage
from journal_server.measurement.landmarks import (
    FEWEST_MATCHES,
    TOLERANCE,
    Complex,
    View,
    as_complex,
    consensus,
    matched_places,
    similarity,
)

_MANY = 14
_AGREEING = 0.80  # overlap of the frames carried by card and by landmarks

# How far a carried frame may be off: mean distance of its corners from the outline that they should lie on; nine of ten
# stay within. Found on all 448 ordered pairs of dates of the sample season, whose frames are known exactly.

_LEAST_ERROR = 0.02
"""Of the frame's longer extent: where card and landmarks agree, or the card stands as it stood."""

_LANDMARKS_ASIDE = 0.012
"""Of the extent, times the lever (`_lever`): a turn found beside the planter is off by more the farther it is taken."""

_CARD_STANDS_OTHERWISE = 8.0
"""Times the lever, times what shift, turn and scale leave of the card's corners: a card leaning otherwise was moved."""

_FEW = 0.04
"""Of the extent: at least so much where little in the photos could be matched."""

_WAYS_APART = 0.55
"""Where both ways are there, the one taken is off by as much as half the distance between them."""

_FAR_ASIDE = 3.0  # levers beyond this are said


@dataclass(frozen=True)
class _Way:
    """The frame carried in one way, the distance that it may be off, and how many matches are behind it."""

    polygon: Polygon
    error_px: float
    matches: int = 0
    lever: float = 1.0


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
    by_landmarks = _by_landmarks(polygon, from_view, to_view)
    if by_landmarks is not None and by_landmarks.matches >= _MANY:
        if by_card is None:
            warning = LANDMARKS_ASIDE if by_landmarks.lever > _FAR_ASIDE else None
            return _carried(by_landmarks, None, "features", warning, to_view)
        if overlap(by_card.polygon, by_landmarks.polygon) >= _AGREEING:
            surely = replace(by_landmarks, error_px=_LEAST_ERROR * _extent(by_landmarks.polygon))
            return _carried(surely, by_card, "card and features", None, to_view)
        return _carried(by_landmarks, by_card, "features", CARD_MOVED, to_view)
    if by_card is not None:
        return _carried(by_card, by_landmarks, "card", CARD_ALONE, to_view)
    if by_landmarks is not None:
        return _carried(by_landmarks, None, "few features", LITTLE_MATCHED, to_view)
    scaled = polygon * [to_view.width / from_view.width, to_view.height / from_view.height]
    return CarriedFrame(_points(scaled), "scaled", None, NOT_CARRIED)


CARD_MOVED = "The card seems to have been moved; the frame was carried by what stands around it. Please check it."
CARD_ALONE = "The frame was carried by the card alone, which is rough if the card was moved. Please check it."
LANDMARKS_ASIDE = "What both photos show lies beside the planter, so the frame is rough. Please check it."
LITTLE_MATCHED = "Little in the two photos could be matched, so the frame is rough. Please check it."
NOT_CARRIED = "The frame could not be carried to this photo; it stands where it was drawn. Please draw it again here."


def overlap(first: Polygon, second: Polygon) -> float:
    """Area that two polygons share over the area of both, in [0, 1]."""
    both = np.concatenate([first, second])
    low, extent = both.min(axis=0), np.ptp(both, axis=0)
    scale = 256 / max(float(extent.max()), 1e-9)
    shape = int(np.ceil(extent[1] * scale)) + 1, int(np.ceil(extent[0] * scale)) + 1
    masks = [coverage((polygon - low) * scale, shape, (1.0, 1.0)) for polygon in (first, second)]
    union = float(np.maximum(*masks).sum())
    return float(np.minimum(*masks).sum()) / union if union else 0.0


def _carried(way: _Way, other: _Way | None, how: str, warning: str | None, view: View) -> CarriedFrame:
    inside = coverage(way.polygon, (64, 64), (64 / view.width, 64 / view.height))
    if inside.sum() < 8:
        return CarriedFrame(None, how, None, "The planter seems to be out of this photo. Please draw the frame here.")
    apart = 0.0 if other is None else float(np.linalg.norm(way.polygon - other.polygon, axis=1).mean())
    return CarriedFrame(_points(way.polygon), how, max(way.error_px, _WAYS_APART * apart), warning)


def _points(polygon: Polygon) -> tuple[tuple[float, float], ...]:
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in polygon)


def _by_card(polygon: Polygon, from_view: View, to_view: View) -> _Way | None:
    if from_view.card_corners is None or to_view.card_corners is None:
        return None
    first, second = as_complex(from_view.card_corners), as_complex(to_view.card_corners)
    turn, shift = similarity(first, second)
    moved = _moved(polygon, (turn, shift))
    left_px = float(np.sqrt((np.abs(second - turn * first - shift) ** 2).mean()))
    stands_otherwise = _CARD_STANDS_OTHERWISE * left_px * _lever(polygon, first)
    return _Way(moved, max(_LEAST_ERROR * _extent(moved), stands_otherwise))


def _by_landmarks(polygon: Polygon, from_view: View, to_view: View) -> _Way | None:
    places_1, places_2 = matched_places(from_view, to_view)
    if len(places_1) < FEWEST_MATCHES:
        return None
    first, second = as_complex(places_1), as_complex(places_2)
    agreeing = consensus(first, second, TOLERANCE * max(to_view.width, to_view.height))
    count = int(agreeing.sum())
    if count < FEWEST_MATCHES:
        return None
    turn, shift = similarity(first[agreeing], second[agreeing])
    if not 0.4 < abs(turn) * from_view.width / to_view.width < 2.5:
        return None
    moved, lever = _moved(polygon, (turn, shift)), _lever(polygon, first[agreeing])
    share = max(_LANDMARKS_ASIDE * lever, _FEW if count < _MANY else 0.0)
    return _Way(moved, share * _extent(moved), count, lever)


def _lever(polygon: Polygon, places: Complex) -> float:
    """How much farther the error of a turn reaches at the frame's corners than where the turn was found.

    The error of a turn and shift fitted to places grows with the distance from their middle as
    ``sqrt(1 + (distance / spread)^2)`` (least squares); the root mean square of it over the corners.
    """
    spread = float(np.sqrt((np.abs(places - places.mean()) ** 2).mean()))
    distances = np.abs(as_complex(polygon) - places.mean()) / max(spread, 1e-9)
    return float(np.sqrt((1 + distances**2).mean()))


def _extent(polygon: Polygon) -> float:
    return float(np.ptp(polygon, axis=0).max())


def _moved(polygon: Polygon, by: tuple[complex, complex]) -> Polygon:
    turn, shift = by
    moved = turn * as_complex(polygon) + shift
    return np.stack([moved.real, moved.imag], axis=1)
