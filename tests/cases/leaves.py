"""Cases of leaves: grown for colour, with other edges, wet."""

from __future__ import annotations

import numpy as np
from cases.paint import LUMINANCE, blend, change_pigment, expose_for, light_on, linear, noise, share_of, smooth
from cases.sources import BLOOM, FOLIAGE, Picture
from scipy.ndimage import gaussian_filter, minimum_filter

BURGUNDY = ("#4A1A28", "#5C2230", "#3B1A2A", "#6A2A3A")
CHARTREUSE = ("#A9B23A", "#BCC04C", "#95A534", "#C4C860")
SILVER = ("#949E92", "#8A9690", "#A3A89C", "#8F9A9B")


def recolour_leaves(picture: Picture, rng: np.random.Generator, colours: tuple[str, ...]) -> None:
    """Another pigment, a little different from leaf to leaf."""
    colour = str(rng.choice(colours))
    old, leaves = picture.reflectance("foliage"), picture.mask(FOLIAGE)
    change_pigment(picture, leaves, old, linear(colour))
    mottle = 1 + 0.1 * noise(rng, picture.shape, 26, 3)[..., None] * np.array([1.0, -0.5, 0.4])
    blend(picture, picture.light * np.clip(mottle, 0.6, 1.5), share_of(picture, leaves))
    expose_for(picture, leaves)
    picture.foliage_colours = [colour]


def burgundy(picture: Picture, rng: np.random.Generator) -> None:
    recolour_leaves(picture, rng, BURGUNDY)


def chartreuse(picture: Picture, rng: np.random.Generator) -> None:
    recolour_leaves(picture, rng, CHARTREUSE)


def silver(picture: Picture, rng: np.random.Generator) -> None:
    """Felted leaves: grey, with less contrast between sun and shade."""
    recolour_leaves(picture, rng, SILVER)
    leaves = picture.mask(FOLIAGE)
    seen = picture.light @ LUMINANCE
    around = gaussian_filter(seen, 2.5)
    flat = picture.light * (0.6 + 0.4 * (around + 0.01) / (seen + 0.01))[..., None]
    blend(picture, flat, share_of(picture, leaves))


def variegated(picture: Picture, rng: np.random.Generator) -> None:
    """Cream along the edges of the leaves that lie on top, in places over whole leaves."""
    cream, green = str(rng.choice(["#DAD5AE", "#DCD9C4", "#D6CE8A"])), picture.foliage_colours[0]
    old, leaves = picture.reflectance("foliage"), picture.mask(FOLIAGE)
    seen = gaussian_filter(picture.light @ LUMINANCE, 0.8)
    lit = seen / (smooth(np.where(leaves, seen, 0), 9) / (smooth(leaves.astype(np.float32), 9) + 1e-3) + 1e-3)
    gap = minimum_filter(lit, 7)
    edge = 1 / (1 + np.exp(-(lit - gap - 0.55) * 9))
    patch = noise(rng, picture.shape, 22, 3)
    share = np.clip(edge * (patch > -0.4) + (patch > 1.3) * 0.9, 0, 1) * (lit > 0.6)
    painted = light_on(picture, leaves, old, 0.85) * linear(cream) * rng.uniform(0.75, 0.95)
    share = gaussian_filter(share.astype(np.float32), 0.8) * share_of(picture, leaves)
    blend(picture, painted, share)
    expose_for(picture, leaves)
    picture.foliage_colours = [green, cream]


def wet(picture: Picture, rng: np.random.Generator) -> None:
    """Darker, fuller colour, a film that mirrors the sky on some leaves, and drops with a spark each."""
    plant = picture.mask(FOLIAGE, BLOOM)
    share = share_of(picture, plant)
    grey = (picture.light @ LUMINANCE)[..., None]
    blend(picture, np.clip(0.8 * (grey + 1.25 * (picture.light - grey)), 0, None), share)
    seen = gaussian_filter(picture.light @ LUMINANCE, 1.2)
    top = np.percentile(seen[plant], 82)
    sky = picture.white * np.array([0.93, 1.0, 1.1])
    film = np.clip((seen / top - 0.95) * 1.5, 0, 1) * (noise(rng, picture.shape, 14, 3) > 0.35)
    blend(picture, picture.light + 0.45 * sky, gaussian_filter(film.astype(np.float32), 0.7) * share)
    _drops(picture, rng, sky)


def _drops(picture: Picture, rng: np.random.Generator, sky: np.ndarray) -> None:
    plant = picture.mask(FOLIAGE, BLOOM)
    plant[:8], plant[-9:], plant[:, :8], plant[:, -9:] = False, False, False, False
    rows, columns = np.nonzero(plant)
    seen = picture.light[rows, columns].sum(axis=-1)
    for place in rng.choice(len(rows), min(900, len(rows) // 60), p=seen / seen.sum()):
        y, x, size = rows[place], columns[place], rng.uniform(0.9, 3.2)
        box = slice(y - 5, y + 6), slice(x - 5, x + 6)
        down, right = np.mgrid[-5:6, -5:6]
        inside = np.clip(size + 0.5 - np.hypot(down, right), 0, 1)[..., None]
        lens = 0.65 + 0.6 * np.clip((down + right) / (2 * size), -0.5, 1)[..., None]
        spark = np.exp(-((down + size / 3) ** 2 + (right + size / 3) ** 2) / (0.35 * size))[..., None]
        part = picture.light[box]
        part += (inside * (part * lens - part) + 0.9 * spark * np.minimum(inside * 2, 1) * sky).astype(np.float32)
