"""One photo laid over another of the same planting, so that they can be looked at in one place.

What both photos show (landmarks of wall and planter) comes first, the card next: over the pairs of photos of the
sample season landmarks lie closer, and a card is small beside what it has to place. Leaves grow and planters have
depth, so shift, turn and scale fit such photos better than the eight numbers of a plane; the plane is used
only where very many matches ask for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image

from journal_server.measurement.card_layout import project
from journal_server.measurement.landmarks import (
    FEWEST_MATCHES,
    TOLERANCE,
    Array,
    View,
    as_complex,
    consensus,
    matched_places,
    similarity,
)

VERSION = "1"

# Mean distance of the frame's corners from the outline they should lie on, as a share of the photo's longer side: nine
# of ten pairs of photos of the sample season (8 plantings x 28 pairs) stay within it.
TYPICAL_ERROR = {"features": 0.016, "features of a plane": 0.024, "card": 0.033}

_PLANE_MATCHES = 100
_PLANE_GAIN = 1.5  # so many times the matches that shift, turn and scale explain
_PLANE_TOLERANCE = 0.004
_SCALES = (0.4, 2.5)
_LEAST_OVERLAP = 0.25
_GRID = 12


@dataclass(frozen=True)
class Registration:
    """How a second photo lies on a first one.

    ``matrix`` (3, 3) takes displayed pixels of the second photo to those of the first; None where it failed, and then
    ``reason`` says why. ``how`` is one of "features", "features of a plane", "card", "failed". ``error_px`` is the
    distance, in displayed pixels of the first photo, that nine of ten pairs stay within. ``matches`` agree with it.
    """

    matrix: Array | None
    how: str
    error_px: float | None = None
    matches: int = 0
    reason: str | None = None


def register(first: View, second: View) -> Registration:
    """How ``second`` lies on ``first``, two photos of one planting.

    Returns
    -------
    Registration; it failed where too few landmarks agree and not both cards are read, or where what was found would
    turn the photo over, shrink or enlarge it beyond belief, or hardly overlap.

    References
    ----------
    Lowe (2004), Distinctive image features from scale-invariant keypoints, IJCV 60, 91-110.
    Fischler and Bolles (1981), Random sample consensus, Communications of the ACM 24, 381-395.
    """
    by_features = _by_features(first, second)
    if by_features.matrix is not None:
        return by_features
    if first.card_corners is not None and second.card_corners is not None:
        turned = _as_matrix(*similarity(as_complex(second.card_corners), as_complex(first.card_corners)))
        return _believed(turned, "card", 4, first, second)
    return by_features


def lay_over(picture: Image.Image, size: tuple[int, int], matrix: Array) -> Image.Image:
    """The second photo's ``picture`` as seen from the first one's place, RGBA, transparent where it does not reach.

    ``matrix`` takes pixels of ``picture`` to pixels of the result, which is of ``size`` (width, height).
    """
    back = np.linalg.inv(matrix)
    numbers = (back / back[2, 2]).ravel()[:8].tolist()
    opaque = picture.convert("RGBA")
    return opaque.transform(size, Image.Transform.PERSPECTIVE, numbers, Image.Resampling.BICUBIC)


def scaled(matrix: Array, first_scale: float, second_scale: float) -> Array:
    """The map between the two photos reduced by these factors."""
    return np.asarray(np.diag([first_scale, first_scale, 1.0]) @ matrix @ np.diag([1 / second_scale] * 2 + [1.0]))


def _by_features(first: View, second: View) -> Registration:
    places_2, places_1 = matched_places(second, first)
    if len(places_1) < FEWEST_MATCHES:
        return _failed("the two photos show too little in common")
    side = max(first.width, first.height)
    target, source = as_complex(places_1), as_complex(places_2)
    agreeing = consensus(source, target, TOLERANCE * side)
    count = int(agreeing.sum())
    plane, on_plane = _plane(places_1, places_2, _PLANE_TOLERANCE * side)
    if plane is not None and on_plane >= max(_PLANE_MATCHES, _PLANE_GAIN * count):
        return _believed(plane, "features of a plane", on_plane, first, second)
    if count < FEWEST_MATCHES:
        return _failed(f"only {count} of {len(places_1)} things that look alike lie as they should")
    turned = _as_matrix(*similarity(source[agreeing], target[agreeing]))
    return _believed(turned, "features", count, first, second)


def _plane(places_1: Array, places_2: Array, tolerance: float) -> tuple[Array | None, int]:
    """The projective map that most matches agree with, and how many do."""
    if len(places_1) < _PLANE_MATCHES:
        return None, 0
    from skimage.measure import ransac
    from skimage.transform import ProjectiveTransform

    fitted: Any
    fitted, inliers = ransac(  # type: ignore[no-untyped-call]
        (places_2, places_1), ProjectiveTransform, min_samples=4, residual_threshold=tolerance, max_trials=500, rng=1
    )
    if not fitted or inliers is None:
        return None, 0
    return np.asarray(fitted.params / fitted.params[2, 2], float), int(inliers.sum())


def _believed(matrix: Array, how: str, matches: int, first: View, second: View) -> Registration:
    """The map, unless no two photos of one planting can lie so."""
    steps = (np.arange(_GRID) + 0.5) / _GRID
    grid = np.stack(np.meshgrid(steps * second.width, steps * second.height), axis=-1).reshape(-1, 2)
    depth = grid @ matrix[2, :2] + matrix[2, 2]
    if (depth <= 0).any() or not np.isfinite(matrix).all():
        return _failed("what was matched would fold the photo")
    areas = np.linalg.det(matrix) / depth**3
    if (areas <= 0).any():
        return _failed("what was matched would turn the photo over")
    scale = np.sqrt(areas) * second.width / first.width
    if scale.min() < _SCALES[0] or scale.max() > _SCALES[1]:
        return _failed("what was matched would need another distance than a walk gives")
    moved = project(matrix, grid)
    inside = ((moved >= 0) & (moved < [first.width, first.height])).all(axis=1)
    if inside.mean() < _LEAST_OVERLAP:
        return _failed("the two photos hardly overlap")
    return Registration(matrix, how, TYPICAL_ERROR[how] * max(first.width, first.height), matches)


def _failed(reason: str) -> Registration:
    return Registration(None, "failed", reason=reason)


def _as_matrix(turn: complex, shift: complex) -> npt.NDArray[np.float64]:
    return np.array([[turn.real, -turn.imag, shift.real], [turn.imag, turn.real, shift.imag], [0.0, 0.0, 1.0]])
