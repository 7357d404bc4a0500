"""Drawn training scenes: layered 2-D flowers and leaves of many forms over many backgrounds, with exact classes.

The path-traced scenes hold one cultivar per planter, eight flower shapes and few backgrounds. These
drawings are less real but far more varied: close-ups, spikes, umbels, pompoms, dark gaps between leaves,
blurred greenery, litter, hands, cards. Everything follows from the ``numpy.random.Generator`` given.
"""

from __future__ import annotations

import colorsys
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

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


def _shade(colour: Colour, factor: float, towards: Colour = (0.0, 0.0, 0.0), share: float = 0.0) -> Colour:
    r, g, b = (min(1.0, (1 - share) * c * factor + share * t) for c, t in zip(colour, towards, strict=True))
    return r, g, b


def _jitter(random: Random, colour: Colour, amount: float) -> Colour:
    h, s, v = colorsys.rgb_to_hsv(*(min(1.0, max(0.0, c)) for c in colour))
    return colorsys.hsv_to_rgb(
        (h + random.normal(0, 0.03 * amount)) % 1,
        float(np.clip(s * (1 + random.normal(0, 0.3 * amount)), 0, 1)),
        float(np.clip(v * (1 + random.normal(0, 0.4 * amount)), 0, 1)),
    )


def _hsv(random: Random, h: tuple[float, float], s: tuple[float, float], v: tuple[float, float]) -> Colour:
    return colorsys.hsv_to_rgb(random.uniform(*h) % 1, random.uniform(*s), random.uniform(*v))


def noise(random: Random, side: int, coarsest: int, octaves: int = 4) -> Floats:
    """Smooth noise in [0, 1], (side, side); ``coarsest`` cells along a side in the first octave."""
    total = np.zeros((side, side))
    for octave in range(octaves):
        cells = min(side, coarsest * 2**octave)
        grid = Image.fromarray(random.random((cells, cells)).astype(np.float32))
        total += np.asarray(grid.resize((side, side), Image.Resampling.BICUBIC)) / 2**octave
    low, high = total.min(), total.max()
    return (total - low) / (high - low + 1e-9)


# ---- outlines: (n, 2), base at the origin, length 1 along +x -------------------------------------------------


def _petal_outline(random: Random, form: str, width: float) -> Floats:
    t = np.linspace(0, 1, 14)
    profiles = {
        "obovate": np.sqrt(t) * np.sqrt(np.clip(1 - t**6, 0, 1)),
        "round": np.sqrt(np.clip(t * (1 - t), 0, 1)) * 2,
        "pointed": np.sin(np.pi * t**0.8) * (1 - 0.35 * t),
        "narrow": np.clip(4 * t, 0, 1) * np.sqrt(np.clip(1 - t**8, 0, 1)),
        "wedge": t * np.sqrt(np.clip(1 - t**12, 0, 1)),
    }
    half = 0.5 * width * profiles[form]
    x = t.copy()
    if random.random() < 0.3:
        x[-3:] -= np.array([0.0, 0.03, random.uniform(0.05, 0.2)])
    wave = random.normal(0, 0.02, t.size)
    return np.concatenate((np.stack((x, half + wave), 1), np.stack((x, -half + wave), 1)[::-1]))


def _leaf_outline(random: Random, form: str) -> Floats:
    t = np.linspace(0, 1, 13)
    width, profile = {
        "lance": (0.22, np.sin(np.pi * t)),
        "ovate": (0.5, np.sin(np.pi * t**0.7)),
        "linear": (0.07, np.sqrt(np.clip(np.sin(np.pi * t), 0, 1))),
        "round": (0.9, np.sqrt(np.clip(np.sin(np.pi * t), 0, 1))),
        "serrate": (0.5, np.sin(np.pi * t**0.8) * (1 + 0.25 * np.tile([1, -1], 7)[:13])),
        "lobed": (0.8, np.sin(np.pi * t**0.8) * (0.65 + 0.35 * np.abs(np.cos(2.5 * np.pi * t)))),
        "succulent": (0.4, np.clip(np.sin(np.pi * t), 0, 1) ** 0.4),
    }[form]
    bend = random.normal(0, 0.12) * t**2
    half = 0.5 * width * profile * random.uniform(0.7, 1.3)
    return np.concatenate((np.stack((t, bend + half), 1), np.stack((t, bend - half), 1)[::-1]))


