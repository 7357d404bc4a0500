"""What two photos of one planting both show: landmarks of wall and planter, and the turn and shift that explain them.

Landmarks are Lowe's SIFT (2004); the turn is found by RANSAC (Fischler and Bolles 1981).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image

Array = npt.NDArray[np.float64]
Complex = npt.NDArray[np.complex128]

FEWEST_MATCHES = 8
TOLERANCE = 0.006  # of the photo's longer side
_LANDMARK_SIDE = 512


@dataclass(frozen=True)
class View:
    """A photo to be laid beside another: its displayed size, the card's corners if read, a grey picture of any size."""

    width: int
    height: int
    card_corners: Array | None = None
    grey: npt.NDArray[np.uint8] | None = None

    @cached_property
    def landmarks(self) -> tuple[Array, npt.NDArray[np.uint8]]:
        """Places (n, 2) in displayed pixels, off the card, and their descriptors (n, 128)."""
        nothing = np.zeros((0, 2)), np.zeros((0, 128), np.uint8)
        if self.grey is None or min(self.grey.shape) < 64:
            return nothing
        from skimage.feature import SIFT

        scale = min(1.0, _LANDMARK_SIDE / max(self.grey.shape))
        size = max(1, round(self.grey.shape[1] * scale)), max(1, round(self.grey.shape[0] * scale))
        small = np.asarray(Image.fromarray(self.grey).resize(size, Image.Resampling.BOX))
        finder: Any = SIFT(upsampling=1, n_octaves=5, c_dog=0.008)  # type: ignore[no-untyped-call]
        try:
            finder.detect_and_extract(small)
        except RuntimeError:  # the finder's way of saying that a picture has no landmarks
            return nothing
        places = (finder.keypoints[:, ::-1] + 0.5) * [self.width / size[0], self.height / size[1]]
        kept = ~self._on_card(places)
        return places[kept], finder.descriptors[kept]

    def _on_card(self, places: Array) -> npt.NDArray[np.bool_]:
        if self.card_corners is None:
            return np.zeros(len(places), bool)
        middle = self.card_corners.mean(axis=0)
        reach = 1.3 * np.linalg.norm(self.card_corners - middle, axis=1).max()
        return np.asarray(np.linalg.norm(places - middle, axis=1) < reach)


def matched_places(from_view: View, to_view: View) -> tuple[Array, Array]:
    """Places (n, 2) in either photo's displayed pixels that seem to show the same thing; right and wrong ones alike."""
    (places_1, kinds_1), (places_2, kinds_2) = from_view.landmarks, to_view.landmarks
    if min(len(places_1), len(places_2)) < FEWEST_MATCHES:
        return np.zeros((0, 2)), np.zeros((0, 2))
    from skimage.feature import match_descriptors

    pairs = match_descriptors(kinds_1, kinds_2, max_ratio=0.8, cross_check=True)  # type: ignore[no-untyped-call]
    return places_1[pairs[:, 0]], places_2[pairs[:, 1]]


def consensus(first: Complex, second: Complex, tolerance: float) -> npt.NDArray[np.bool_]:
    """The largest set of matches that one similarity explains, tried from pairs of matches (RANSAC)."""
    random = np.random.default_rng(20_260_612)
    best = np.zeros(len(first), bool)
    draws = random.integers(0, len(first), (1500, 2))
    for i, j in draws:
        apart = first[j] - first[i]
        if abs(apart) < 5 * tolerance:
            continue
        turn = (second[j] - second[i]) / apart
        near = np.abs(second - second[i] - turn * (first - first[i])) < tolerance
        if near.sum() > best.sum():
            best = near
    return best


def as_complex(points: Array) -> Complex:
    values = np.asarray(points, float)
    return np.asarray(values[:, 0] + 1j * values[:, 1])


def similarity(first: Complex, second: Complex) -> tuple[complex, complex]:
    """Turn-and-scale and shift, as complex numbers, that best take the first points to the second."""
    centred = first - first.mean()
    turn = complex(np.vdot(centred, second - second.mean()) / max(float(np.vdot(centred, centred).real), 1e-12))
    return turn, complex(second.mean() - turn * first.mean())
