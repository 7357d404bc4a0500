"""One photo on the grid of its class map, and the circumstances in which it was measured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from journal_server.measurement.frame import Polygon, coverage
from journal_server.measurement.intervals import Circumstances
from journal_server.measurement.photo_file import Photo
from journal_server.measurement.quality import Look
from journal_server.measurement.shares import Shares, plant_in

Bytes = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float32]


@dataclass(frozen=True)
class PhotoOnGrid:
    """``small`` (h, w, 3), ``classes`` (h, w, 6), ``canopy`` and ``frame`` (h, w) share one grid.

    ``canopy`` is the probability of plant; ``decoded`` is the larger picture that ``small`` was made from.
    """

    photo: Photo
    decoded: Image.Image
    small: Bytes
    classes: Floats
    canopy: Floats
    frame: Floats
    polygon: Polygon
    framed: bool

    @classmethod
    def of(
        cls, photo: Photo, decoded: Image.Image, small: Bytes, classes: Floats, frame: Polygon, *, framed: bool
    ) -> PhotoOnGrid:
        """Bring picture and frame (in displayed pixels) to the grid of the class map."""
        height, width = classes.shape[:2]
        scale = width / photo.width, height / photo.height
        if small.shape[:2] != (height, width):
            small = np.asarray(decoded.resize((width, height), Image.Resampling.BOX))
        inside = coverage(frame, (height, width), scale)
        return cls(photo, decoded, small, classes, plant_in(classes), inside, frame * scale, framed)

    @property
    def megapixels(self) -> float:
        return self.photo.width * self.photo.height / 1e6

    @property
    def cut_off(self) -> bool:
        """Whether the frame runs out of the picture by more than a fiftieth of its sides."""
        height, width = self.frame.shape
        points = self.polygon
        return bool((points < [-0.02 * width, -0.02 * height]).any() or (points > [1.02 * width, 1.02 * height]).any())

    def circumstances(self, shares: Shares, look: Look, *, declared: bool, card: bool) -> Circumstances:
        """What the width of the intervals depends on."""
        outside = 1 - self.frame
        green = self.small[..., 1] > np.maximum(self.small[..., 0], self.small[..., 2])
        return Circumstances(
            canopy_fill=shares.canopy_fill,
            bloom_cover=shares.bloom_cover or 0.0,
            canopy_doubt=shares.canopy_doubt,
            bloom_doubt=shares.bloom_doubt,
            bloom_declared=float(declared),
            card=float(card),
            framed=float(self.framed),
            green_around=float((green * outside).sum() / max(float(outside.sum()), 1.0)),
            sharpness=look.sharpness,
            brightness=look.brightness,
            clipped=look.clipped,
            light_ratio=look.light_ratio,
            frame_megapixels=float(self.frame.mean()) * self.megapixels,
        )