def _place(outline: Floats, at: Floats, angle: float, size: float, squash: Floats | None = None) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    turned = size * outline @ np.array([[c, s], [-s, c]])
    return at + (turned if squash is None else turned @ squash)


def _tilt(random: Random) -> Floats:
    """A squeeze along a random direction, as a flower looks from aside."""
    angle, ratio = random.uniform(0, np.pi), random.uniform(0.4, 1.0)
    axis = np.array([np.cos(angle), np.sin(angle)])
    return np.eye(2) - (1 - ratio) * np.outer(axis, axis)


# ---- flowers -------------------------------------------------------------------------------------------------


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
    return _hsv(random, *ranges[family])


def foliage_colour(random: Random) -> Colour:
    family = random.choice(5, p=[0.66, 0.12, 0.08, 0.06, 0.08])
    ranges = (
        ((0.2, 0.38), (0.3, 0.85), (0.3, 0.8)),
        ((0.25, 0.45), (0.08, 0.3), (0.4, 0.75)),
        ((0.16, 0.22), (0.5, 0.9), (0.55, 0.85)),
        ((-0.06, 0.05), (0.3, 0.7), (0.2, 0.45)),
        ((0.06, 0.16), (0.3, 0.7), (0.25, 0.55)),
    )
    return _hsv(random, *ranges[family])


def flower_kind(random: Random, leaf: Colour) -> FlowerKind:
    colour = bloom_colour(random)
    calyx = _jitter(random, leaf if random.random() < 0.6 else _shade(colour, 0.5), 0.5)
    return FlowerKind(
        form=str(random.choice(FORMS)),
        petals=int(random.choice([3, 4, 5, 5, 5, 6, 8])),
        outline=str(random.choice(["obovate", "round", "pointed", "narrow", "wedge"])),
        width=random.uniform(0.5, 1.3),
        colour=colour,
        second=bloom_colour(random) if random.random() < 0.4 else _shade(colour, 0.7),
        centre=_hsv(random, (0.05, 0.2), (0.4, 1), (0.2, 1)),
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
    colour = _shade(_jitter(random, kind.colour, 0.12), lit)
    rim = _shade(kind.second, lit) if kind.pattern == "picotee" else _shade(colour, 0.82)
    canvas.polygon(_place(outline, at, angle, size, squash), rim, kinds)
    canvas.polygon(_place(outline * np.array([0.95, 0.86]), at, angle, size, squash), colour, kinds)
    if size < 9:
        return
    canvas.polygon(
        _place(outline * np.array([0.8, 0.5]), at, angle, size, squash), _shade(colour, 1.08, (1, 1, 1), 0.05), kinds
    )
    if kind.pattern == "throat":
        canvas.polygon(
            _place(outline * np.array([0.45, 0.6]), at, angle, size, squash), _shade(kind.second, lit), kinds
        )
    if kind.pattern == "veined":
        for offset in (-0.12, 0, 0.12):
            vein = np.array([[0.05, 0], [0.5, offset * 0.7], [0.85, offset]]) * np.array([1, kind.width])
            canvas.line(_place(vein, at, angle, size, squash), _shade(kind.second, lit), size / 40, kinds)


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
        outline = _petal_outline(random, outline_form, width)
        _petal(canvas, random, kind, outline, (at, angle, size * random.uniform(0.9, 1.05), squash), cls)


def _disc(canvas: Canvas, random: Random, at: Floats, radius: float, squash: Floats, colour: Colour, cls: int) -> None:
    angles = np.linspace(0, 2 * np.pi, 14)[:-1]
    circle = np.stack((np.cos(angles), np.sin(angles)), 1)
    canvas.polygon(at + radius * circle @ squash, _shade(colour, 0.75), cls)
    canvas.polygon(at + 0.75 * radius * circle @ squash, colour, cls)
    if radius > 6:
        for spot in random.normal(0, 0.42, (int(min(60, radius * 2)), 2)):
            dot = at + radius * (spot + 0.1 * circle) @ squash
            canvas.polygon(dot, _jitter(random, colour, 1.0), cls)


def draw_flower(canvas: Canvas, random: Random, kind: FlowerKind, at: Floats, radius: float, cls: int = BLOOM) -> None:
    squash = _tilt(random)
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
        _disc(canvas, random, at, radius * random.uniform(0.12, 0.35), squash, _shade(kind.second, 0.6), cls)
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
    squash = _tilt(random)
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
                _place(_petal_outline(random, "round", 0.7), spot, lean + side, size, None), kind.calyx, FOLIAGE
            )
            if random.random() < 0.75:
                _floret(canvas, random, kind, spot + across * size * side * 0.5, size, cls)


