"""Drawn flower heads of many small flowers: umbel, spike, whorl with coloured calyces, fluff, plume."""

from __future__ import annotations

import numpy as np

from journal_server.measurement.training.drawn_canvas import BLOOM, FOLIAGE, Canvas, Floats, Random, jitter, shade
from journal_server.measurement.training.drawn_flowers import FlowerKind, draw_disc, draw_flower, draw_ring
from journal_server.measurement.training.drawn_outlines import petal_outline, place_outline, tilt


def draw_bloom(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int = BLOOM) -> None:
    """One flower or flower head of the kind's form."""
    heads = {"umbel": _umbel, "spike": _spike, "whorl": _whorl, "fluff": _fluff, "plume": _plume}
    heads.get(kind.form, draw_flower)(canvas, random, kind, at, radius, cls)


def _floret(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int) -> None:
    squash = tilt(random)
    draw_ring(canvas, random, kind, at, radius, squash, int(random.integers(3, 6)), 0.9, "obovate", cls)
    if radius > 5:
        draw_disc(canvas, random, at, radius * 0.2, squash, kind.centre, cls)


def _umbel(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int) -> None:
    squash = tilt(random)
    count = int(random.integers(14, 60))
    floret = radius * 1.5 / np.sqrt(count)
    for _ in range(count // 5):
        spot = at + radius * random.uniform(-0.7, 0.7, 2) @ squash
        canvas.line(np.stack((at + np.array([0, radius]), spot)), kind.calyx, radius / 25, FOLIAGE)
    for _ in range(count):
        angle, distance = random.uniform(0, 2 * np.pi), np.sqrt(random.random())
        spot = at + radius * distance * np.array([np.cos(angle), np.sin(angle)]) @ squash
        _floret(canvas, random, kind, spot, floret * random.uniform(0.7, 1.1), cls)


def _spike(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int) -> None:
    lean = random.normal(-np.pi / 2, 0.3)
    axis = np.array([np.cos(lean), np.sin(lean)])
    across = np.array([-axis[1], axis[0]])
    canvas.line(np.stack((at - radius * 2.5 * axis, at + radius * 1.6 * axis)), kind.calyx, radius / 12, FOLIAGE)
    for place in np.linspace(1.5, -1.4, int(random.integers(10, 26))):
        half = radius * 0.4 * (1 - 0.28 * (place + 1.4) / 1.4)
        for side in (-1, 0, 1):
            spot = at + radius * place * axis + across * half * side * random.uniform(0.5, 1.0)
            size = half * random.uniform(0.5, 0.9)
            canvas.polygon(
                place_outline(petal_outline(random, "round", 0.7), spot, lean + side, size, None), kind.calyx, FOLIAGE
            )
            if random.random() < 0.75:
                _floret(canvas, random, kind, spot + across * size * side * 0.5, size, cls)


def _whorl(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int) -> None:
    """A dense head of coloured calyces and buds, which are foliage, with a few open florets standing out of it."""
    bract = jitter(random, kind.calyx, 0.3)
    for _ in range(int(random.integers(20, 60))):
        angle, distance = random.uniform(0, 2 * np.pi), np.sqrt(random.random())
        spot = at + 0.7 * radius * distance * np.array([np.cos(angle), np.sin(angle)])
        outline = petal_outline(random, "pointed", random.uniform(0.3, 0.6))
        colour = shade(jitter(random, bract, 0.3), random.uniform(0.5, 1.1))
        canvas.polygon(place_outline(outline, spot, angle, radius * random.uniform(0.15, 0.3)), colour, FOLIAGE)
    for _ in range(int(random.integers(0, 14))):
        angle, distance = random.uniform(0, 2 * np.pi), random.uniform(0.3, 1.0)
        spot = at + radius * distance * np.array([np.cos(angle), np.sin(angle)])
        _floret(canvas, random, kind, spot, radius * random.uniform(0.14, 0.3), cls)


def _fluff(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int) -> None:
    """A ball of threads with pale tips."""
    draw_disc(canvas, random, at, radius * random.uniform(0.5, 0.8), tilt(random), shade(kind.colour, 0.8), cls)
    for _ in range(int(random.integers(60, 220))):
        angle, start = random.uniform(0, 2 * np.pi), random.uniform(0, 0.6)
        way = np.array([np.cos(angle), np.sin(angle)])
        path = np.stack((at + radius * start * way, at + radius * random.uniform(0.7, 1.0) * way))
        canvas.line(path, shade(jitter(random, kind.colour, 0.2), random.uniform(0.7, 1.1)), radius / 40, cls)
        if radius > 12:
            tip = place_outline(petal_outline(random, "round", 0.9), path[1], angle, radius / 16)
            canvas.polygon(tip, jitter(random, kind.second, 0.2), cls)


def _plume(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int) -> None:
    """A froth of tiny flowers in lumps on branching stalks, loose towards its tips."""
    lean = random.normal(-np.pi / 2, 0.5)
    foot = at - radius * 1.2 * np.array([np.cos(lean), np.sin(lean)])
    dot = radius * random.uniform(0.025, 0.08)
    for _ in range(int(random.integers(4, 12))):
        angle, reach = lean + random.normal(0, 0.6), radius * random.uniform(0.3, 1.9)
        lump = foot + reach * np.array([np.cos(angle), np.sin(angle)])
        canvas.line(np.stack((foot, lump)), kind.calyx, max(1.0, radius / 40), FOLIAGE)
        spread = radius * random.uniform(0.15, 0.4)
        for spot in lump + random.normal(0, spread * 0.6, (int(random.integers(15, 60)), 2)):
            colour = shade(jitter(random, kind.colour, 0.15), random.uniform(0.65, 1.1))
            outline = petal_outline(random, "round", 1.0)
            canvas.polygon(
                place_outline(outline, spot, random.uniform(0, 6), dot * random.uniform(0.7, 1.6)), colour, cls
            )
