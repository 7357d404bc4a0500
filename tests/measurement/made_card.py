"""A card drawn to the layout, seen by a pinhole camera from anywhere."""

from __future__ import annotations

import numpy as np
import segno
from PIL import Image, ImageDraw

from journal_server.measurement.card_layout import CODE_MM, CORNERS_MM, MODULE_MM, PATCHES_MM, homography

PER_MM = 12
_INK = {"white": 250, "grey": 118, "black": 60}


def flat_card(code: str) -> Image.Image:
    """The card face on, 12 pixels a millimetre."""
    card = Image.new("L", (100 * PER_MM, 70 * PER_MM), 250)
    draw = ImageDraw.Draw(card)
    matrix = segno.make(code, error="h", version=1, boost_error=False).matrix
    for row, line in enumerate(matrix):
        for column, dark in enumerate(line):
            if dark:
                x, y = CODE_MM[0] + column * MODULE_MM, CODE_MM[1] + row * MODULE_MM
                draw.rectangle(
                    [x * PER_MM, y * PER_MM, (x + MODULE_MM) * PER_MM - 1, (y + MODULE_MM) * PER_MM - 1], fill=20
                )
    for name, box in PATCHES_MM.items():
        draw.rectangle([v * PER_MM for v in box], fill=_INK[name], outline=90)
    return card


def photo_of_card(code: str, corners: np.ndarray, size: tuple[int, int] = (900, 700), ground: int = 96) -> Image.Image:
    """A grey photo (width, height) in which the card's four corners lie at ``corners`` (4, 2)."""
    card, scale = flat_card(code), 3
    # Pillow asks for the map from the photo to the card.
    back = homography(np.asarray(corners, float) * scale, CORNERS_MM * PER_MM)
    large = size[0] * scale, size[1] * scale
    seen = card.transform(large, Image.Transform.PERSPECTIVE, tuple(back.ravel()[:8]), Image.Resampling.BICUBIC)
    whole = Image.new("L", card.size, 255)
    inside = whole.transform(large, Image.Transform.PERSPECTIVE, tuple(back.ravel()[:8]), Image.Resampling.BILINEAR)
    return Image.composite(seen, Image.new("L", large, ground), inside).reduce(scale)