# ---- foliage -------------------------------------------------------------------------------------------------

LEAVES = ("lance", "ovate", "linear", "round", "serrate", "lobed", "succulent", "pinnate", "lance", "ovate")


@dataclass(frozen=True)
class LeafKind:
    form: str
    colour: Colour
    margin: Colour | None
    gloss: float


def leaf_kind(random: Random) -> LeafKind:
    margin = _hsv(random, (0.1, 0.2), (0.05, 0.5), (0.75, 1)) if random.random() < 0.12 else None
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
        canvas.line(np.stack((at, at + size * axis)), _shade(kind.colour, lit), size / 40, cls)
        for place in np.linspace(0.25, 1, 5):
            for side in (-1.0, 1.0):
                draw_leaf(canvas, random, leaflet, at + size * place * axis, angle + side, size * 0.38, lit, cls)
        return
    outline = _leaf_outline(random, kind.form)
    colour = _shade(_jitter(random, kind.colour, 0.25), lit)
    squash = _tilt(random)
    body = _place(outline, at, angle, size, squash)
    canvas.polygon(body, _shade(kind.margin, lit) if kind.margin else colour, cls)
    if size < 7:
        return
    core = outline * np.array([0.95, 0.62]) if kind.margin else outline
    half = len(core) // 2
    spine = np.stack((core[:half, 0], (core[:half, 1] + core[::-1][:half, 1]) / 2), 1)
    upper = np.concatenate((core[:half], spine[::-1]))
    if kind.margin:
        canvas.polygon(_place(core, at, angle, size, squash), colour, cls)
    canvas.polygon(_place(upper, at, angle, size, squash), _shade(colour, 0.72 + 0.2 * random.random()), cls)
    if random.random() < kind.gloss:
        shine = core[:half] * np.array([0.8, 0.5])
        canvas.polygon(
            _place(np.concatenate((shine, spine[::-1])), at, angle, size, squash),
            _shade(colour, 1.2, (0.9, 0.95, 1.0), 0.35 * random.random()),
            cls,
        )
    canvas.line(_place(spine, at, angle, size, squash), _shade(colour, 1.15, (1, 1, 1), 0.12), size / 45, cls)


# ---- backgrounds ---------------------------------------------------------------------------------------------

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
    colours = np.array([_hsv(random, *FAMILIES[family]) for _ in range(3)])
    first = noise(random, side, int(random.choice([2, 4, 16, 60])))[..., None] ** random.uniform(0.5, 2)
    second = noise(random, side, int(random.choice([2, 8, 40, 160])), 3)[..., None]
    mixed = colours[0] * (1 - first) + colours[1] * first
    mixed = mixed * (1 - 0.6 * second) + 0.6 * second * colours[2]
    return (255 * np.clip(mixed, 0, 1)).astype(np.uint8)


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
            canvas.polygon(box, _hsv(random, *FAMILIES[family]), BACKGROUND)
    if random.random() < 0.4:
        canvas.repaint(np.asarray(canvas.picture.transpose(Image.Transpose.ROTATE_90)))


