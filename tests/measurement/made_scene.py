"""A small layered scene: a painted wall, a trough, leaves and flowers as discs, with exact soft shares of each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

WIDTH, HEIGHT = 640, 480
FRAME = ((90.0, 120.0), (550.0, 120.0), (550.0, 340.0), (90.0, 340.0))
_SCALE = 3


@dataclass(frozen=True)
class MadeScene:
    """The picture and what is true of the frame."""

    picture: Image.Image
    frame: tuple[tuple[float, float], ...]
    canopy_fill: float
    bloom_cover: float


def made_scene(
    seed: int,
    leaves: int,
    flowers: int,
    bloom: tuple[int, int, int] = (214, 60, 140),
    wall: tuple[int, int, int] = (176, 170, 160),
) -> MadeScene:
    """Leaves over a trough before a wall, flowers over the leaves; the shares come from a map drawn alongside."""
    random = np.random.default_rng(seed)
    size = WIDTH * _SCALE, HEIGHT * _SCALE
    picture, classes = Image.new("RGB", size, wall), Image.new("L", size, 0)
    paint, mark = ImageDraw.Draw(picture), ImageDraw.Draw(classes)
    paint.rectangle([v * _SCALE for v in (80, 300, 560, 400)], fill=(96, 66, 44))
    for _ in range(leaves):
        green = random.integers(-18, 18)
        _disc(random, paint, mark, (62 + green, 118 + green, 52 + green // 2), 1, (14, 30))
    for _ in range(flowers):
        shade = int(random.integers(-14, 14))
        _disc(random, paint, mark, tuple(int(np.clip(c + shade, 0, 255)) for c in bloom), 2, (9, 16))
    seen = np.asarray(classes)
    left, top, right, bottom = (int(v * _SCALE) for v in (*FRAME[0], *FRAME[2]))
    inside = seen[top:bottom, left:right]
    plant = inside > 0
    noisy = np.asarray(picture.reduce(_SCALE)).astype(float) + random.normal(0, 3, (HEIGHT, WIDTH, 1))
    return MadeScene(
        Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)),
        FRAME,
        float(plant.mean()),
        float((inside == 2).sum() / max(plant.sum(), 1)),
    )


def _disc(random: np.random.Generator, paint, mark, colour, label: int, radius: tuple[int, int]) -> None:  # type: ignore[no-untyped-def]
    x, y = random.uniform(100, 540), random.uniform(170, 330)
    wide, high = random.uniform(*radius), random.uniform(*radius)
    box = [v * _SCALE for v in (x - wide, y - high, x + wide, y + high)]
    paint.ellipse(box, fill=colour)
    mark.ellipse(box, fill=label)
    vein = tuple(int(c * 0.85) for c in colour)
    paint.line([x * _SCALE, (y - high) * _SCALE, x * _SCALE, (y + high) * _SCALE], fill=vein, width=_SCALE * 2)
