"""Drawn leaves of many forms and colours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from journal_server.measurement.training.drawn_canvas import FOLIAGE, Canvas, Colour, Floats, Random, hsv, jitter, shade
from journal_server.measurement.training.drawn_outlines import leaf_outline, place_outline, tilt

LEAVES = ("lance", "ovate", "linear", "round", "serrate", "lobed", "succulent", "pinnate", "lance", "ovate")


def foliage_colour(random: Random) -> Colour:
    family = random.choice(5, p=[0.66, 0.12, 0.08, 0.06, 0.08])
    ranges = (
        ((0.2, 0.38), (0.3, 0.85), (0.3, 0.8)),
        ((0.25, 0.45), (0.08, 0.3), (0.4, 0.75)),
        ((0.16, 0.22), (0.5, 0.9), (0.55, 0.85)),
        ((-0.06, 0.05), (0.3, 0.7), (0.2, 0.45)),
        ((0.06, 0.16), (0.3, 0.7), (0.25, 0.55)),
    )
    return hsv(random, *ranges[family])


@dataclass(frozen=True)
class LeafKind:
    form: str
    colour: Colour
    margin: Colour | None
    gloss: float


def leaf_kind(random: Random) -> LeafKind:
    margin = hsv(random, (0.1, 0.2), (0.05, 0.5), (0.75, 1)) if random.random() < 0.12 else None
    return LeafKind(str(random.choice(LEAVES)), foliage_colour(random), margin, random.random() * 0.4)


def draw_leaf(
    canvas: Canvas,
    random: Random,
    kind: LeafKind,
    at: Floats,
    angle: float,
    size: float,
    lit: float,
    cls: int = FOLIAGE,
) -> None:
    if kind.form == "pinnate":
        leaflet = LeafKind("lance" if size > 30 else "ovate", kind.colour, kind.margin, kind.gloss)
        axis = np.array([np.cos(angle), np.sin(angle)])
        canvas.line(np.stack((at, at + size * axis)), shade(kind.colour, lit), size / 40, cls)
        for place in np.linspace(0.25, 1, 5):
            for side in (-1.0, 1.0):
                draw_leaf(canvas, random, leaflet, at + size * place * axis, angle + side, size * 0.38, lit, cls)
        return
    outline = leaf_outline(random, kind.form)
    colour = shade(jitter(random, kind.colour, 0.25), lit)
    squash = tilt(random)
    body = place_outline(outline, at, angle, size, squash)
    canvas.polygon(body, shade(kind.margin, lit) if kind.margin else colour, cls)
    if size < 7:
        return
    core = outline * np.array([0.95, 0.62]) if kind.margin else outline
    half = len(core) // 2
    spine = np.stack((core[:half, 0], (core[:half, 1] + core[::-1][:half, 1]) / 2), 1)
    upper = np.concatenate((core[:half], spine[::-1]))
    if kind.margin:
        canvas.polygon(place_outline(core, at, angle, size, squash), colour, cls)
    canvas.polygon(place_outline(upper, at, angle, size, squash), shade(colour, 0.72 + 0.2 * random.random()), cls)
    if random.random() < kind.gloss:
        shine = core[:half] * np.array([0.8, 0.5])
        canvas.polygon(
            place_outline(np.concatenate((shine, spine[::-1])), at, angle, size, squash),
            shade(colour, 1.2, (0.9, 0.95, 1.0), 0.35 * random.random()),
            cls,
        )
    canvas.line(place_outline(spine, at, angle, size, squash), shade(colour, 1.15, (1, 1, 1), 0.12), size / 45, cls)