def _scatter(canvas: Canvas, random: Random) -> None:
    """Grass blades, straw, pebbles or dead leaves: small things that are not the planting."""
    choice = str(random.choice(["grass", "straw", "pebbles", "litter"]))
    side = canvas.side
    size = side * random.uniform(0.01, 0.12)
    green = LeafKind("linear", _hsv(random, (0.18, 0.35), (0.3, 0.8), (0.25, 0.7)), None, 0.1)
    dead = LeafKind(
        str(random.choice(["ovate", "lobed", "lance"])), _hsv(random, (0.04, 0.12), (0.2, 0.6), (0.25, 0.8)), None, 0.1
    )
    straw = LeafKind("linear", _hsv(random, (0.09, 0.14), (0.15, 0.5), (0.5, 0.95)), None, 0.0)
    count = int(np.clip(random.uniform(0.5, 2.5) * (side / size) ** 2 * 0.5, 20, 900))
    for _ in range(count):
        at = random.uniform(0, side, 2)
        lit = random.uniform(0.4, 1.1)
        if choice == "pebbles":
            ring = _place(_leaf_outline(random, "round"), at, random.uniform(0, 6), size * random.uniform(0.3, 1))
            canvas.polygon(ring, _hsv(random, *FAMILIES["stone"]), BACKGROUND)
        elif choice == "grass":
            draw_leaf(canvas, random, green, at, random.normal(-1.57, 0.5), size * 2, lit, BACKGROUND)
        else:
            thing = straw if choice == "straw" else dead
            draw_leaf(canvas, random, thing, at, random.uniform(0, 6.3), size, lit, BACKGROUND)


def _blobs(canvas: Canvas, random: Random, colour_of: str) -> None:
    for _ in range(int(random.integers(10, 80))):
        at, radius = random.uniform(0, canvas.side, 2), canvas.side * random.uniform(0.02, 0.12)
        ring = _place(_leaf_outline(random, "round"), at, random.uniform(0, 6), radius)
        canvas.polygon(ring, _hsv(random, *FAMILIES[colour_of]), BACKGROUND)


def _hand(canvas: Canvas, random: Random, cls: int = BACKGROUND) -> None:
    skin = _hsv(random, (0.03, 0.09), (0.25, 0.6), (0.35, 0.95))
    side = canvas.side
    at, angle, size = random.uniform(0, side, 2), random.uniform(0, 6.3), side * random.uniform(0.05, 0.13)
    for finger in range(4):
        start = at + size * 0.35 * (finger - 1.5) * np.array([-np.sin(angle), np.cos(angle)])
        end = start + size * random.uniform(1.2, 2.0) * np.array([np.cos(angle), np.sin(angle)])
        canvas.line(np.stack((start, end)), _shade(skin, random.uniform(0.85, 1.05)), size * 0.3, cls)
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
        _hand(canvas, random)
    if random.random() < 0.4:
        canvas.repaint(np.asarray(canvas.picture.filter(ImageFilter.GaussianBlur(random.exponential(8)))))


# ---- the whole scene -----------------------------------------------------------------------------------------


def _draw_planter(canvas: Canvas, random: Random, at: Floats, radius: float) -> None:
    colour = _hsv(random, *FAMILIES[str(random.choice(["brick", "paint", "mulch", "stone", "dark"]))])
    half, depth = radius * random.uniform(0.7, 1.3), radius * random.uniform(0.4, 1.0)
    taper = random.uniform(0.6, 1.0)
    front = at + np.array([[-half, 0], [half, 0], [half * taper, depth], [-half * taper, depth]])
    opening = at + np.array([[-half, 0], [-half * 0.9, -depth * 0.35], [half * 0.9, -depth * 0.35], [half, 0]])
    canvas.polygon(opening, _hsv(random, *FAMILIES["soil"]), PLANTER)
    canvas.polygon(front, colour, PLANTER)
    for _ in range(int(random.integers(0, 6))):
        share = random.random()
        edge = front[[0, 1]] * (1 - share) + front[[3, 2]] * share
        canvas.line(edge, _shade(colour, random.uniform(0.6, 1.2)), radius * random.uniform(0.01, 0.06), PLANTER)


def _draw_card(canvas: Canvas, random: Random, at: Floats, size: float) -> None:
    angle, stretch = random.normal(0, 0.2), 1.45
    corners = np.array([[-stretch, -1], [stretch, -1], [stretch, 1], [-stretch, 1]]) * 0.5
    canvas.polygon(_place(corners, at, angle, size), (0.92, 0.92, 0.9), CARD)
    cell = 0.8 / 21
    for row, column in np.argwhere(random.random((21, 21)) < 0.5):
        box = np.array([[0, 0], [cell, 0], [cell, cell], [0, cell]]) + np.array([column, row]) * cell - [0.6, 0.4]
        canvas.polygon(_place(box, at, angle, size), (0.05, 0.05, 0.05), CARD)
    for step, grey in enumerate((0.1, 0.5, 0.75)):
        patch = (corners * 0.2) + np.array([0.48, -0.3 + 0.3 * step])
        canvas.polygon(_place(patch, at, angle, size), (grey, grey, grey), CARD)


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
    dark = _shade(colour, random.uniform(0.05, 0.4))
    for spot in spots:
        ring = _place(_leaf_outline(random, "round"), spot, random.uniform(0, 6), size * random.uniform(0.6, 1.3))
        canvas.polygon(ring, _jitter(random, dark, 0.4), FOLIAGE)


