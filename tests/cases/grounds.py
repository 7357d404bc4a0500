"""What may stand behind a planter, as textures in linear reflectance (h, w, 3), and laying them behind one."""

from __future__ import annotations

import numpy as np
from cases.paint import LUMINANCE, blend, linear, noise, share_of, smooth
from cases.sources import BACKGROUND, Floats, Picture
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter

Grid = tuple[Floats, Floats]


def tilted(rng: np.random.Generator, shape: tuple[int, int], lean: float = 0.35) -> Grid:
    """Wall coordinates (u along, v down) of each pixel for a wall seen askew, in units of the picture's height."""
    down, right = np.indices(shape, np.float32) / shape[0]
    turn = rng.normal(0, 0.03)
    u = right - shape[1] / shape[0] / 2 + turn * down
    v = down - 0.5 - turn * right
    depth = 1 + rng.uniform(-lean, lean) * u + rng.uniform(-0.2, 0.2) * v
    return np.asarray(u / depth + 3), np.asarray(v / depth + 3)


def floor(rng: np.random.Generator, shape: tuple[int, int]) -> Grid:
    """Ground coordinates seen from above at a slant: rows close up towards the top."""
    down, right = np.indices(shape, np.float32) / shape[0]
    depth = 1 / (0.35 + rng.uniform(0.8, 1.3) * down)
    return np.asarray((right - 0.66) * depth + 4), np.asarray(3 * depth)


def _of_cell(rng: np.random.Generator, *cells: Floats) -> Floats:
    """A number in [0, 1) for each cell, the same wherever the cell is seen."""
    mixed = sum(c * k for c, k in zip(cells, (127.1, 311.7, 74.7), strict=False)) + rng.uniform(0, 100)
    return np.asarray((np.sin(mixed) * 43758.547) % 1, np.float32)


