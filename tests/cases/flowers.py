"""Cases of flowers: colours, markings, forms, sizes and buds, painted on the blooms of a scene."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from cases.paint import LUMINANCE, change_pigment, clone_over, expose_for, light_on, linear, noise, repaint, soft
from cases.sources import BLOOM, FOLIAGE, Floats, Mask, Picture
from numpy.typing import NDArray
from scipy.ndimage import binary_erosion, distance_transform_edt, find_objects, gaussian_filter
from scipy.special import expit
from skimage.feature import peak_local_max
from skimage.segmentation import watershed


@dataclass(frozen=True)
class Flower:
    """One flower: the box it lies in, its pixels there, and their place in it as radius (1 at the rim) and angle."""

    box: tuple[slice, slice]
    mask: Mask
    radius: Floats
    angle: Floats

    @property
    def size(self) -> float:
        """Radius in pixels of a disc of the same area."""
        return float(np.sqrt(self.mask.sum() / np.pi))


def flowers_in(picture: Picture, least_px: int = 40) -> list[Flower]:
    """Blooms that touch parted at their waists, the larger ones first."""
    mask = picture.mask(BLOOM)
    depth = gaussian_filter(distance_transform_edt(mask), 1.5)
    apart = max(4, int(0.9 * np.percentile(depth[mask], 97))) if mask.any() else 4
    peaks = peak_local_max(depth, min_distance=apart, labels=mask.astype(np.int32), exclude_border=False)
    marks = np.zeros(picture.shape, np.int32)
    marks[tuple(peaks.T)] = np.arange(1, len(peaks) + 1)
    parts = watershed(-depth, marks, mask=mask)
    found = []
    for index, box in enumerate(find_objects(parts), start=1):
        if box is not None:
            inside = parts[box] == index
            if inside.sum() >= least_px:
                found.append(_flower(box, inside))
    return sorted(found, key=lambda flower: -flower.size)


def _flower(box: tuple[slice, slice], mask: Mask) -> Flower:
    """Radius and angle by the ellipse that has the flower's own second moments."""
    rows, columns = np.nonzero(mask)
    middle = np.array([rows.mean(), columns.mean()])
    spread = np.cov(np.stack([rows, columns])) + np.eye(2) * 0.3
    values, axes = np.linalg.eigh(spread)
    grid = np.stack(np.indices(mask.shape), axis=-1) - middle
    along = (grid @ axes) / (2 * np.sqrt(values))
    return Flower(
        box, mask, np.hypot(along[..., 0], along[..., 1]).astype(np.float32), np.arctan2(along[..., 0], along[..., 1])
    )


def _over(picture: Picture, flower: Flower, colour: NDArray[np.floating], share: NDArray[np.floating]) -> None:
    part = picture.light[flower.box]
    part += (share * soft(flower.mask, 0.6))[..., None] * (colour - part)


def white_in_sun(picture: Picture, rng: np.random.Generator) -> None:
    """White blooms under more sun, some of them clipped as cameras clip them."""
    white = str(rng.choice(["#F4F3EE", "#F6F2E6", "#F0F2F5"]))
    repaint(picture, picture.mask(BLOOM), picture.reflectance("bloom"), linear(white), contrast=0.6)
    bright = np.percentile(picture.light[picture.mask(BLOOM)].mean(axis=-1), 70) if picture.mask(BLOOM).any() else 1
    picture.light *= np.float32(np.clip(rng.uniform(0.85, 1.15) / bright, 0.7, 1.6))
    picture.bloom_colours = [white]


def yellow_over_chartreuse(picture: Picture, rng: np.random.Generator) -> None:
    yellow, leaf = (
        str(rng.choice(["#F2D21F", "#F5DD4B", "#E9C21A"])),
        str(rng.choice(["#9DAA3C", "#A8B048", "#92A238"])),
    )
    change_pigment(picture, picture.mask(FOLIAGE), picture.reflectance("foliage"), linear(leaf))
    repaint(picture, picture.mask(BLOOM), picture.reflectance("bloom"), linear(yellow), contrast=0.6)
    expose_for(picture, picture.mask(FOLIAGE, BLOOM))
    picture.bloom_colours, picture.foliage_colours = [yellow], [leaf]


