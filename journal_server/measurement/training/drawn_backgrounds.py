"""Drawn backgrounds: soil, stone, brick, sky, paint, blurred greenery, litter, hands."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from journal_server.measurement.training.drawn_canvas import BACKGROUND, Canvas, Random, hsv, noise, shade
from journal_server.measurement.training.drawn_leaves import LeafKind, draw_leaf
from journal_server.measurement.training.drawn_outlines import leaf_outline, place_outline

FAMILIES: dict[str, tuple[tuple[float, float], tuple[float, float], tuple[float, float]]] = {
    "soil": ((0.03, 0.1), (0.2, 0.6), (0.05, 0.4)),
    "mulch": ((0.02, 0.09), (0.3, 0.7), (0.1, 0.55)),
    "stone": ((0.0, 1.0), (0.0, 0.15), (0.25, 0.9)),
    "sand": ((0.07, 0.13), (0.15, 0.4), (0.5, 0.9)),
    "brick": ((-0.02, 0.06), (0.35, 0.7), (0.3, 0.75)),
    "sky": ((0.54, 0.64), (0.05, 0.7), (0.6, 1.0)),
    "paint": ((0.0, 1.0), (0.1, 0.8), (0.2, 0.95)),
    "greenery": ((0.2, 0.4), (0.25, 0.8), (0.05, 0.5)),
    "dark": ((0.0, 1.0), (0.0, 0.5), (0.0, 0.15)),
}


def _mixed(random: Random, side: int, family: str) -> NDArray[np.uint8]:
    colours = np.array([hsv(random, *FAMILIES[family]) for _ in range(3)])
    first = noise(random, side, int(random.choice([2, 4, 16, 60])))[..., None] ** random.uniform(0.5, 2)
    second = noise(random, side, int(random.choice([2, 8, 40, 160])), 3)[..., None]
    mixed = colours[0] * (1 - first) + colours[1] * first
    mixed = mixed * (1 - 0.6 * second) + 0.6 * second * colours[2]
    return np.asarray(255 * np.clip(mixed, 0, 1)).astype(np.uint8)


def _blocks(canvas: Canvas, random: Random, family: str) -> None:
    side = canvas.side
    rows = int(random.integers(2, 16))
    height, stagger = side / rows, random.random() < 0.6
    width = height * random.uniform(0.8, 12)
    gap = height * random.uniform(0.01, 0.12)
    for row in range(rows + 1):
        shift = width / 2 * (row % 2) * stagger
        for column in range(-1, int(side / width) + 2):
            x, y = column * width + shift, row * height
            box = np.array([[x, y], [x + width - gap, y], [x + width - gap, y + height - gap], [x, y + height - gap]])
            canvas.polygon(box, hsv(random, *FAMILIES[family]), BACKGROUND)
    if random.random() < 0.4:
        canvas.repaint(np.asarray(canvas.picture.transpose(Image.Transpose.ROTATE_90)))


def _scatter(canvas: Canvas, random: Random) -> None:
    """Grass blades, straw, pebbles or dead leaves: small things that are not the planting."""
    choice = str(random.choice(["grass", "straw", "pebbles", "litter"]))
    side = canvas.side
    size = side * random.uniform(0.01, 0.12)
    green = LeafKind("linear", hsv(random, (0.18, 0.35), (0.3, 0.8), (0.25, 0.7)), None, 0.1)
    dead = LeafKind(
        str(random.choice(["ovate", "lobed", "lance"])), hsv(random, (0.04, 0.12), (0.2, 0.6), (0.25, 0.8)), None, 0.1
    )
    straw = LeafKind("linear", hsv(random, (0.09, 0.14), (0.15, 0.5), (0.5, 0.95)), None, 0.0)
    count = int(np.clip(random.uniform(0.5, 2.5) * (side / size) ** 2 * 0.5, 20, 900))
    for _ in range(count):
        at = random.uniform(0, side, 2)
        lit = random.uniform(0.4, 1.1)
        if choice == "pebbles":
            ring = place_outline(leaf_outline(random, "round"), at, random.uniform(0, 6), size * random.uniform(0.3, 1))
            canvas.polygon(ring, hsv(random, *FAMILIES["stone"]), BACKGROUND)
        elif choice == "grass":
            draw_leaf(canvas, random, green, at, random.normal(-1.57, 0.5), size * 2, lit, BACKGROUND)
        else:
            thing = straw if choice == "straw" else dead
            draw_leaf(canvas, random, thing, at, random.uniform(0, 6.3), size, lit, BACKGROUND)


def _blobs(canvas: Canvas, random: Random, colour_of: str) -> None:
    for _ in range(int(random.integers(10, 80))):
        at, radius = random.uniform(0, canvas.side, 2), canvas.side * random.uniform(0.02, 0.12)
        ring = place_outline(leaf_outline(random, "round"), at, random.uniform(0, 6), radius)
        canvas.polygon(ring, hsv(random, *FAMILIES[colour_of]), BACKGROUND)


def draw_hand(canvas: Canvas, random: Random, cls: int = BACKGROUND) -> None:
    skin = hsv(random, (0.03, 0.09), (0.25, 0.6), (0.35, 0.95))
    side = canvas.side
    at, angle, size = random.uniform(0, side, 2), random.uniform(0, 6.3), side * random.uniform(0.05, 0.13)
    for finger in range(4):
        start = at + size * 0.35 * (finger - 1.5) * np.array([-np.sin(angle), np.cos(angle)])
        end = start + size * random.uniform(1.2, 2.0) * np.array([np.cos(angle), np.sin(angle)])
        canvas.line(np.stack((start, end)), shade(skin, random.uniform(0.85, 1.05)), size * 0.3, cls)
    canvas.line(np.stack((at, at - 3 * size * np.array([np.cos(angle), np.sin(angle)]))), skin, size * 1.2, cls)


def draw_background(canvas: Canvas, random: Random) -> None:
    family = str(random.choice(list(FAMILIES), p=[0.18, 0.12, 0.12, 0.09, 0.08, 0.08, 0.1, 0.16, 0.07]))
    canvas.repaint(_mixed(random, canvas.side, family))
    if random.random() < 0.3:
        _blocks(canvas, random, str(random.choice(["brick", "stone", "paint", "mulch", family])))
        grain = 0.75 + 0.5 * noise(random, canvas.side, 60, 3)[..., None]
        canvas.repaint(np.clip(np.asarray(canvas.picture) * grain, 0, 255).astype(np.uint8))
    for _ in range(int(random.choice([0, 1, 2], p=[0.35, 0.4, 0.25]))):
        _scatter(canvas, random)
    if random.random() < 0.25:
        _blobs(canvas, random, str(random.choice(["greenery", "greenery", "paint", "stone", "sky"])))
        canvas.repaint(np.asarray(canvas.picture.filter(ImageFilter.GaussianBlur(random.uniform(6, 40)))))
    if random.random() < 0.1:
        draw_hand(canvas, random)
    if random.random() < 0.4:
        canvas.repaint(np.asarray(canvas.picture.filter(ImageFilter.GaussianBlur(random.exponential(8)))))
