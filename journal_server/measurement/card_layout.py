"""The printed card's layout in millimetres, from its top left corner, x to the right and y down."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

WIDTH_MM = 100.0
HEIGHT_MM = 70.0
CORNERS_MM = np.array([[0, 0], [WIDTH_MM, 0], [WIDTH_MM, HEIGHT_MM], [0, HEIGHT_MM]], dtype=np.float64)

# The QR code's modules: version 1, 50 mm square.
MODULES = 21
MODULE_MM = 50.0 / MODULES
CODE_MM = (10.0, 10.0, 60.0, 60.0)
CODE_CORNERS_MM = np.array([[10, 10], [60, 10], [60, 60], [10, 60]], dtype=np.float64)

# left, top, right, bottom
PATCHES_MM = {
    "white": (71.0, 5.0, 93.0, 21.0),
    "grey": (71.0, 27.0, 93.0, 43.0),
    "black": (71.0, 49.0, 93.0, 65.0),
}

# Reflectance of the card's white: the reference that every colour is measured against.
WHITE_REFLECTANCE = 0.80


def homography(from_points: npt.ArrayLike, to_points: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """The 3 x 3 projective map that takes four points (4, 2) to four others (4, 2).

    Raises
    ------
    numpy.linalg.LinAlgError
        If three of the points lie on one line.
    """
    source, target = np.asarray(from_points, float), np.asarray(to_points, float)
    rows = []
    for (x, y), (u, v) in zip(source, target, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    return np.append(np.linalg.solve(np.array(rows), target.ravel()), 1.0).reshape(3, 3)


def project(matrix: npt.NDArray[np.float64], points: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Points (..., 2) moved by a 3 x 3 projective map."""
    values = np.asarray(points, float)
    moved = values @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(moved[..., :2] / moved[..., 2:])