_PAIRS = [
    ("#C21F3A", "#F3EFE6"),
    ("#5A2A8C", "#F0E9F2"),
    ("#E4572B", "#F4D24B"),
    ("#D63A86", "#F7E7B8"),
    ("#3550B0", "#EEF0F4"),
    ("#7A1F2E", "#F0C03C"),
]


def bicolour(picture: Picture, rng: np.random.Generator) -> None:
    """Two colours a flower: a picotee edge, a star of stripes, or two halves."""
    pair = list(_PAIRS[int(rng.integers(len(_PAIRS)))])
    if rng.random() < 0.5:
        pair.reverse()
    body, other = pair
    repaint(picture, picture.mask(BLOOM), picture.reflectance("bloom"), linear(body))
    light, form = light_on(picture, picture.mask(BLOOM), linear(body), 0.9), str(rng.choice(["edge", "star", "halves"]))
    lobes = 5
    for flower in flowers_in(picture):
        turn = rng.uniform(0, 2 * np.pi)
        wave = np.cos(lobes * (flower.angle + turn))
        edge = {
            "edge": flower.radius - 0.72 - 0.06 * wave,
            "star": 0.32 * wave - 0.12 - 0.1 * flower.radius,
            "halves": np.sin(flower.angle + turn) * flower.radius - 0.1,
        }[form]
        share = expit(edge * max(flower.size, 4))
        _over(picture, flower, light[flower.box] * linear(other), share)
    picture.bloom_colours = [body, other]


def dark_centres(picture: Picture, rng: np.random.Generator) -> None:
    """An eye of near black, its rim ragged, on flowers of their own colour."""
    eye = str(rng.choice(["#2A0F18", "#1C1220", "#3A1A12"]))
    light = light_on(picture, picture.mask(BLOOM), picture.reflectance("bloom"))
    for flower in flowers_in(picture):
        reach = rng.uniform(0.38, 0.52) + 0.05 * np.cos(7 * flower.angle + rng.uniform(0, 6))
        share = expit((reach - flower.radius) * 1.6 * max(flower.size, 3))
        _over(picture, flower, light[flower.box] * linear(eye), 0.95 * share)
    picture.bloom_colours = [*picture.bloom_colours[:1], eye]


def daisies(picture: Picture, rng: np.random.Generator) -> None:
    """Rays of one colour, parted by dark lines, round a grainy disc of yellow or brown."""
    ray, disc = [("#F3F1EA", "#DDA51C"), ("#E9A9C4", "#D9A02A"), ("#F2C93A", "#6A3A18"), ("#B9A4DC", "#E0B030")][
        int(rng.integers(4))
    ]
    repaint(picture, picture.mask(BLOOM), picture.reflectance("bloom"), linear(ray), contrast=0.5)
    light = light_on(picture, picture.mask(BLOOM), linear(ray), 0.9)
    grain = noise(rng, picture.shape, 3, 2)
    for flower in flowers_in(picture):
        rays = int(rng.integers(11, 18)) if flower.size > 8 else 8
        gap = np.clip(np.cos(rays * flower.angle + rng.uniform(0, 6)) * 2 - 1.1, 0, 1) * np.clip(flower.radius, 0, 1)
        part = picture.light[flower.box]
        part *= 1 - (0.55 * gap * flower.mask)[..., None].astype(np.float32)
        share = expit((rng.uniform(0.3, 0.4) - flower.radius) * 1.8 * max(flower.size, 3))
        rough = 1 + 0.18 * grain[flower.box][..., None]
        _over(picture, flower, light[flower.box] * linear(disc) * np.clip(rough, 0.4, 1.5), share)
    picture.bloom_colours = [ray, disc]


