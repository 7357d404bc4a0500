"""Cases of things about the planting: a hand, other planters, a large card."""

from __future__ import annotations

import numpy as np
import segno
from cases.paint import blend, clone_over, linear, noise, smooth, soft
from cases.sources import BACKGROUND, BLOOM, CARD, FOLIAGE, PLANTER, SPENT, Floats, Picture, load
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy.ndimage import binary_dilation, gaussian_filter

from journal_server.measurement.card_layout import CODE_MM, CORNERS_MM, MODULE_MM, PATCHES_MM, homography

SKINS = ("#F0C8AE", "#D9A07C", "#B97A56", "#7F5B45", "#523B2F")
_PER_MM = 8


def hand(picture: Picture, rng: np.random.Generator) -> None:
    """A hand from the side of the picture, its fingertips at the edge of the frame, in every other one within it."""
    height, width = picture.shape
    towards = float(rng.choice([-1, 1]))
    side = picture.frame[np.argmin(towards * picture.frame[:, 0])]
    size = rng.uniform(0.16, 0.22) * height
    lean = rng.uniform(-0.2, 0.2)

    def at(forward: float, down: float) -> NDArray[np.float64]:
        """A point in lengths of the longest finger from the middle of the palm."""
        reach = from_side + forward
        return np.asarray(side + size * np.array([towards * reach, below + down]))

    from_side, below = float(rng.choice([-1.3, -0.9])), rng.uniform(-0.2, 0.3)
    limb = _Limb(picture.shape)
    limb.capsule(at(-0.3, 0), at(-width / size, rng.uniform(0.2, 1.2)), 0.27 * size, 0.36 * size)
    limb.capsule(at(-0.15, 0.02), at(0.15, 0), 0.36 * size, 0.4 * size)
    for reach, across in ((0.92, -0.3), (1.05, -0.1), (1.0, 0.1), (0.82, 0.29)):
        root, bend = at(0.15, across), at(0.22 + 0.5 * reach, 1.25 * across + 0.3 * lean)
        limb.capsule(root, bend, 0.12 * size, 0.105 * size)
        limb.capsule(bend, at(0.22 + reach, 1.2 * across + lean), 0.105 * size, 0.083 * size, nail=True)
    limb.capsule(at(-0.05, -0.2), at(0.2, -0.5), 0.17 * size, 0.125 * size)
    limb.capsule(at(0.2, -0.5), at(0.62, -0.62 + lean), 0.125 * size, 0.095 * size, nail=True)
    limb.paint(picture, rng, linear(str(rng.choice(SKINS))))


class _Limb:
    """Rounded limbs, lit from above: each lies over those before."""

    def __init__(self, shape: tuple[int, int]):
        self.grid = np.indices(shape, np.float32)
        self.share = np.zeros(shape, np.float32)
        self.tone = np.ones(shape, np.float32)
        self.nails = np.zeros(shape, np.float32)

    def capsule(
        self, start: NDArray[np.float64], end: NDArray[np.float64], wide: float, narrow: float, nail: bool = False
    ) -> None:
        along = np.asarray(end, float) - start
        length = float(np.hypot(*along))
        across_x, across_y = self.grid[1] - start[0], self.grid[0] - start[1]
        t = np.clip((across_x * along[0] + across_y * along[1]) / length**2, 0, 1)
        radius = wide + (narrow - wide) * t
        dx, dy = across_x - t * along[0], across_y - t * along[1]
        distance = np.hypot(dx, dy)
        share = np.clip((radius - distance) / 1.4 + 0.5, 0, 1)
        rise = np.sqrt(np.clip(1 - (distance / radius) ** 2, 0, 1))
        tone = 0.62 + 0.33 * rise - 0.2 * dy / radius
        self.tone += share * (tone - self.tone)
        self.nails *= 1 - share
        if nail:
            bed = np.hypot((t - 0.9) * length / (0.9 * narrow), dx / (0.6 * narrow) + dy / (0.6 * narrow) + 0.2)
            self.nails = np.maximum(self.nails, np.clip((1 - bed) * 3, 0, 1) * share)
        self.share = np.maximum(self.share, share)

    def paint(self, picture: Picture, rng: np.random.Generator, skin: NDArray[np.float64]) -> None:
        fine = 1 + 0.05 * noise(rng, picture.shape, 5, 3) + 0.06 * noise(rng, picture.shape, 60, 3)
        rosy = np.array([0.10, -0.04, -0.04]) * noise(rng, picture.shape, 45, 2)[..., None]
        tone = gaussian_filter(self.tone, 2.0)
        colour = skin * (1 + rosy) * (tone * fine)[..., None] * picture.white
        colour = colour + self.nails[..., None] * 0.35 * (linear("#F0CFC4") * picture.white * tone[..., None] - colour)
        shade = np.roll(smooth(self.share, 9), (9, 5), (0, 1))
        picture.light *= (1 - 0.45 * shade)[..., None].astype(np.float32)
        blend(picture, colour, self.share)
        picture.classes[self.share > 0.5] = BACKGROUND


