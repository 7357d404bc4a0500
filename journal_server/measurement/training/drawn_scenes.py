"""Drawn training scenes: layered 2-D flowers and leaves of many forms over many backgrounds, with exact classes.

The path-traced scenes hold one cultivar per planter, eight flower shapes and few backgrounds. These
drawings are less real but far more varied: close-ups, spikes, umbels, pompoms, dark gaps between leaves,
blurred greenery, litter, hands, cards. Everything follows from the ``numpy.random.Generator`` given.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from journal_server.measurement.training.drawn_backgrounds import FAMILIES, draw_background, draw_hand
from journal_server.measurement.training.drawn_canvas import (
    BACKGROUND,
    CARD,
    PLANTER,
    Canvas,
    Colour,
    Floats,
    Random,
    hsv,
    noise,
    shade,
)
from journal_server.measurement.training.drawn_flowers import flower_kind
from journal_server.measurement.training.drawn_leaves import leaf_kind
from journal_server.measurement.training.drawn_outlines import place_outline
from journal_server.measurement.training.drawn_plants import draw_plant


def _draw_planter(canvas: Canvas, random: Random, at: Floats, radius: float) -> None:
    colour = hsv(random, *FAMILIES[str(random.choice(["brick", "paint", "mulch", "stone", "dark"]))])
    half, depth = radius * random.uniform(0.7, 1.3), radius * random.uniform(0.4, 1.0)
    taper = random.uniform(0.6, 1.0)
    front = at + np.array([[-half, 0], [half, 0], [half * taper, depth], [-half * taper, depth]])
    opening = at + np.array([[-half, 0], [-half * 0.9, -depth * 0.35], [half * 0.9, -depth * 0.35], [half, 0]])
    canvas.polygon(opening, hsv(random, *FAMILIES["soil"]), PLANTER)
    canvas.polygon(front, colour, PLANTER)
    for _ in range(int(random.integers(0, 6))):
        share = random.random()
        edge = front[[0, 1]] * (1 - share) + front[[3, 2]] * share
        canvas.line(edge, shade(colour, random.uniform(0.6, 1.2)), radius * random.uniform(0.01, 0.06), PLANTER)


def _draw_card(canvas: Canvas, random: Random, at: Floats, size: float) -> None:
    angle, stretch = random.normal(0, 0.2), 1.45
    corners = np.array([[-stretch, -1], [stretch, -1], [stretch, 1], [-stretch, 1]]) * 0.5
    canvas.polygon(place_outline(corners, at, angle, size), (0.92, 0.92, 0.9), CARD)
    cell = 0.8 / 21
    for row, column in np.argwhere(random.random((21, 21)) < 0.5):
        box = np.array([[0, 0], [cell, 0], [cell, cell], [0, cell]]) + np.array([column, row]) * cell - [0.6, 0.4]
        canvas.polygon(place_outline(box, at, angle, size), (0.05, 0.05, 0.05), CARD)
    for step, grey in enumerate((0.1, 0.5, 0.75)):
        patch = (corners * 0.2) + np.array([0.48, -0.3 + 0.3 * step])
        canvas.polygon(place_outline(patch, at, angle, size), (grey, grey, grey), CARD)


def light(canvas: Canvas, random: Random) -> None:
    pixels = np.asarray(canvas.picture).astype(np.float64)
    pixels *= 1 + random.uniform(0, 0.2) * (noise(random, canvas.side, 90, 3)[..., None] - 0.5)
    if random.random() < 0.5:
        field_ = noise(random, canvas.side, int(random.integers(2, 10)), 3)[..., None]
        if random.random() < 0.4:
            field_ = np.clip((field_ - 0.5) * random.uniform(3, 12) + 0.5, 0, 1)
        pixels *= 1 - random.uniform(0.1, 0.6) * field_
    canvas.repaint(np.clip(pixels, 0, 255).astype(np.uint8))


@dataclass(frozen=True)
class DrawnScene:
    """srgb (side, side, 3) uint8, classes (side, side) uint8, declared sRGB colours in [0, 1]."""

    srgb: NDArray[np.uint8]
    classes: NDArray[np.uint8]
    bloom_colours: tuple[Colour, ...]
    foliage_colours: tuple[Colour, ...]


def draw_scene(seed: int, side: int = 512, plants: bool = True) -> DrawnScene:
    """One scene; with ``plants`` false only a background, all of class background."""
    random = np.random.default_rng(seed)
    size = (2 * side, 2 * side)
    canvas = Canvas(Image.new("RGB", size), Image.new("L", size, BACKGROUND))
    draw_background(canvas, random)
    leaf = leaf_kind(random)
    flower = flower_kind(random, leaf.colour)
    bare = random.random() < 0.12
    if plants:
        mode = str(random.choice(["full", "clumps", "row"], p=[0.5, 0.25, 0.25]))
        if mode != "full" and random.random() < 0.6:
            middle = 2 * side * np.array([random.uniform(0.3, 0.7), random.uniform(0.5, 0.8)])
            _draw_planter(canvas, random, middle, 2 * side * random.uniform(0.15, 0.45))
        if random.random() < 0.25:
            other = leaf_kind(random)
            draw_plant(canvas, random, other, flower_kind(random, other.colour), mode, random.random() < 0.5)
        draw_plant(canvas, random, leaf, flower, mode, bare)
        if random.random() < 0.25:
            _draw_card(canvas, random, random.uniform(0.2, 0.8, 2) * 2 * side, 2 * side * random.uniform(0.05, 0.2))
        if random.random() < 0.06:
            draw_hand(canvas, random)
    light(canvas, random)
    picture = canvas.picture.resize((side, side), Image.Resampling.BOX)
    classes = canvas.classes.resize((side, side), Image.Resampling.NEAREST)
    second = (flower.second,) if flower.pattern in ("throat", "picotee") else ()
    blooms = () if bare or not plants else (flower.colour, *second)
    return DrawnScene(
        np.asarray(picture), np.asarray(classes), blooms, (leaf.colour, *((leaf.margin,) if leaf.margin else ()))
    )