def doubles(picture: Picture, rng: np.random.Generator) -> None:
    """Many petals: crescents of shade, ring within ring, each ring turned against the next."""
    colour = str(rng.choice(["#E27AA6", "#D8304A", "#F2E6DC", "#F0A070", "#9A5CC0"]))
    repaint(picture, picture.mask(BLOOM), picture.reflectance("bloom"), linear(colour), contrast=0.5)
    for flower in flowers_in(picture):
        rings = np.clip(flower.size / 5, 1.6, 4.5)
        shift = 0.18 * np.cos(
            rng.integers(4, 7) * flower.angle + rng.uniform(0, 6) + 2.4 * np.floor(flower.radius * rings)
        )
        phase = (flower.radius * rings + shift) % 1
        shade = 0.45 + 0.75 * np.sqrt(phase)
        shade *= 1 - 0.35 * np.exp(-((flower.radius / 0.25) ** 2))
        part = picture.light[flower.box]
        part *= (1 + (gaussian_filter(shade, 0.6) - 1) * soft(flower.mask, 0.6))[..., None].astype(np.float32)
    picture.bloom_colours = [colour]


def tiny_flowers(picture: Picture, rng: np.random.Generator) -> None:
    """Each flower gives way to leaves and a few flowers of 3 to 6 pixels across."""
    colour = str(rng.choice(["#F1EFE8", "#8E9BE0", "#E58FB4", "#F0D24A"]))
    bloom, found = picture.mask(BLOOM), flowers_in(picture, 12)
    lit = np.median(light_on(picture, bloom, picture.reflectance("bloom"))[bloom], axis=0) * linear(colour)
    places = np.argwhere(bloom)
    for flower in found:
        whole = np.zeros(picture.shape, bool)
        whole[flower.box] = flower.mask
        clone_over(picture, whole, rng, (FOLIAGE,))
    for y, x in places[rng.choice(len(places), len(places) // 60, replace=False)]:
        at = y + rng.normal(0, 6), x + rng.normal(0, 6)
        _dot(picture, rng, at, rng.uniform(1.5, 3.0), lit * rng.uniform(0.6, 1.15), BLOOM)
    picture.bloom_colours = [colour]


def _dot(
    picture: Picture,
    rng: np.random.Generator,
    at: tuple[float, float],
    size: float,
    colour: NDArray[np.floating],
    label: int | None,
) -> None:
    """A small ellipse with a soft edge, if it is centred on the plant; ``label`` None leaves the classes."""
    y, x = at
    row, column = int(y), int(x)
    height, width = picture.shape
    if not (8 < y < height - 9 and 8 < x < width - 9) or picture.classes[row, column] not in (FOLIAGE, BLOOM):
        return
    box = slice(row - 8, row + 9), slice(column - 8, column + 9)
    down, right = np.mgrid[box]
    turn, squash = rng.uniform(0, np.pi), rng.uniform(0.65, 1)
    a = (down - y) * np.cos(turn) + (right - x) * np.sin(turn)
    b = (right - x) * np.cos(turn) - (down - y) * np.sin(turn)
    share = np.clip(size + 0.5 - np.hypot(a, b / squash), 0, 1)
    lit = 1 + 0.18 * np.clip(-(down - y) / size, -1, 1)
    picture.light[box] += (share[..., None] * (lit[..., None] * colour - picture.light[box])).astype(np.float32)
    if label is not None:
        picture.classes[box][share > 0.5] = label


def buds(picture: Picture, rng: np.random.Generator) -> None:
    """Buds just showing colour, green below, among the leaves: foliage by definition."""
    leaves = binary_erosion(picture.mask(FOLIAGE), iterations=4) & (picture.in_frame > 0)
    places, green = np.argwhere(leaves), picture.reflectance("foliage")
    bright = picture.light[leaves] @ LUMINANCE
    tip = picture.reflectance("bloom") if picture.truth["bloom_lab_d65"] else linear("#C8407A")
    light = light_on(picture, leaves, green)[leaves]
    lit = np.quantile(light, 0.8, axis=0)
    for y, x in places[rng.choice(len(places), int(rng.integers(70, 160)), p=bright / bright.sum())]:
        size, lean, strength = rng.uniform(1.8, 3.4), rng.normal(0, 0.6), rng.uniform(0.6, 1.1)
        shown = rng.uniform(0.35, 0.85) * tip + 0.2 * green
        for step, colour in ((0.9, green), (0.0, 0.5 * (green + shown)), (-0.9, shown)):
            at = y + step * size * np.cos(lean), x + step * size * np.sin(lean)
            _dot(picture, rng, at, size * (1 - 0.18 * abs(step)), colour * lit * strength, None)
