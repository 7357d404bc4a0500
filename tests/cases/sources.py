"""The scenes that the cases are made from, in linear light with their class maps."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from journal_server.measurement.colour import lab_to_linear, srgb_to_linear
from journal_server.measurement.frame import coverage

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]

SCENES = Path(__file__).parents[1] / "scenes"
BACKGROUND, FOLIAGE, BLOOM, SPENT, PLANTER, CARD = range(6)
CARD_WHITE = 0.80
_LONG_SIDE = 1280


@dataclass
class Picture:
    """A scene being changed: ``light`` (h, w, 3) linear, ``classes`` (h, w), and what was true before the changes."""

    name: str
    light: Floats
    classes: NDArray[np.uint8]
    frame: NDArray[np.float64]
    truth: dict[str, Any]
    bloom_colours: list[str]
    foliage_colours: list[str]
    card_corners: NDArray[np.float64] | None
    before: NDArray[np.uint8] = field(init=False)
    white: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        self.before = self.classes.copy()
        self.white = _white_light(self.light, self.classes == CARD)

    def mask(self, *classes: int) -> Mask:
        return np.isin(self.classes, classes)

    @property
    def shape(self) -> tuple[int, int]:
        return self.classes.shape[0], self.classes.shape[1]

    @cached_property
    def in_frame(self) -> Floats:
        return coverage(self.frame, self.shape, (1.0, 1.0))

    def reflectance(self, kind: str) -> NDArray[np.float64]:
        """Linear reflectance of leaves or blooms as the scene was made."""
        return np.clip(lab_to_linear(np.array(self.truth[f"{kind}_lab_d65"])), 0.01, 1.0)

    def frame_shares(self) -> dict[str, float]:
        """Area shares of foliage, bloom and spent bloom in the frame.

        The scene's own sub-pixel shares, moved by what the changes moved in the map of majority classes: a map alone
        is off by half a point where plants are thin.
        """
        told, area = self.truth["frame_fractions"], float(self.in_frame.sum())
        shares = {}
        for name, index in (("foliage", FOLIAGE), ("bloom", BLOOM), ("spent", SPENT)):
            moved = (self.classes == index).astype(float) - (self.before == index)
            shares[name] = max(0.0, told[name] + float((moved * self.in_frame).sum()) / area)
        return shares


def _white_light(light: Floats, card: Mask) -> NDArray[np.float64]:
    """Linear light that a perfect white would send back where the card stands; plain daylight if it is hidden."""
    seen = light[card]
    if len(seen) < 200:
        return np.array([1.0, 0.97, 0.92]) * 0.9
    bright = seen[seen.sum(axis=1) > np.percentile(seen.sum(axis=1), 60)]
    return np.asarray(np.median(bright, axis=0) / CARD_WHITE)


def load(number: int) -> Picture:
    """Scene ``dev_NN`` as displayed, its longer side at most 1280 pixels."""
    name = f"dev_{number:02d}"
    truth = json.loads((SCENES / f"{name}.truth.json").read_text("utf-8"))
    photo = ImageOps.exif_transpose(Image.open(SCENES / f"{name}.jpg")).convert("RGB")
    classes = Image.open(SCENES / f"{name}.classes.png")
    scale = min(1.0, _LONG_SIDE / max(photo.size))
    if scale < 1:
        size = round(photo.width * scale), round(photo.height * scale)
        photo = photo.resize(size, Image.Resampling.BOX)
        classes = classes.resize(size, Image.Resampling.NEAREST)
    tag = truth["tag"]
    return Picture(
        name,
        np.array(srgb_to_linear(np.asarray(photo))),
        np.array(classes),
        np.array(truth["frame_polygon"]) * scale,
        truth,
        list(truth["declared"]["bloom_colours"]),
        list(truth["declared"]["foliage_colours"]),
        np.array(tag["corners_px"]) * scale if tag else None,
    )