def red_brick(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    u, v = tilted(rng, shape)
    high = rng.uniform(0.045, 0.09)
    row = np.floor(v / high)
    shifted = u / (high * 3) + 0.5 * (row % 2)
    column = np.floor(shifted)
    edge = np.minimum(np.minimum(shifted % 1, 1 - shifted % 1) * 3, np.minimum(v / high % 1, 1 - v / high % 1))
    edge += 0.015 * noise(rng, shape, 8, 3)
    tone, hue = _of_cell(rng, row, column), _of_cell(rng, column, row)
    brick = linear("#86493A")[None, None] * (0.6 + 0.8 * tone)[..., None]
    brick = brick * (1 + (hue[..., None] - 0.5) * np.array([0.1, 0.5, 0.7]))
    brick *= np.clip(1 + 0.16 * noise(rng, shape, 12, 4), 0.5, 1.6)[..., None]
    mortar = linear("#B0A596") * np.clip(1 + 0.08 * noise(rng, shape, 5, 2), 0.7, 1.3)[..., None]
    share = 1 / (1 + np.exp(-(edge - 0.075) * 70))[..., None]
    return np.asarray(mortar + share * (brick - mortar), np.float32)


def terracotta(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Fired tiles on the ground."""
    u, v = floor(rng, shape)
    side = rng.uniform(0.22, 0.4)
    cell_u, cell_v = np.floor(u / side), np.floor(v / side)
    edge = np.minimum(np.minimum(u / side % 1, 1 - u / side % 1), np.minimum(v / side % 1, 1 - v / side % 1))
    tile = linear("#AC6A4C") * (0.75 + 0.5 * _of_cell(rng, cell_u, cell_v))[..., None]
    tile = tile * np.clip(1 + 0.14 * noise(rng, shape, 40, 5), 0.5, 1.6)[..., None]
    lime = np.clip(noise(rng, shape, 90, 4) - 1.1, 0, 1)[..., None] * 0.5
    tile = tile + lime * (linear("#D9C8B4") - tile)
    share = 1 / (1 + np.exp(-(edge - 0.025) * 160))[..., None]
    joint = linear("#8C7B6A")
    return np.asarray(joint + share * (tile - joint), np.float32)


def lawn(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Blades of grass, larger towards the viewer, with clover, straw and mowing stripes."""
    near = np.linspace(0.15, 1, shape[0], dtype=np.float32)[:, None]
    blades = np.zeros(shape, np.float32)
    for size, share in ((1, 1.2 - near), (2, 0.8), (4, near**2)):
        fine = rng.standard_normal(shape).astype(np.float32)
        fine = gaussian_filter(fine, (size * 1.6, size * 0.35))
        blades += share * fine / fine.std()
    patch, dry = noise(rng, shape, 130, 4), smooth(noise(rng, shape, 150, 4), 5)
    green = linear(str(rng.choice(["#5E8038", "#6C8A3E", "#4F7434"])))
    ground = green * np.clip(1 + 0.33 * blades + 0.1 * patch, 0.12, 2.4)[..., None]
    ground = ground * (1 + np.clip(blades, 0, 3)[..., None] * np.array([0.06, 0.05, -0.04]))
    straw = (np.clip((dry - 0.8) * 0.3, 0, 0.35) * np.clip(1 + 0.5 * blades, 0, 2))[..., None]
    return np.asarray(ground + straw * (linear("#A89A5C") - ground), np.float32)


def hedge(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Clipped leaves out of focus, dark gaps between, discs of light where they gleam."""
    small = shape[0] // 2, shape[1] // 2
    leaf = noise(rng, small, rng.uniform(9, 16), 3)
    clump = noise(rng, small, 90, 4)
    green = linear(str(rng.choice(["#3F5E30", "#4C6B34", "#38553A"])))
    made = green * np.clip(0.7 + 0.5 * leaf + 0.3 * clump, 0.06, 2.6)[..., None]
    gleam = (rng.random(small) > 0.9985).astype(np.float32)[..., None]
    made = made + gleam * np.array([3.0, 3.6, 2.0])
    blur = rng.uniform(1.0, 4.5)
    made = np.stack([gaussian_filter(made[..., i], blur) for i in range(3)], axis=-1)
    return np.asarray(np.repeat(np.repeat(made, 2, 0), 2, 1)[: shape[0], : shape[1]], np.float32)


def blue_sky(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Deep above, pale below, with fair-weather clouds in most."""
    down = np.linspace(0, 1, shape[0], dtype=np.float32)[:, None, None]
    high, low = linear(str(rng.choice(["#3E7CC9", "#5A93D6", "#2F6AB8"]))), linear("#B4D2EC")
    sky = high + (low - high) * down ** rng.uniform(0.7, 1.4)
    cloud = smooth(noise(rng, shape, 320, 6), 2) - rng.uniform(0.2, 1.2)
    share = np.clip(cloud * 1.3, 0, 1)[..., None]
    lit = 0.75 + 0.25 * np.clip(smooth(cloud, 12) * 0.8, 0, 1)[..., None]
    return np.asarray(sky * np.ones((*shape, 1)) + share * (lit * np.array([1.0, 1.0, 1.03]) - sky), np.float32)


PAINTS = ("#5E7F8F", "#7A8F6A", "#8C2F2A", "#E7E4DA", "#3E4A44", "#A7B8C4", "#C9A53B", "#4F6E4E", "#6A5A7C")


def painted_fence(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Upright boards with dark gaps, worn paint and nails."""
    u, v = tilted(rng, shape, 0.25)
    wide = rng.uniform(0.09, 0.2)
    board = np.floor(u / wide)
    edge = np.minimum(u / wide % 1, 1 - u / wide % 1) * wide
    grain = gaussian_filter(rng.standard_normal(shape), (40, 0.8)).astype(np.float32)
    grain /= grain.std()
    paint = linear(str(rng.choice(PAINTS))) * (0.88 + 0.24 * _of_cell(rng, board))[..., None]
    paint = paint * np.clip(1 + 0.07 * grain + 0.05 * noise(rng, shape, 160, 3), 0.5, 1.5)[..., None]
    worn = np.clip((noise(rng, shape, 24, 4) + 0.5 * grain - 2.1) * 1.5, 0, 1)[..., None]
    paint = paint + worn * (linear("#9A8468") - paint)
    nail = (np.abs(u / wide % 1 - 0.5) * wide < 0.004) & (np.abs(v % 0.45 - 0.2) < 0.004)
    paint = np.where(nail[..., None], paint * 0.3, paint)
    bevel = np.clip(edge / 0.006, 0, 1)[..., None]
    return np.asarray(paint * (0.06 + 0.94 * bevel), np.float32)


def mulch(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    """Chips of bark, each its own brown, lying every way and shading those beneath."""
    layer = Image.new("RGB", (shape[1], shape[0]), (52, 36, 26))
    pen = ImageDraw.Draw(layer)
    for share in np.sort(rng.random(5200)):
        y, x = rng.random() * shape[0], rng.random() * shape[1]
        size = (5 + 14 * y / shape[0]) * rng.uniform(0.5, 1.6)
        turn = rng.uniform(0, np.pi)
        along = np.array([np.cos(turn), np.sin(turn) * 0.7]) * size
        across = np.array([-np.sin(turn), np.cos(turn) * 0.7]) * size * rng.uniform(0.2, 0.45)
        brown = np.array([150, 106, 76]) * rng.uniform(0.45, 1.5) * (0.6 + 0.4 * share) + rng.normal(0, 5, 3)
        corners = [np.array([x, y]) + a * along + b * across for a, b in ((-1, -0.6), (-0.8, 1), (0.9, 0.7), (1, -0.8))]
        pen.polygon([(c[0] + 2, c[1] + 3) for c in corners], fill=(40, 28, 20))
        pen.polygon([tuple(c) for c in corners], fill=tuple(int(v) for v in np.clip(brown, 0, 255)))
    seen = np.asarray(layer, np.float32) / 255
    return np.asarray(
        gaussian_filter(seen**2.2, (0.7, 0.7, 0)) * np.clip(1 + 0.2 * noise(rng, shape, 6, 2), 0.5, 1.6)[..., None]
    )


def lay_behind(picture: Picture, ground: Floats, shadows: float = 1.0) -> None:
    """Put ``ground`` where background is, under the light and the soft shadows that lay there."""
    behind = picture.mask(BACKGROUND)
    seen = picture.light @ LUMINANCE
    weight = behind.astype(np.float32)
    large = smooth(seen * weight, 14) / (smooth(weight, 14) + 1e-5)
    typical = float(np.mean(seen[behind]))
    shade = np.clip(large / typical, 0.25, 1.5) ** shadows
    blend(picture, ground * shade[..., None] * picture.white * 0.95, share_of(picture, behind))


def behind(texture, shadows: float = 0.9):  # type: ignore[no-untyped-def]
    """A case that lays a texture behind the planting."""

    def change(picture: Picture, rng: np.random.Generator) -> None:
        lay_behind(picture, texture(rng, picture.shape), shadows)

    return change
