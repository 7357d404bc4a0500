"""Photo files made on the spot: four coloured quarters in any format, with any orientation, tags by exiftool."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image

FORMATS = {"jpg": "JPEG", "png": "PNG", "webp": "WEBP", "tif": "TIFF", "heic": "HEIF"}
# clockwise from the top left
QUARTERS = {"red": (200, 30, 30), "green": (30, 160, 40), "blue": (30, 40, 200), "yellow": (220, 210, 40)}
# How a viewer turns what is stored, by Exif orientation (Exif 2.32, tag 0x0112).
STORE = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: np.rot90(a, 1),
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: np.rot90(a, -1),
}


def quarters(width: int = 96, height: int = 64) -> np.ndarray:
    picture = np.zeros((height, width, 3), np.uint8)
    red, green, blue, yellow = QUARTERS.values()
    picture[: height // 2, : width // 2] = red
    picture[: height // 2, width // 2 :] = green
    picture[height // 2 :, width // 2 :] = blue
    picture[height // 2 :, : width // 2] = yellow
    return picture


def quarter_names(picture: np.ndarray) -> list[str]:
    """Names of the four quarters as seen, clockwise from the top left."""
    height, width = picture.shape[:2]
    spots = [(0.25, 0.25), (0.25, 0.75), (0.75, 0.75), (0.75, 0.25)]
    seen = [picture[int(height * y), int(width * x)].astype(int) for y, x in spots]
    return [min(QUARTERS, key=lambda name: np.abs(colour - QUARTERS[name]).sum()) for colour in seen]


def save_turned(path: Path, orientation: int) -> Path:
    """A file that shows the quarters upright to a viewer that honours its orientation."""
    stored = Image.fromarray(np.ascontiguousarray(STORE[orientation](quarters())))
    exif = Image.Exif()
    if orientation != 1:
        exif[0x0112] = orientation
    if path.suffix == ".heic":
        # Written by its own writer, which puts the turn where HEIF viewers look for it.
        pillow_heif.from_pillow(stored).save(path, quality=95, exif=exif.tobytes())
        return path
    options = {".jpg": {"quality": 95}, ".webp": {"lossless": True}}.get(path.suffix, {})
    stored.save(path, FORMATS[path.suffix[1:]], exif=exif, **options)
    return path


def exiftool(*arguments: str | Path) -> str:
    """Run exiftool; without it the test is skipped on a desk but fails where all checks must run."""
    program = shutil.which("exiftool")
    if program is None:
        if os.environ.get("CI") == "true":
            pytest.fail("exiftool must be installed where CI runs")
        pytest.skip("exiftool is not installed here")
    command = [program, *(str(a) for a in arguments)]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout
