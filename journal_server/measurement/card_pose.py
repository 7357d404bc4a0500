"""Where exactly the card lies in the photo: its printed pattern fitted to the grey levels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from journal_server.measurement.card_layout import (
    CODE_MM,
    CORNERS_MM,
    HEIGHT_MM,
    MODULE_MM,
    PATCHES_MM,
    WIDTH_MM,
    homography,
    project,
)

Array = npt.NDArray[np.float64]

_PER_MM = 4  # pixels of the drawn pattern
_MARGIN_MM = 1.5  # the outermost strip shows what is behind the card where the fit is not yet exact
_POINTS = 4500
_ROUNDS = 16
# Coarse to fine: the reader may be off by half a module (1.2 mm), which the fine pattern alone would not forgive.
_BLURS_MM = (1.2, 0.25)


@dataclass(frozen=True)
class CardPose:
    """``matrix`` takes card millimetres to pixels (pixel centres at whole numbers plus one half)."""

    matrix: Array
    fit: float  # correlation of the drawn and the seen pattern, 1 is perfect

    def to_pixels(self, points_mm: npt.ArrayLike) -> Array:
        return project(self.matrix, points_mm)


def fit_pose(grey: npt.NDArray[np.uint8], modules: npt.NDArray[np.bool_], start: Array) -> CardPose:
    """Refine a rough pose by least squares between the card's pattern and the photo.

    Gauss-Newton on the eight parameters of the plane's projective map (Lucas and Kanade 1981, as
    extended by Baker and Matthews 2004), with Tukey's weights so that leaves over the card do not pull.

    Parameters
    ----------
    grey : uint8 (H, W)
    modules : bool (21, 21), True where dark
    start : 3 x 3 map from millimetres to pixels
    """
    corners = project(start, CORNERS_MM)
    px_per_mm = float(np.linalg.norm(corners[1] - corners[0]) / WIDTH_MM)
    window, origin = _window(grey, corners)
    if window.size == 0 or px_per_mm < 0.3:
        return CardPose(start, 0.0)
    grid = _grid(px_per_mm)
    pose = CardPose(start, -1.0)
    for blur_mm in _BLURS_MM:
        blur_px = max(0.6, blur_mm * px_per_mm)
        smooth = ndimage.gaussian_filter(window, blur_px)
        slope_y, slope_x = np.gradient(smooth)
        layers = _sampled_pattern(modules, grid, sigma_mm=np.hypot(blur_px, 0.6) / px_per_mm)
        pictures = smooth, np.asarray(slope_x), np.asarray(slope_y)
        pose = _fit(pose.matrix, origin, grid, layers, pictures)
    return pose


def _fit(start: Array, origin: Array, grid: Array, layers: Array, pictures: tuple[Array, ...]) -> CardPose:
    matrix, best = start, CardPose(start, -1.0)
    for _ in range(_ROUNDS):
        at = project(matrix, grid) - origin - 0.5
        seen, gx, gy = (ndimage.map_coordinates(p, [at[:, 1], at[:, 0]], order=1, mode="nearest") for p in pictures)
        expected, weights = _explained(seen, layers)
        fit = _correlation(seen, expected, weights)
        if fit > best.fit:
            best = CardPose(matrix, fit)
        jacobian = _jacobian(matrix, grid, gx, gy)
        weighted = jacobian * weights[:, None]
        try:
            step = np.linalg.solve(
                weighted.T @ jacobian + 1e-9 * np.trace(weighted.T @ jacobian) * np.eye(8),
                weighted.T @ (expected - seen),
            )
        except np.linalg.LinAlgError:
            break
        # Shifts are taken in centred units, where the eight parameters have like sizes.
        matrix = matrix @ _from_centred(step)
        matrix = matrix / matrix[2, 2]
        if np.abs(step).max() < 1e-5:
            break
    return best


_CENTRE = np.array([[50.0, 0, 50.0], [0, 50.0, 35.0], [0, 0, 1.0]])
_CENTRE_INVERSE = np.linalg.inv(_CENTRE)


def _from_centred(step: Array) -> Array:
    change = np.eye(3)
    change.ravel()[:8] += step
    return np.asarray(_CENTRE @ change @ _CENTRE_INVERSE)


def _jacobian(matrix: Array, grid: Array, gx: Array, gy: Array) -> Array:
    """Change of the grey level at each point by the eight parameters, (n, 8)."""
    inner = matrix @ _CENTRE
    u = (grid - [50.0, 35.0]) / 50.0
    moved = u @ inner[:, :2].T + inner[:, 2]
    depth = moved[:, 2]
    x, y = moved[:, 0] / depth, moved[:, 1] / depth
    columns = []
    ones = np.ones(len(u))
    for row in range(3):
        # d(x, y) when the row-th centred coordinate moves by one
        dx = (inner[0, row] - x * inner[2, row]) / depth
        dy = (inner[1, row] - y * inner[2, row]) / depth
        change = gx * dx + gy * dy
        columns += [change * u[:, 0], change * u[:, 1], change * ones]
    return np.stack(columns[:8], axis=1)


def _explained(seen: Array, layers: Array) -> tuple[Array, Array]:
    """The grey levels that the pattern explains best, and how far each point is to be believed."""
    weights = np.ones(len(seen))
    expected = seen
    for _ in range(3):
        weighted = layers * weights[:, None]
        levels, *_ = np.linalg.lstsq(weighted.T @ layers, weighted.T @ seen, rcond=None)
        expected = layers @ levels
        residual = np.abs(seen - expected)
        limit = 4.685 * max(1.4826 * float(np.median(residual)), 2.0)
        weights = np.where(residual < limit, (1 - (residual / limit) ** 2) ** 2, 0.0)
    return expected, weights


def _correlation(seen: Array, expected: Array, weights: Array) -> float:
    if weights.sum() < 0.3 * len(weights):
        return -1.0
    a, b = seen - seen.mean(), expected - expected.mean()
    norm = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / norm if norm > 0 else -1.0


def _window(grey: npt.NDArray[np.uint8], corners: Array) -> tuple[Array, Array]:
    margin = 0.15 * float(np.ptp(corners, axis=0).max()) + 4
    height, width = grey.shape
    low = np.clip(np.floor(corners.min(axis=0) - margin), 0, [width, height]).astype(int)
    high = np.clip(np.ceil(corners.max(axis=0) + margin), 0, [width, height]).astype(int)
    return grey[low[1] : high[1], low[0] : high[0]].astype(np.float64), low.astype(np.float64)


def _grid(px_per_mm: float) -> Array:
    area = (WIDTH_MM - 2 * _MARGIN_MM) * (HEIGHT_MM - 2 * _MARGIN_MM)
    step = max(1 / px_per_mm, (area / _POINTS) ** 0.5)
    x = np.arange(_MARGIN_MM, WIDTH_MM - _MARGIN_MM, step)
    y = np.arange(_MARGIN_MM, HEIGHT_MM - _MARGIN_MM, step)
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)


def _sampled_pattern(modules: npt.NDArray[np.bool_], grid: Array, sigma_mm: float) -> Array:
    """What each printed ink covers at each point: constant, slope in x and y, modules, grey, black; (n, 6)."""
    drawn = np.zeros((3, int(HEIGHT_MM * _PER_MM), int(WIDTH_MM * _PER_MM)))
    edges = np.rint((np.arange(len(modules) + 1) * MODULE_MM + CODE_MM[0]) * _PER_MM).astype(int)
    for row, column in np.argwhere(modules):
        drawn[0, edges[row] : edges[row + 1], edges[column] : edges[column + 1]] = 1
    for layer, name in ((1, "grey"), (2, "black")):
        left, top, right, bottom = (int(v * _PER_MM) for v in PATCHES_MM[name])
        drawn[layer, top:bottom, left:right] = 1
    blurred = [ndimage.gaussian_filter(layer, sigma_mm * _PER_MM) for layer in drawn]
    at = grid * _PER_MM - 0.5
    inks = [ndimage.map_coordinates(layer, [at[:, 1], at[:, 0]], order=1, mode="nearest") for layer in blurred]
    x, y = (grid[:, 0] - 50) / 50, (grid[:, 1] - 35) / 35
    return np.stack([np.ones(len(grid)), x, y, *inks], axis=1)


def rough_pose(code_corners_px: npt.ArrayLike) -> Array:
    """The map from card millimetres to pixels through the four corners of the code's modules."""
    left, top, right, bottom = CODE_MM
    return homography([[left, top], [right, top], [right, bottom], [left, bottom]], code_corners_px)