def _cast_shadows(canvas: Canvas, random: Random, spots: Floats, radius: float) -> None:
    mask = Image.new("L", canvas.picture.size, 0)
    brush = ImageDraw.Draw(mask)
    offset = random.uniform(-0.6, 0.6, 2) * radius
    for x, y in spots + offset:
        brush.ellipse((x - radius, y - radius * 0.8, x + radius, y + radius * 0.8), fill=255)
    soft = np.asarray(mask.filter(ImageFilter.GaussianBlur(radius * random.uniform(0.05, 0.4))))
    shade = 1 - random.uniform(0.2, 0.65) * soft[..., None] / 255.0
    canvas.repaint((np.asarray(canvas.picture) * shade).astype(np.uint8))


def _light(canvas: Canvas, random: Random) -> None:
    pixels = np.asarray(canvas.picture).astype(np.float64)
    pixels *= 1 + random.uniform(0, 0.2) * (noise(random, canvas.side, 90, 3)[..., None] - 0.5)
    if random.random() < 0.5:
        field_ = noise(random, canvas.side, int(random.integers(2, 10)), 3)[..., None]
        if random.random() < 0.4:
            field_ = np.clip((field_ - 0.5) * random.uniform(3, 12) + 0.5, 0, 1)
        pixels *= 1 - random.uniform(0.1, 0.6) * field_
    canvas.repaint(np.clip(pixels, 0, 255).astype(np.uint8))


def _draw_plant(canvas: Canvas, random: Random, leaf: LeafKind, flower: FlowerKind, mode: str, bare: bool) -> None:
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
        colour=_shade(flower.colour, 0.6, _hsv(random, *browns), random.uniform(0.6, 1.0)),
        second=_hsv(random, *browns),
        centre=_hsv(random, *browns),
        pattern="picotee",
        calyx=flower.calyx,
    )
    spent = random.uniform(0, 0.5) if random.random() < 0.35 else 0.0
    stems = random.random() < 0.4
    for place in places:
        if stems:
            foot = place + np.array([random.normal(0, radius), radius * random.uniform(2, 6)])
            canvas.line(np.stack((place, foot)), _jitter(random, leaf.colour, 0.2), radius * 0.08, FOLIAGE)
        fate = random.random()
        if fate < spent:
            draw_flower(canvas, random, withered, place, radius * random.uniform(0.4, 0.8), SPENT)
        elif fate > 0.92:
            draw_flower(canvas, random, bud, place, radius * 0.3, FOLIAGE)
        else:
            draw_flower(canvas, random, flower, place, radius * random.uniform(0.75, 1.15))
        if random.random() < 0.06:
            draw_leaf(canvas, random, leaf, place, random.uniform(0, 6.3), leaf_size, random.uniform(0.7, 1.1))


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
            _draw_plant(canvas, random, other, flower_kind(random, other.colour), mode, random.random() < 0.5)
        _draw_plant(canvas, random, leaf, flower, mode, bare)
        if random.random() < 0.25:
            _draw_card(canvas, random, random.uniform(0.2, 0.8, 2) * 2 * side, 2 * side * random.uniform(0.05, 0.2))
        if random.random() < 0.06:
            _hand(canvas, random)
    _light(canvas, random)
    picture = canvas.picture.resize((side, side), Image.Resampling.BOX)
    classes = canvas.classes.resize((side, side), Image.Resampling.NEAREST)
    second = (flower.second,) if flower.pattern in ("throat", "picotee") else ()
    blooms = () if bare or not plants else (flower.colour, *second)
    return DrawnScene(
        np.asarray(picture), np.asarray(classes), blooms, (leaf.colour, *((leaf.margin,) if leaf.margin else ()))
    )
