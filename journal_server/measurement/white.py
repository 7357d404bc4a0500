"""What is white in the photo: from the card's patches, or estimated where there is no card."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from journal_server.measurement.card_layout import PATCHES_MM, WHITE_REFLECTANCE
from journal_server.measurement.card_pose import CardPose
from journal_server.measurement.colour import srgb_to_linear

Array = npt.NDArray[np.float64]

_SAMPLES = 12
_LEAST = 1e-4
_LEAST_STEP = 0.1
_CLIPPED = 254


# Reflectance of the printed patches as designed; printers differ, so that white alone fixes the level.
PATCH_REFLECTANCE = {"black": 0.05, "grey": 0.18, "white": WHITE_REFLECTANCE}


@dataclass(frozen=True)
class White:
    """How light in the photo becomes reflectance.

    ``levels`` are the linear medians of the card's black, grey and white patch, each (red, green, blue). Cameras
    bend the tones between them; the bend is undone by straight lines through the patches on logarithmic scales,
    one for each channel, which at the card's white is exactly the card's white. Without a card ``levels`` is
    empty and ``gain`` (3,) alone applies.
    """

    gain: Array
    source: str
    clipped: bool = False
    flat: bool = False
    levels: Array | None = None

    def reflectance(self, linear: npt.ArrayLike) -> Array:
        """Reflectance, float64 (n, 3), of linear light in the photo, (n, 3)."""
        values = np.maximum(np.asarray(linear, np.float64), _LEAST)
        if self.levels is None:
            return values * self.gain
        known = np.log(list(PATCH_REFLECTANCE.values()))
        out = np.empty_like(values)
        for channel in range(3):
            dark, middle, light = np.log(np.maximum(self.levels[:, channel], _LEAST))
            lower = (known[1] - known[0]) / max(middle - dark, _LEAST_STEP)
            upper = (known[2] - known[1]) / max(light - middle, _LEAST_STEP)
            tone = np.log(values[:, channel])
            slope = np.where(tone < middle, lower, upper)
            out[:, channel] = np.exp(known[1] + (tone - middle) * slope)
        return out


def white_of_card(srgb: npt.NDArray[np.uint8], pose: CardPose) -> White | None:
    """White from the patches of a card whose pose is in this picture's pixels; None if they are not in view.

    Parameters
    ----------
    srgb : uint8 (H, W, 3)
    """
    seen = [_patch(srgb, pose, PATCHES_MM[name]) for name in PATCH_REFLECTANCE]
    patches = [patch for patch in seen if patch is not None]
    if len(patches) < len(seen):
        return None
    levels = np.stack([np.median(srgb_to_linear(patch), axis=0) for patch in patches])
    black, grey, white = levels.mean(axis=1)
    if white < 0.01 or not white > grey > black:
        return None
    clipped = float(np.mean(patches[-1].max(axis=1) >= _CLIPPED)) > 0.2
    gain = WHITE_REFLECTANCE / np.maximum(levels[-1].astype(np.float64), _LEAST)
    return White(gain, "card", clipped, bool(white < 3 * black), levels.astype(np.float64))


def estimated_white(*, flat: bool = False) -> White:
    """White where there is no card: the camera's own balance and exposure are taken as they are.

    Estimating the light from the picture (shades of grey, Finlayson and Trezzi 2004) was tried and did worse: a
    photo full of leaves is not grey on average.
    """
    return White(np.full(3, WHITE_REFLECTANCE), "estimated", flat=flat)


def _patch(
    srgb: npt.NDArray[np.uint8], pose: CardPose, box: tuple[float, float, float, float]
) -> npt.NDArray[np.uint8] | None:
    """Pixels of the inner part of a patch, away from its blurred edges; None if out of the picture."""
    left, top, right, bottom = box
    x = np.linspace(left + 0.25 * (right - left), right - 0.25 * (right - left), _SAMPLES)
    y = np.linspace(top + 0.25 * (bottom - top), bottom - 0.25 * (bottom - top), _SAMPLES)
    at = np.floor(pose.to_pixels(np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2))).astype(int)
    height, width = srgb.shape[:2]
    if (at < 0).any() or (at >= [width, height]).any():
        return None
    return np.asarray(srgb[at[:, 1], at[:, 0]])
