"""Drawn flowers: single, daisy, double, pompom, trumpet, umbel, spike, lipped, cup."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from journal_server.measurement.training.drawn_canvas import (
    BLOOM,
    FOLIAGE,
    Canvas,
    Colour,
    Floats,
    Random,
    hsv,
    jitter,
    shade,
)
from journal_server.measurement.training.drawn_outlines import petal_outline, place_outline, tilt


@dataclass(frozen=True)
class FlowerKind:
    form: str
    petals: int
    outline: str
    width: float
    colour: Colour
    second: Colour
    centre: Colour
    pattern: str
    calyx: Colour


FORMS = ("simple", "simple", "daisy", "double", "pompom", "trumpet", "umbel", "spike", "lipped", "cup")


def bloom_colour(random: Random) -> Colour:
    family = random.choice(10, p=[0.16, 0.05, 0.14, 0.07, 0.11, 0.13, 0.12, 0.12, 0.07, 0.03])
    ranges = (
        ((0, 1), (0, 0.08), (0.85, 1)),
        ((0.1, 0.16), (0.1, 0.35), (0.85, 1)),
        ((0.12, 0.185), (0.55, 1), (0.75, 1)),
        ((0.03, 0.1), (0.6, 1), (0.8, 1)),
        ((-0.04, 0.02), (0.75, 1), (0.5, 0.95)),
        ((0.88, 0.98), (0.2, 0.6), (0.8, 1)),
        ((0.82, 0.92), (0.5, 0.95), (0.5, 0.95)),
        ((0.7, 0.82), (0.25, 0.8), (0.45, 0.9)),
        ((0.6, 0.7), (0.3, 0.85), (0.5, 0.95)),
        ((0.85, 1.02), (0.4, 0.8), (0.15, 0.35)),
    )
    return hsv(random, *ranges[family])


def flower_kind(random: Random, leaf: Colour) -> FlowerKind:
    colour = bloom_colour(random)
    calyx = jitter(random, leaf if random.random() < 0.6 else shade(colour, 0.5), 0.5)
    return FlowerKind(
        form=str(random.choice(FORMS)),
        petals=int(random.choice([3, 4, 5, 5, 5, 6, 8])),
        outline=str(random.choice(["obovate", "round", "pointed", "narrow", "wedge"])),
        width=random.uniform(0.5, 1.3),
        colour=colour,
        second=bloom_colour(random) if random.random() < 0.4 else shade(colour, 0.7),
        centre=hsv(random, (0.05, 0.2), (0.4, 1), (0.2, 1)),
        pattern=str(random.choice(["plain", "plain", "throat", "picotee", "veined"])),
        calyx=calyx,
    )


def _petal(
    canvas: Canvas,
    random: Random,
    kind: FlowerKind,
    outline: Floats,
    place: tuple[Floats, float, float, Floats],
    kinds: int,
) -> None:
    at, angle, size, squash = place
    lit = float(np.clip(random.normal(0.92, 0.12), 0.55, 1.15))
    colour = shade(jitter(random, kind.colour, 0.12), lit)
    rim = shade(kind.second, lit) if kind.pattern == "picotee" else shade(colour, 0.82)
    canvas.polygon(place_outline(outline, at, angle, size, squash), rim, kinds)
    canvas.polygon(place_outline(outline * np.array([0.95, 0.86]), at, angle, size, squash), colour, kinds)
    if size < 9:
        return
    canvas.polygon(
        place_outline(outline * np.array([0.8, 0.5]), at, angle, size, squash),
        shade(colour, 1.08, (1, 1, 1), 0.05),
        kinds,
    )
    if kind.pattern == "throat":
        canvas.polygon(
            place_outline(outline * np.array([0.45, 0.6]), at, angle, size, squash), shade(kind.second, lit), kinds
        )
    if kind.pattern == "veined":
        for offset in (-0.12, 0, 0.12):
            vein = np.array([[0.05, 0], [0.5, offset * 0.7], [0.85, offset]]) * np.array([1, kind.width])
            canvas.line(place_outline(vein, at, angle, size, squash), shade(kind.second, lit), size / 40, kinds)


def _ring(
    canvas: Canvas,
    random: Random,
    kind: FlowerKind,
    at: Floats,
    size: float,
    squash: Floats,
    count: int,
    width: float,
    outline_form: str,
    cls: int,
) -> None:
    turn = random.uniform(0, 2 * np.pi)
    for index in range(count):
        angle = turn + 2 * np.pi * index / count + random.normal(0, 0.06)
        outline = petal_outline(random, outline_form, width)
        _petal(canvas, random, kind, outline, (at, angle, size * random.uniform(0.9, 1.05), squash), cls)


def _disc(canvas: Canvas, random: Random, at: Floats, radius: float, squash: Floats, colour: Colour, cls: int) -> None:
    angles = np.linspace(0, 2 * np.pi, 14)[:-1]
    circle = np.stack((np.cos(angles), np.sin(angles)), 1)
    canvas.polygon(at + radius * circle @ squash, shade(colour, 0.75), cls)
    canvas.polygon(at + 0.75 * radius * circle @ squash, colour, cls)
    if radius > 6:
        for spot in random.normal(0, 0.42, (int(min(60, radius * 2)), 2)):
            dot = at + radius * (spot + 0.1 * circle) @ squash
            canvas.polygon(dot, jitter(random, colour, 1.0), cls)


def draw_flower(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int = BLOOM) -> None:
    squash = tilt(random)
    if kind.form == "daisy":
        for _ in range(int(random.integers(1, 3))):
            count = int(random.integers(9, 34))
            _ring(canvas, random, kind, at, radius, squash, count, 5.5 / count, "narrow", cls)
        _disc(canvas, random, at, radius * random.uniform(0.2, 0.4), squash, kind.centre, cls)
    elif kind.form == "double":
        for ring in np.linspace(1, 0.25, int(random.integers(3, 6))):
            _ring(canvas, random, kind, at, radius * float(ring), squash, 7, kind.width, kind.outline, cls)
    elif kind.form == "pompom":
        for shrink in np.linspace(1, 0.3, 4):
            _ring(canvas, random, kind, at, radius * float(shrink), squash, 26, 0.14, "pointed", cls)
    elif kind.form == "trumpet":
        _ring(canvas, random, kind, at, radius, squash, 5, 1.35, "round", cls)
        _disc(canvas, random, at, radius * random.uniform(0.12, 0.35), squash, shade(kind.second, 0.6), cls)
    elif kind.form == "umbel":
        _cluster(canvas, random, kind, at, radius, squash, cls)
    elif kind.form == "spike":
        _spike(canvas, random, kind, at, radius, cls)
    elif kind.form == "lipped":
        _ring(canvas, random, kind, at, radius, squash, 2, 0.9, "round", cls)
        _ring(canvas, random, kind, at, radius * 0.8, squash, 3, 0.8, "obovate", cls)
    elif kind.form == "cup":
        for shrink in (1.0, 0.8):
            _ring(canvas, random, kind, at, radius * shrink, squash, 4, 1.7, "obovate", cls)
        _disc(canvas, random, at, radius * 0.2, squash, kind.centre, cls)
    else:
        _ring(canvas, random, kind, at, radius, squash, kind.petals, kind.width, kind.outline, cls)
        _disc(canvas, random, at, radius * random.uniform(0.08, 0.25), squash, kind.centre, cls)


def _floret(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int) -> None:
    squash = tilt(random)
    _ring(canvas, random, kind, at, radius, squash, int(random.integers(3, 6)), 0.9, "obovate", cls)
    if radius > 5:
        _disc(canvas, random, at, radius * 0.2, squash, kind.centre, cls)


def _cluster(
    canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, squash: Floats, cls: int
) -> None:
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
