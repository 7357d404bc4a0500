"""What is white in the photo: from the card's patches, or estimated where there is no card."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from journal_server.measurement.card_layout import PATCHES_MM, WHITE_REFLECTANCE
from journal_server.measurement.card_pose import CardPose
from journal_server.measurement.colour import srgb_to_linear

_SAMPLES = 12
_CLIPPED = 250


@dataclass(frozen=True)
class White:
    """``gain`` (3,) takes linear light in the photo to reflectance.

    ``levels`` are the linear means of the card's patches; empty where white is estimated.
    """

    gain: npt.NDArray[np.float64]
    source: str
    clipped: bool = False
    flat: bool = False
    levels: tuple[tuple[str, tuple[float, float, float]], ...] = ()


def white_of_card(srgb: npt.NDArray[np.uint8], pose: CardPose) -> White | None:
    """White from the patches of a card whose pose is in this picture's pixels; None if they are not in view.

    Parameters
    ----------
    srgb : uint8 (H, W, 3)
    """
    patches = {name: _patch(srgb, pose, box) for name, box in PATCHES_MM.items()}
    white, grey, black = patches["white"], patches["grey"], patches["black"]
    if white is None or grey is None or black is None:
        return None
    clipped = float((white >= _CLIPPED).any(axis=1).mean()) > 0.2
    levels = {
        name: np.median(srgb_to_linear(p), axis=0) for name, p in (("white", white), ("grey", grey), ("black", black))
    }
    brightness = {name: float(level.mean()) for name, level in levels.items()}
    if brightness["white"] < 0.01 or not brightness["white"] > brightness["grey"] > brightness["black"]:
        return None
    flat = brightness["white"] < 3 * brightness["black"]
    return White(
        WHITE_REFLECTANCE / np.maximum(levels["white"].astype(np.float64), 1e-4),
        "card",
        clipped,
        flat,
        tuple((name, (float(r), float(g), float(b))) for name, (r, g, b) in levels.items()),
    )


def estimated_white(srgb: npt.NDArray[np.uint8]) -> White:
    """White where there is no card: shades of grey (Finlayson and Trezzi 2004, p = 6), taken half way.

    Cameras correct most of the light's colour themselves, and a photo full of leaves is not grey on
    average, so that a full correction would often do harm.
    """
    linear = srgb_to_linear(srgb[:: max(1, srgb.shape[0] // 300), :: max(1, srgb.shape[1] // 300)]).reshape(-1, 3)
    usable = linear[(linear < 0.98).all(axis=1)]
    if len(usable) < 100:
        return White(np.full(3, WHITE_REFLECTANCE), "estimated")
    strength = np.mean(usable.astype(np.float64) ** 6, axis=0) ** (1 / 6) + 1e-6
    tint = (strength.mean() / strength) ** 0.5
    return White(tint / tint.mean() * WHITE_REFLECTANCE, "estimated")


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
