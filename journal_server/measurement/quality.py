"""What makes a photo hard to measure, in plain words, with what to do next time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from journal_server.measurement.colour import srgb_to_linear
from journal_server.measurement.result import Quality, QualityWarning

Floats = npt.NDArray[np.float32]

MESSAGES = {
    "blurred": "The photo is blurred. Hold the phone with both hands and wait for the wind to drop.",
    "too_dark": "The photo is very dark. Come back in better light, or tap the plant to set the exposure.",
    "overexposed": "Part of the planting is burnt out to white. Tap the brightest flowers to set the exposure.",
    "half_in_shadow": "The planting lies half in sun, half in shadow. Choose an hour when it is all one.",
    "low_resolution": "The picture is small, so fine flowers run together. Keep the full-size photo from the camera.",
    "cut_off": "The planting runs out of the picture. Step back until all of it is in view.",
    "frame_small": "The planter is small in the picture. Step closer until it fills most of the view.",
    "frame_missing": "No frame is drawn, so the whole photo was measured. Draw the planter's frame once.",
    "no_card": "No card was read, so white and scale are not known. Set the card upright, facing the camera.",
    "card_small": "The card is small in the picture. Step closer, or turn it to face the camera.",
    "card_clipped": "The card is burnt out to white, so colours are uncertain. Keep it out of glaring sun.",
    "card_flat": "The card's white, grey and black look alike: glare or haze. Turn it out of the glare.",
    "several_cards": "More than one card is in the picture. Keep the neighbour's card out of view.",
    "greyscale": "The photo has no colours, so flowers cannot be told from leaves. Take it in colour.",
    "profile_unfit": "The photo's colour profile is damaged, so its colours may be off. Keep the camera's own file.",
    "too_small": "The picture is too small to measure. Keep the full-size photo from the camera.",
    "no_plant": "Hardly any plant is seen inside the frame.",
    "time_doubtful": "When the photo was taken is doubtful. Please check the date.",
    "colour_only": "Measured by colour alone, which is rough: the learned method could not run here.",
}

# Light and shade are broad: every fourth pixel tells as much.
_COARSE = 4
_ROOM = 32  # pixels round the frame, more than the blurs reach
# Limits beyond what nineteen in twenty sound photos of the made scenes show.
BLURRED_BELOW = 0.78
DARK_BELOW = 0.025
CLIPPED_ABOVE = 0.10
SHADOW_ABOVE = 4.5
SMALL_BELOW_MEGAPIXELS = 0.3

_UNUSABLE = {"greyscale", "too_small"}


@dataclass(frozen=True)
class Look:
    """Signs of quality inside the frame. ``sharpness`` is fine over coarse detail; the rest are shares or levels."""

    sharpness: float
    brightness: float
    clipped: float
    light_ratio: float
    megapixels: float


def look_at(srgb: npt.NDArray[np.uint8], frame: Floats, canopy: Floats, megapixels: float) -> Look:
    """Signs of quality, from a working picture (h, w, 3) and frame and canopy of the same size (h, w)."""
    inside = frame > 0.5
    if not inside.any():
        inside = np.ones_like(inside)
    broadness = max(1.0, srgb.shape[1] / 60 / _COARSE)
    box = _box_round(inside)
    srgb, inside, canopy = srgb[box], inside[box], canopy[box]
    grey = (srgb_to_linear(srgb) @ np.array([0.2126, 0.7152, 0.0722], np.float32)).astype(np.float32)
    seen = np.sqrt(grey)
    soft = ndimage.gaussian_filter(seen, 1.0)
    fine, middle = seen - soft, soft - ndimage.gaussian_filter(seen, 3.0)
    sharpness = float(fine[inside].std() / max(float(middle[inside].std()), 1e-4))
    plant = inside & (canopy > 0.5)
    where = plant if plant.sum() > 50 else inside
    coarse = slice(None, None, _COARSE)
    broad = ndimage.gaussian_filter(grey[coarse, coarse], broadness)
    broad = broad[where[coarse, coarse]] if where[coarse, coarse].any() else broad
    low, high = np.quantile(broad, [0.1, 0.9])
    return Look(
        sharpness=sharpness,
        brightness=float(np.median(grey[where])),
        clipped=float((_brightest(srgb)[where] >= 253).mean()),
        light_ratio=float(high / max(float(low), 1e-4)),
        megapixels=megapixels,
    )


def _box_round(inside: npt.NDArray[np.bool_]) -> tuple[slice, slice]:
    """The box that holds all that is inside, with room for the blurs."""
    rows, columns = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
    top, left = max(0, int(rows[0]) - _ROOM), max(0, int(columns[0]) - _ROOM)
    return slice(top, int(rows[-1]) + _ROOM + 1), slice(left, int(columns[-1]) + _ROOM + 1)


def _brightest(srgb: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
    return np.asarray(np.maximum(np.maximum(srgb[..., 0], srgb[..., 1]), srgb[..., 2]))


def codes_of(look: Look) -> list[str]:
    """Warnings that the picture itself gives cause for."""
    found = []
    if look.sharpness < BLURRED_BELOW:
        found.append("blurred")
    if look.brightness < DARK_BELOW:
        found.append("too_dark")
    if look.clipped > CLIPPED_ABOVE:
        found.append("overexposed")
    if look.light_ratio > SHADOW_ABOVE:
        found.append("half_in_shadow")
    if look.megapixels < SMALL_BELOW_MEGAPIXELS:
        found.append("low_resolution")
    return found


def quality_of(codes: list[str], details: dict[str, str] | None = None) -> Quality:
    """The warnings for a list of codes; ``details`` replaces a code's standard words."""
    told = {**MESSAGES, **(details or {})}
    warnings = tuple(QualityWarning(code, told[code]) for code in dict.fromkeys(codes))
    return Quality(usable=not _UNUSABLE & set(codes), warnings=warnings)
