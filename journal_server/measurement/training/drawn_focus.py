"""Shallow focus: other greenery out of focus behind the planting, its own leaves out of focus in front of it."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageFilter

from journal_server.measurement.training.drawn_canvas import BACKGROUND, FOLIAGE, Canvas, Random
from journal_server.measurement.training.drawn_flowers import flower_kind
from journal_server.measurement.training.drawn_leaves import LeafKind, draw_leaf, leaf_kind
from journal_server.measurement.training.drawn_plants import draw_plant


def blur_picture(canvas: Canvas, radius: float) -> None:
    # a wide blur of a picture brought to a quarter looks the same and takes a fraction of the time
    small = canvas.picture.resize((canvas.side // 4, canvas.side // 4), Image.Resampling.BOX)
    soft = small.filter(ImageFilter.GaussianBlur(radius / 4))
    canvas.repaint(np.asarray(soft.resize(canvas.picture.size, Image.Resampling.BICUBIC)))


def draw_stand_behind(canvas: Canvas, random: Random) -> None:
    """A hedge, meadow or neighbour's planting behind, blurred: all of it background."""
    leaf = leaf_kind(random)
    bare = random.random() < 0.7
    draw_plant(canvas, random, leaf, flower_kind(random, leaf.colour), "full", bare)
    blur_picture(canvas, float(np.exp(random.uniform(np.log(5), np.log(45)))))
    canvas.classes.paste(BACKGROUND, (0, 0, canvas.side, canvas.side))


def draw_leaves_in_front(canvas: Canvas, random: Random, leaf: LeafKind) -> None:
    """A few large leaves of the planting itself, too near to be sharp: foliage."""
    front = Canvas(canvas.picture.copy(), Image.new("L", canvas.picture.size, BACKGROUND))
    for _ in range(int(random.integers(1, 6))):
        size = canvas.side * random.uniform(0.2, 0.6)
        draw_leaf(front, random, leaf, random.uniform(0, canvas.side, 2), random.uniform(0, 6.3), size, 0.9, 255)
    blur = ImageFilter.GaussianBlur(random.uniform(6, 24))
    share = front.classes.filter(blur)
    canvas.picture.paste(front.picture.filter(blur), (0, 0), share)
    canvas.classes.paste(FOLIAGE, (0, 0), share.point([0] * 128 + [255] * 128))
