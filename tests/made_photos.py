"""Photos made on the spot: a plain picture, perhaps with a card in it and a moment in its Exif."""

from __future__ import annotations

import io

import numpy as np
import segno
from PIL import Image

DATE_TIME_ORIGINAL, OFFSET_TIME_ORIGINAL, EXIF_IFD = 0x9003, 0x9011, 0x8769


def card_picture(code: str, pixels_per_mm: float = 2.0) -> Image.Image:
    """The printed side of a card (100 x 70 mm), without perspective."""
    card = Image.new("RGB", (round(100 * pixels_per_mm), round(70 * pixels_per_mm)), "white")
    made = segno.make(code, version=1, error="h", mode="alphanumeric", boost_error=False, micro=False)
    modules = np.array([[0 if dark else 255 for dark in row] for row in made.matrix], np.uint8)
    side = round(50 * pixels_per_mm)
    qr = Image.fromarray(modules).resize((side, side), Image.Resampling.NEAREST)
    card.paste(qr, (round(10 * pixels_per_mm), round(10 * pixels_per_mm)))
    for top, level in ((27, 118), (49, 63)):
        square = Image.new("RGB", (round(22 * pixels_per_mm), round(16 * pixels_per_mm)), (level, level, level))
        card.paste(square, (round(71 * pixels_per_mm), round(top * pixels_per_mm)))
    return card


def picture(seed: int = 0, size: tuple[int, int] = (640, 480), codes: tuple[str, ...] = ()) -> Image.Image:
    """Green speckle, different for each seed, with the given cards side by side."""
    rng = np.random.default_rng(seed)
    coarse = rng.integers(0, 60, (size[1] // 8, size[0] // 8, 3)) + np.array([40, 90, 30])
    image = Image.fromarray(coarse.astype(np.uint8)).resize(size, Image.Resampling.BICUBIC)
    for place, code in enumerate(codes):
        image.paste(card_picture(code), (40 + place * 260, 160))
    return image


def jpeg(
    taken: str | None = None, offset: str | None = "+02:00", seed: int = 0, codes: tuple[str, ...] = (), **more: object
) -> bytes:
    """JPEG bytes; ``taken`` as Exif writes it ('2026:06:12 10:14:03')."""
    image = picture(seed, codes=codes, **more)  # type: ignore[arg-type]
    exif = Image.Exif()
    if taken:
        exif.get_ifd(EXIF_IFD)[DATE_TIME_ORIGINAL] = taken
        if offset:
            exif.get_ifd(EXIF_IFD)[OFFSET_TIME_ORIGINAL] = offset
    out = io.BytesIO()
    image.save(out, "JPEG", quality=90, exif=exif)
    return out.getvalue()
