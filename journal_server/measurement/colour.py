"""sRGB, linear light, CIELAB and CIEDE2000, in float32 where whole pictures are concerned."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]

# Linear sRGB to CIE XYZ for D65, 2 degree observer: IEC 61966-2-1:1999, worked out from its primaries and
# white (x = 0.3127, y = 0.3290) to more digits than the four it prints.
SRGB_TO_XYZ = np.array(
    [
        [0.41239080, 0.35758434, 0.18048079],
        [0.21263901, 0.71516868, 0.07219232],
        [0.01933082, 0.11919478, 0.95053215],
    ]
)
# The sum of the rows, so that sRGB white is exactly L* = 100, a* = b* = 0.
D65_WHITE = SRGB_TO_XYZ.sum(axis=1)

_HEX = re.compile(r"#?([0-9a-fA-F]{6})")


def srgb_to_linear(srgb: npt.ArrayLike) -> Floats:
    """Linear light in [0, 1] of sRGB values, uint8 or float in [0, 1] (IEC 61966-2-1), any shape."""
    values = np.asarray(srgb)
    if values.dtype == np.uint8:
        return np.asarray(_LINEAR_OF_BYTE[values])
    return _decode(values.astype(np.float32))


def linear_to_srgb(linear: npt.ArrayLike) -> Floats:
    """sRGB in [0, 1] of linear light, clipped to [0, 1] (IEC 61966-2-1), any shape."""
    values = np.clip(np.asarray(linear, dtype=np.float32), 0.0, 1.0)
    return np.where(values <= 0.0031308, 12.92 * values, 1.055 * values ** (1 / 2.4) - 0.055).astype(np.float32)


def linear_to_lab(linear: npt.ArrayLike) -> Floats:
    """CIELAB (D65, 2 degree) of linear sRGB, shape (..., 3), float32 (CIE 15:2004)."""
    to_relative_xyz = (SRGB_TO_XYZ / D65_WHITE[:, None]).astype(np.float32)
    xyz = np.asarray(linear, dtype=np.float32) @ to_relative_xyz.T
    f = np.where(xyz > 216 / 24389, np.cbrt(np.maximum(xyz, 0)), (24389 / 27 * xyz + 16) / 116)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1).astype(np.float32)


def lab_to_linear(lab: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Linear sRGB of CIELAB (D65), shape (..., 3); may leave [0, 1] for colours outside sRGB."""
    values = np.asarray(lab, dtype=np.float64)
    y = (values[..., 0] + 16) / 116
    f = np.stack([y + values[..., 1] / 500, y, y - values[..., 2] / 200], axis=-1)
    xyz = np.where(f > 6 / 29, f**3, (116 * f - 16) * 27 / 24389) * D65_WHITE
    return np.asarray(xyz @ np.linalg.inv(SRGB_TO_XYZ).T)


def srgb_to_lab(srgb: npt.ArrayLike) -> Floats:
    """CIELAB (D65, 2 degree) of sRGB values, shape (..., 3), uint8 or float in [0, 1]."""
    return linear_to_lab(srgb_to_linear(srgb))


def lab_to_hex(lab: npt.ArrayLike) -> str:
    """``#rrggbb`` of one CIELAB colour, clipped to sRGB."""
    levels = np.rint(linear_to_srgb(lab_to_linear(lab)) * 255).astype(int)
    return "#" + "".join(f"{level:02x}" for level in levels)


def lab_of_hexes(colours: Sequence[str]) -> Floats:
    """CIELAB of ``#rrggbb`` colours, shape (n, 3).

    Raises
    ------
    ValueError
        If one of them is not written as ``#rrggbb``.
    """
    rows = []
    for colour in colours:
        match = _HEX.fullmatch(colour.strip()) if isinstance(colour, str) else None
        if not match:
            raise ValueError(f"not a colour written as #rrggbb: {colour!r}")
        rows.append([int(match[1][i : i + 2], 16) for i in (0, 2, 4)])
    return srgb_to_lab(np.array(rows, dtype=np.uint8).reshape(-1, 3))


def delta_e_00(lab_1: npt.ArrayLike, lab_2: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """CIEDE2000 colour difference with kL = kC = kH = 1 (Sharma, Wu and Dalal 2005), shapes (..., 3)."""
    from skimage.color import deltaE_ciede2000

    first, second = np.asarray(lab_1, float), np.asarray(lab_2, float)
    return np.asarray(deltaE_ciede2000(first, second))  # type: ignore[no-untyped-call]


def _decode(values: Floats) -> Floats:
    low = values / np.float32(12.92)
    high = ((np.maximum(values, 0) + np.float32(0.055)) / np.float32(1.055)) ** np.float32(2.4)
    return np.where(values <= 0.04045, low, high).astype(np.float32)


_LINEAR_OF_BYTE = _decode(np.arange(256, dtype=np.float32) / np.float32(255))
