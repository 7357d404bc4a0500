"""Where exactly the card lies in the photo: its printed pattern fitted to the grey levels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from scipy.special import ndtr

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
Floats = npt.NDArray[np.float32]

_MARGIN_MM = 1.5  # the outermost strip shows what is behind the card where the fit is not yet exact
_POINTS = 2500
_ROUNDS = 16
# Coarse to fine: the reader may be off by half a module (1.2 mm), which the fine pattern alone would not forgive.
_BLURS_MM = (1.2, 0.25)
# Steps below these, in half card widths, are as good as none: the coarse fit only has to start the fine one.
_SMALL_STEPS = (3e-3, 1e-4)
# Most points are flat and fit at once, so that the median residual alone would rule out the edges, which tell the most.
_FORGIVEN = 0.8


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
    axes = _axes(px_per_mm)
    grid = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    pose = CardPose(start, -1.0)
    for blur_mm, small_step in zip(_BLURS_MM, _SMALL_STEPS, strict=True):
        blur_px = max(0.6, blur_mm * px_per_mm)
        smooth = ndimage.gaussian_filter(window, blur_px, truncate=3.0)
        slope_y, slope_x = np.gradient(smooth)
        layers = _pattern(modules, axes, sigma_mm=float(np.hypot(blur_px, 0.6) / px_per_mm))
        picture = np.stack([smooth, slope_x, slope_y], axis=-1)
        pose = _fit(pose.matrix, origin, grid, layers, picture, small_step)
    return pose


def _fit(start: Array, origin: Array, grid: Array, layers: Array, picture: Floats, small_step: float) -> CardPose:
    matrix, best = start, CardPose(start, -1.0)
    weights = np.ones(len(grid))
    for _ in range(_ROUNDS):
        seen, gx, gy = _sampled(picture, project(matrix, grid) - origin - 0.5)
        expected, weights = _explained(seen, layers, weights)
        fit = _correlation(seen, expected, weights)
        if fit > best.fit:
            best = CardPose(matrix, fit)
        # The inks' levels move along with the shifts: held fixed, they would slow the fit down tenfold.
        both = np.concatenate([_jacobian(matrix, grid, gx, gy), layers], axis=1)
        weighted = both.T * weights
        square = weighted @ both
        square += np.diag(1e-9 * np.diag(square) + 1e-9)
        try:
            step = np.linalg.solve(square, weighted @ (expected - seen))[:8]
        except np.linalg.LinAlgError:
            break
        # Shifts are taken in centred units, where the eight parameters have like sizes.
        matrix = matrix @ _from_centred(step)
        matrix = matrix / matrix[2, 2]
        if np.abs(step).max() < small_step:
            break
    return best


def _sampled(picture: Floats, at: Array) -> tuple[Array, Array, Array]:
    """The layers of ``picture`` (h, w, 3) at points (n, 2), bilinear; beyond the edge as at the edge."""
    height, width = picture.shape[:2]
    at = np.clip(at, 0, [width - 1.001, height - 1.001])
    whole = at.astype(np.intp)
    right, down = (at - whole).T[:, :, None]
    flat = picture.reshape(-1, 3)
    first = whole[:, 1] * width + whole[:, 0]
    upper = flat[first] * (1 - right) + flat[first + 1] * right
    lower = flat[first + width] * (1 - right) + flat[first + width + 1] * right
    seen, gx, gy = np.ascontiguousarray((upper + (lower - upper) * down).T)
    return seen, gx, gy


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


def _explained(seen: Array, layers: Array, weights: Array) -> tuple[Array, Array]:
    """The grey levels that the pattern explains best, and how far each point is to be believed.

    ``weights`` are those of the step before: believing and fitting converge together.
    """
    expected, spread = seen, max(float(seen.std()), 10.0)
    for _ in range(2):
        weighted = layers.T * weights
        levels, *_ = np.linalg.lstsq(weighted @ layers, weighted @ seen, rcond=None)
        expected = layers @ levels
        residual = np.abs(seen - expected)
        limit = max(4.685 * 1.4826 * float(np.median(residual)), _FORGIVEN * spread)
        weights = np.square(1 - np.square(np.minimum(residual / limit, 1)))
    return expected, weights


def _correlation(seen: Array, expected: Array, weights: Array) -> float:
    if weights.sum() < 0.3 * len(weights):
        return -1.0
    a, b = seen - seen.mean(), expected - expected.mean()
    norm = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / norm if norm > 0 else -1.0


def _window(grey: npt.NDArray[np.uint8], corners: Array) -> tuple[Floats, Array]:
    margin = 0.15 * float(np.ptp(corners, axis=0).max()) + 4
    height, width = grey.shape
    low = np.clip(np.floor(corners.min(axis=0) - margin), 0, [width, height]).astype(int)
    high = np.clip(np.ceil(corners.max(axis=0) + margin), 0, [width, height]).astype(int)
    return grey[low[1] : high[1], low[0] : high[0]].astype(np.float32), low.astype(np.float64)


def _axes(px_per_mm: float) -> tuple[Array, Array]:
    """The columns and rows, in millimetres, of the points at which pattern and photo are compared."""
    area = (WIDTH_MM - 2 * _MARGIN_MM) * (HEIGHT_MM - 2 * _MARGIN_MM)
    step = max(1 / px_per_mm, (area / _POINTS) ** 0.5)
    return np.arange(_MARGIN_MM, WIDTH_MM - _MARGIN_MM, step), np.arange(_MARGIN_MM, HEIGHT_MM - _MARGIN_MM, step)


def _pattern(modules: npt.NDArray[np.bool_], axes: tuple[Array, Array], sigma_mm: float) -> Array:
    """What each printed ink covers at each point: constant, slope in x and y, modules, grey, black; (n, 6).

    All is made of upright rectangles, so that its Gaussian blur is exact: products of normal distributions.
    """
    x, y = axes
    edges = CODE_MM[0] + MODULE_MM * np.arange(len(modules) + 1)
    inks = [_blurred(y, edges, sigma_mm) @ modules @ _blurred(x, edges, sigma_mm).T]
    for name in ("grey", "black"):
        left, top, right, bottom = PATCHES_MM[name]
        inks.append(_blurred(y, [top, bottom], sigma_mm) @ _blurred(x, [left, right], sigma_mm).T)
    slope_x, slope_y = np.meshgrid((x - 50) / 50, (y - 35) / 35)
    return np.stack([np.ones(len(x) * len(y)), *(layer.ravel() for layer in (slope_x, slope_y, *inks))], axis=1)


def _blurred(at: Array, edges: npt.ArrayLike, sigma: float) -> Array:
    """Share of each interval between ``edges`` (m + 1) seen at each point (n) through a Gaussian blur, (n, m)."""
    return np.asarray(-np.diff(ndtr((at[:, None] - np.asarray(edges, float)) / sigma), axis=1))


def rough_pose(code_corners_px: npt.ArrayLike) -> Array:
    """The map from card millimetres to pixels through the four corners of the code's modules."""
    left, top, right, bottom = CODE_MM
    return homography([[left, top], [right, top], [right, bottom], [left, bottom]], code_corners_px)