def other_planters(picture: Picture, rng: np.random.Generator) -> None:
    """The planters of two other scenes behind this one, beside or below, none reaching into its frame."""
    numbers = rng.permutation([2, 10, 14, 16, 22, 26, 28, 29, 35, 15, 13, 19])
    laid = 0
    for number in numbers:
        other = load(int(number))
        if other.name != picture.name and _lay_beside(picture, other, rng):
            laid += 1
        if laid == 2:
            return


def _lay_beside(picture: Picture, other: Picture, rng: np.random.Generator) -> bool:
    scale = rng.uniform(0.5, 0.8)
    clone_over(other, other.mask(CARD), rng, (FOLIAGE, BLOOM))
    size = round(other.shape[1] * scale), round(other.shape[0] * scale)
    light = [_resized(other.light[..., i], size) * np.float32(picture.white[i] / other.white[i]) for i in range(3)]
    share = _resized(soft(other.mask(FOLIAGE, BLOOM, SPENT, PLANTER)), size)
    free = picture.mask(BACKGROUND) & (picture.in_frame == 0)
    best, place = 0.0, (0, 0)
    for down, right in zip(rng.integers(-200, 800, 80), rng.integers(-700, 1200, 80), strict=True):
        seen, cut = _placed(share, picture.shape, int(down), int(right))
        if not seen.any() or (seen[picture.in_frame > 0] > 0.02).any():
            continue
        visible = float((seen * free)[cut].sum())
        if visible > best:
            best, place = visible, (int(down), int(right))
    if best < 6000:
        return False
    seen, _ = _placed(share, picture.shape, *place)
    painted = np.stack([_placed(light[i], picture.shape, *place)[0] for i in range(3)], axis=-1)
    ours = soft(free & binary_dilation(seen > 0.01, iterations=2), 0.7)
    blend(picture, painted, np.minimum(seen, ours))
    return True


def _resized(layer: Floats, size: tuple[int, int]) -> Floats:
    return np.asarray(Image.fromarray(layer).resize(size, Image.Resampling.BILINEAR))


def _placed(layer: Floats, shape: tuple[int, int], down: int, right: int) -> tuple[Floats, tuple[slice, slice]]:
    """``layer`` moved into a picture of ``shape``, zero elsewhere, and the box it lies in."""
    out = np.zeros(shape, np.float32)
    top, left = max(0, down), max(0, right)
    bottom, end = min(shape[0], down + layer.shape[0]), min(shape[1], right + layer.shape[1])
    box = slice(top, max(top, bottom)), slice(left, max(left, end))
    if bottom > top and end > left:
        out[box] = layer[top - down : bottom - down, left - right : end - right]
    return out, box


def large_card(picture: Picture, rng: np.random.Generator) -> None:
    """The card close to the camera in the middle of the frame, its old place grown over."""
    clone_over(picture, picture.mask(CARD), rng, (FOLIAGE, BLOOM))
    middle = picture.frame.mean(axis=0)
    wide = rng.uniform(0.2, 0.32) * np.ptp(picture.frame[:, 0])
    wide = max(wide, 150.0)
    turn = rng.normal(0, 0.12)
    square = (CORNERS_MM - CORNERS_MM.mean(axis=0)) / 100 * wide
    turned = square @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    corners = middle + turned * rng.uniform(0.94, 1.06, (4, 1)) + rng.normal(0, 12, 2)
    picture.card_corners = corners
    code = "TAG-" + "".join(rng.choice(list("0123456789ABCDEFGHJKMNPQRSTVWXYZ"), 6))
    back = homography(corners * 2, CORNERS_MM * _PER_MM).ravel()[:8]
    size = picture.shape[1] * 2, picture.shape[0] * 2
    flat = _flat_card(code)
    seen = flat.transform(size, Image.Transform.PERSPECTIVE, tuple(back), Image.Resampling.BILINEAR).reduce(2)
    whole = Image.new("L", flat.size, 255)
    share = whole.transform(size, Image.Transform.PERSPECTIVE, tuple(back), Image.Resampling.BILINEAR).reduce(2)
    inside = np.asarray(share, np.float32) / 255
    light = (
        (np.asarray(seen, np.float32) / 255)[..., None]
        * picture.white
        * (1 + 0.04 * noise(rng, picture.shape, 200, 2))[..., None]
    )
    shade = np.roll(smooth(inside, 10), (10, 7), (0, 1))
    picture.light *= (1 - 0.5 * shade)[..., None].astype(np.float32)
    blend(picture, light, inside)
    picture.classes[inside > 0.5] = CARD


def _flat_card(code: str) -> Image.Image:
    """The card face on, in linear reflectance."""
    card = Image.new("L", (100 * _PER_MM, 70 * _PER_MM), 204)
    pen = ImageDraw.Draw(card)
    for row, line in enumerate(segno.make(code, error="h", version=1, boost_error=False).matrix):
        for column, dark in enumerate(line):
            if dark:
                x, y = CODE_MM[0] + column * MODULE_MM, CODE_MM[1] + row * MODULE_MM
                pen.rectangle([v * _PER_MM for v in (x, y, x + MODULE_MM, y + MODULE_MM)], fill=12)
    for name, box in PATCHES_MM.items():
        fill = {"white": 204, "grey": 46, "black": 13}[name]
        pen.rectangle([v * _PER_MM for v in box], fill=fill, outline=90)
    return card
