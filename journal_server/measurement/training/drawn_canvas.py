"""The canvas that drawn training scenes are painted on, colours and noise."""

from __future__ import annotations

import colorsys
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

BACKGROUND, FOLIAGE, BLOOM, SPENT, PLANTER, CARD = range(6)
Floats = NDArray[np.float64]
Colour = tuple[float, float, float]
Random = np.random.Generator


@dataclass
class Canvas:
    """Picture and class map drawn together, both at twice the final size."""

    picture: Image.Image
    classes: Image.Image
    brush: ImageDraw.ImageDraw = field(init=False)
    marker: ImageDraw.ImageDraw = field(init=False)

    def __post_init__(self) -> None:
        self.brush = ImageDraw.Draw(self.picture)
        self.marker = ImageDraw.Draw(self.classes)

    @property
    def side(self) -> int:
        return self.picture.size[0]

    def polygon(self, outline: Floats, colour: Colour, kind: int) -> None:
        points = [(float(x), float(y)) for x, y in outline]
        self.brush.polygon(points, fill=_rgb(colour))
        self.marker.polygon(points, fill=kind)

    def line(self, points: Floats, colour: Colour, width: float, kind: int) -> None:
        path = [(float(x), float(y)) for x, y in points]
        self.brush.line(path, fill=_rgb(colour), width=max(1, round(width)), joint="curve")
        self.marker.line(path, fill=kind, width=max(1, round(width)), joint="curve")

    def repaint(self, pixels: NDArray[np.uint8]) -> None:
        self.picture.paste(Image.fromarray(pixels))


def _rgb(colour: Colour) -> tuple[int, int, int]:
    r, g, b = (int(min(255, max(0, 255 * c))) for c in colour)
    return r, g, b


def shade(colour: Colour, factor: float, towards: Colour = (0.0, 0.0, 0.0), share: float = 0.0) -> Colour:
    r, g, b = (min(1.0, (1 - share) * c * factor + share * t) for c, t in zip(colour, towards, strict=True))
    return r, g, b


def jitter(random: Random, colour: Colour, amount: float) -> Colour:
    h, s, v = colorsys.rgb_to_hsv(*(min(1.0, max(0.0, c)) for c in colour))
    return colorsys.hsv_to_rgb(
        (h + random.normal(0, 0.03 * amount)) % 1,
        float(np.clip(s * (1 + random.normal(0, 0.3 * amount)), 0, 1)),
        float(np.clip(v * (1 + random.normal(0, 0.4 * amount)), 0, 1)),
    )


def hsv(random: Random, h: tuple[float, float], s: tuple[float, float], v: tuple[float, float]) -> Colour:
    return colorsys.hsv_to_rgb(random.uniform(*h) % 1, random.uniform(*s), random.uniform(*v))


def noise(random: Random, side: int, coarsest: int, octaves: int = 4) -> Floats:
    """Smooth noise in [0, 1], (side, side); ``coarsest`` cells along a side in the first octave."""
    total = np.zeros((side, side))
    for octave in range(octaves):
        cells = min(side, coarsest * 2**octave)
        grid = Image.fromarray(random.random((cells, cells)).astype(np.float32))
        total += np.asarray(grid.resize((side, side), Image.Resampling.BICUBIC)) / 2**octave
    low, high = total.min(), total.max()
    return np.asarray((total - low) / (high - low + 1e-9))
