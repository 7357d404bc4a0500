"""A drawn planting: leaves from deep to near, then flowers with their shadows, buds and spent ones."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from journal_server.measurement.training.drawn_canvas import (
    FOLIAGE,
    SPENT,
    Canvas,
    Colour,
    Floats,
    Random,
    hsv,
    jitter,
    shade,
)
from journal_server.measurement.training.drawn_flowers import FlowerKind, draw_flower
from journal_server.measurement.training.drawn_leaves import LeafKind, draw_leaf
from journal_server.measurement.training.drawn_outlines import leaf_outline, place_outline


def _grown_spots(random: Random, side: int, count: int, mode: str) -> Floats:
    if mode == "full":
        return random.uniform(-0.05, 1.05, (count, 2)) * side
    centres = random.uniform(0.2, 0.8, (int(random.integers(1, 6)), 2)) * side
    if mode == "row":
        centres[:, 1] = side * random.uniform(0.4, 0.65)
    spread = side * random.uniform(0.06, 0.2)
    ball = random.normal(0, 1, (count, 2))
    ball *= (np.sqrt(random.random(count)) / (np.linalg.norm(ball, axis=1) + 1e-9))[:, None]
    return centres[random.integers(0, len(centres), count)] + 1.6 * spread * ball


def _undergrowth(canvas: Canvas, random: Random, colour: Colour, spots: Floats, size: float) -> None:
    """The dark inside of a planting, which counts as foliage."""
    dark = shade(colour, random.uniform(0.05, 0.4))
    for spot in spots:
        ring = place_outline(leaf_outline(random, "round"), spot, random.uniform(0, 6), size * random.uniform(0.6, 1.3))
        canvas.polygon(ring, jitter(random, dark, 0.4), FOLIAGE)


def _cast_shadows(canvas: Canvas, random: Random, spots: Floats, radius: float) -> None:
    mask = Image.new("L", canvas.picture.size, 0)
    brush = ImageDraw.Draw(mask)
    offset = random.uniform(-0.6, 0.6, 2) * radius
    for x, y in spots + offset:
        brush.ellipse((x - radius, y - radius * 0.8, x + radius, y + radius * 0.8), fill=255)
    soft = np.asarray(mask.filter(ImageFilter.GaussianBlur(radius * random.uniform(0.05, 0.4))))
    dimming = 1 - random.uniform(0.2, 0.65) * soft[..., None] / 255.0
    canvas.repaint((np.asarray(canvas.picture) * dimming).astype(np.uint8))


def draw_plant(canvas: Canvas, random: Random, leaf: LeafKind, flower: FlowerKind, mode: str, bare: bool) -> None:
    side = canvas.side
    size = side * float(np.exp(random.uniform(np.log(0.025), np.log(0.3))))
    if leaf.form in ("linear", "pinnate"):
        size *= 1.5
    dense = random.choice([0.6, 1.5, 3.0, 4.5]) * (1.0 if mode == "full" else 0.35)
    count = int(np.clip(dense * (side / size) ** 2, 25, 2500))
    spots = _grown_spots(random, side, count, mode)
    # thin growth shows the ground between its leaves, dense growth its own dark inside
    if random.random() < 0.75 and (dense > 1 or mode != "full"):
        _undergrowth(canvas, random, leaf.colour, spots[: count // 2], size * 0.8)
    upright = random.random() < 0.3
    for index, spot in enumerate(spots):
        lit = 0.35 + 0.85 * (index / count) ** random.uniform(0.4, 1.2) + random.normal(0, 0.1)
        angle = random.normal(-1.57, 0.6) if upright else random.uniform(0, 6.3)
        draw_leaf(canvas, random, leaf, spot, angle, size * random.uniform(0.5, 1.2), float(np.clip(lit, 0.15, 1.3)))
        if index == count // 2 and random.random() < 0.3:
            canvas.repaint(np.asarray(canvas.picture.filter(ImageFilter.GaussianBlur(random.uniform(1, 10)))))
    if not bare:
        _draw_blooms(canvas, random, flower, leaf, spots, size)


def _draw_blooms(
    canvas: Canvas, random: Random, flower: FlowerKind, leaf: LeafKind, spots: Floats, leaf_size: float
) -> None:
    side = canvas.side
    radius = float(np.clip(leaf_size * np.exp(random.normal(-0.3, 0.7)), side * 0.007, side * 0.28))
    full = (side / radius) ** 2 / np.pi * (1.0 if np.ptp(spots) > 0.9 * side else 0.5)
    count = int(np.clip(full * random.choice([0.05, 0.15, 0.3, 0.6, 1.2]), 1, 350))
    places = spots[random.integers(0, len(spots), count)] + random.normal(0, radius * 0.5, (count, 2))
    _cast_shadows(canvas, random, places, radius)
    bud = FlowerKind("lipped", 3, "round", 0.5, flower.colour, flower.second, flower.centre, "plain", flower.calyx)
    browns = ((0.03, 0.11), (0.3, 0.7), (0.15, 0.6))
    withered = FlowerKind(
        form=str(random.choice(["simple", "double", "lipped", flower.form])),
        petals=5,
        outline=str(random.choice(["narrow", "pointed", "round"])),
        width=0.6,
        colour=shade(flower.colour, 0.6, hsv(random, *browns), random.uniform(0.6, 1.0)),
        second=hsv(random, *browns),
        centre=hsv(random, *browns),
        pattern="picotee",
        calyx=flower.calyx,
    )
    spent = random.uniform(0, 0.5) if random.random() < 0.35 else 0.0
    stems = random.random() < 0.4
    for place in places:
        if stems:
            foot = place + np.array([random.normal(0, radius), radius * random.uniform(2, 6)])
            canvas.line(np.stack((place, foot)), jitter(random, leaf.colour, 0.2), radius * 0.08, FOLIAGE)
        fate = random.random()
        if fate < spent:
            draw_flower(canvas, random, withered, place, radius * random.uniform(0.4, 0.8), SPENT)
        elif fate > 0.92:
            draw_flower(canvas, random, bud, place, radius * 0.3, FOLIAGE)
        else:
            draw_flower(canvas, random, flower, place, radius * random.uniform(0.75, 1.15))
        if random.random() < 0.06:
            draw_leaf(canvas, random, leaf, place, random.uniform(0, 6.3), leaf_size, random.uniform(0.7, 1.1))
