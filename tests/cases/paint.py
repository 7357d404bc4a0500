"""Painting on pictures in linear light: soft edges, new colours under the old shading, texture, moved pieces."""

from __future__ import annotations

import numpy as np
from cases.sources import CARD, Floats, Mask, Picture
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import binary_dilation, binary_erosion, gaussian_filter, uniform_filter

from journal_server.measurement.colour import lab_of_hexes, lab_to_linear

LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
Box = tuple[slice, slice]


def linear(colour: str) -> NDArray[np.float64]:
    """Linear reflectance of a colour written ``#rrggbb``."""
    return np.clip(lab_to_linear(lab_of_hexes([colour])[0]), 0.002, 1.0)


def soft(mask: Mask, sigma: float = 0.7) -> Floats:
    """The mask with an edge about two pixels wide."""
    return np.asarray(gaussian_filter(mask.astype(np.float32), sigma))


def smooth(values: Floats, sigma: float) -> Floats:
    """A wide Gaussian blur of (h, w), worked out on fewer pixels."""
    step = max(1, int(sigma / 4))
    image = Image.fromarray(np.asarray(values, np.float32))
    small = image.resize((max(2, image.width // step), max(2, image.height // step)), Image.Resampling.BOX)
    blurred = gaussian_filter(np.asarray(small), sigma / step, mode="nearest")
    return np.asarray(Image.fromarray(blurred).resize(image.size, Image.Resampling.BILINEAR))


def noise(rng: np.random.Generator, shape: tuple[int, int], size: float, octaves: int = 4) -> Floats:
    """Cloudy noise of mean 0 and deviation 1 whose largest features are about ``size`` pixels."""
    total = np.zeros(shape, np.float32)
    for octave in range(octaves):
        cell = max(size / 2**octave, 1.0)
        cells = int(shape[0] / cell) + 2, int(shape[1] / cell) + 2
        grid = Image.fromarray(rng.standard_normal(cells).astype(np.float32))
        part = 0, 0, shape[1] / cell, shape[0] / cell
        total += 0.6**octave * np.asarray(grid.resize(shape[::-1], Image.Resampling.BICUBIC, box=part))
    return np.asarray((total - total.mean()) / (total.std() + 1e-6))


def box_round(mask: Mask, margin: int) -> Box:
    """The box that holds the mask with some room about it."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not len(rows):
        return slice(0, 1), slice(0, 1)
    top, left = max(0, rows[0] - margin), max(0, columns[0] - margin)
    return slice(top, rows[-1] + margin + 1), slice(left, columns[-1] + margin + 1)


def share_of(picture: Picture, mask: Mask) -> Floats:
    """How much of each pixel belongs to ``mask``, 0 to 1, mixed pixels at its edge told apart by their colour."""
    box = box_round(mask, 12)
    light, part = picture.light[box], mask[box]
    core = binary_erosion(part, iterations=2)
    far = ~binary_dilation(part, iterations=2)
    inner = _mean_near(light, np.where(core, 1.0, part * 0.05).astype(np.float32))
    outer = _mean_near(light, np.where(far, 1.0, ~part * 0.05).astype(np.float32))
    way = inner - outer
    along = ((light - outer) * way).sum(axis=-1) / ((way**2).sum(axis=-1) + 1e-4)
    mixed = np.clip(0.6 * along + 0.4 * soft(part), 0, 1)
    share = np.zeros(picture.shape, np.float32)
    share[box] = np.where(core, 1.0, np.where(far, 0.0, mixed))
    return share


def _mean_near(light: Floats, weight: Floats) -> Floats:
    total = uniform_filter(weight, 9) + 1e-5
    return np.stack([uniform_filter(light[..., i] * weight, 9) / total for i in range(3)], axis=-1)


def blend(picture: Picture, layer: NDArray[np.floating], share: Floats) -> None:
    """Lay ``layer`` (h, w, 3) or one colour over the picture."""
    picture.light += share[..., None] * (np.asarray(layer, np.float32) - picture.light)


def shading(picture: Picture, mask: Mask, reflectance: NDArray[np.float64], contrast: float = 1.0) -> Floats:
    """Light on each pixel in units of a perfect white, from its luminance and the known reflectance."""
    seen = picture.light @ LUMINANCE / np.float32(reflectance @ LUMINANCE)
    typical = np.float32(np.median(seen[mask])) if mask.any() else np.float32(1)
    return np.asarray(typical * np.clip(seen / typical, 0.02, 4) ** np.float32(contrast))


def light_on(picture: Picture, mask: Mask, reflectance: NDArray[np.float64], contrast: float = 0.6) -> Floats:
    """`shading` in the colour of the light, (h, w, 3): what a perfect white would send back in the mask's place."""
    tint = picture.white / float(picture.white @ LUMINANCE)
    return np.asarray(shading(picture, mask, reflectance, contrast)[..., None] * tint.astype(np.float32))


def expose_for(picture: Picture, mask: Mask) -> None:
    """Take the whole photo darker, as a camera would, where the mask would be blown out."""
    brightest = float(np.percentile(picture.light[mask].max(axis=-1), 95))
    picture.light *= np.float32(min(1.0, 0.85 / brightest))


def change_pigment(picture: Picture, mask: Mask, old: NDArray[np.float64], new: NDArray[np.float64]) -> None:
    """Other pigment under the same light, veins, gloss and mottling kept.

    Midway between scaling each channel by the ratio of reflectances, which tints gloss, and giving the new colour the
    old luminance, which loses every difference of hue.
    """
    scaled = picture.light * np.clip(new / old, 0.02, 12).astype(np.float32)
    shaded = light_on(picture, mask, old, 1.0) * new.astype(np.float32)
    blend(picture, np.maximum(scaled, 0) ** 0.3 * shaded**0.7, share_of(picture, mask))


def repaint(
    picture: Picture, mask: Mask, old: NDArray[np.float64], new: NDArray[np.float64], contrast: float = 0.6
) -> None:
    """A new colour over a pattern that must vanish: the old one lends only its softened shading."""
    blend(picture, light_on(picture, mask, old, contrast) * new.astype(np.float32), share_of(picture, mask))


def clone_over(
    picture: Picture, mask: Mask, rng: np.random.Generator, wanted: tuple[int, ...], reach: int = 150
) -> None:
    """Cover ``mask`` by a piece of the same picture, classes and all, chosen to hold mostly ``wanted`` classes."""
    box = box_round(mask, 6)
    covered = binary_dilation(mask[box], iterations=3)
    if not covered.any():
        return
    rows, columns = (part + side.start for part, side in zip(np.nonzero(covered), box, strict=True))
    height, width = picture.shape
    # Leaves in the dark inside of the plant would stand out where a flower stood in the sun.
    usual = float(np.percentile(picture.light[picture.mask(*wanted)] @ LUMINANCE, 70))
    best, best_score = (0, 0), -np.inf
    for down, right in rng.integers(-reach, reach + 1, (60, 2)):
        y, x = rows + down, columns + right
        if y.min() < 0 or x.min() < 0 or y.max() >= height or x.max() >= width:
            continue
        fit = np.isin(picture.classes[y, x], wanted)
        lit = np.minimum(picture.light[y, x] @ LUMINANCE / usual, 1.0)
        score = float(fit.mean() + 0.5 * (fit * lit).mean() - 2 * (picture.classes[y, x] == CARD).mean())
        if score > best_score:
            best, best_score = (int(down), int(right)), score
    y, x = rows + best[0], columns + best[1]
    piece, classes = picture.light[y, x].copy(), picture.classes[y, x].copy()
    share = np.clip(soft(covered, 1.2)[covered][:, None] * 1.3, 0, 1)
    picture.light[rows, columns] += share * (piece - picture.light[rows, columns])
    hidden = binary_dilation(mask[box], iterations=2)[covered]
    picture.classes[rows[hidden], columns[hidden]] = classes[hidden]
