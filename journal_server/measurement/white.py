"""What is white in the photo: from the card's patches, or estimated where there is no card."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from journal_server.measurement.camera_tone import STRENGTHS, USUAL_STRENGTH, light_of_levels, nearest_strength
from journal_server.measurement.card_layout import PATCHES_MM, WHITE_REFLECTANCE
from journal_server.measurement.card_pose import CardPose
from journal_server.measurement.colour import srgb_to_linear

Array = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]

_SAMPLES = 12
_CLIPPED = 254
# Plain paper between the code and the patches: white too, where a leaf or a shadow lies on the white patch.
_MARGIN_MM = (60.5, 4.0, 70.5, 66.0)

# Reflectance of the printed patches as designed, and how far printers stray from it (standard deviation of its
# logarithm; common practice, no source). White is the reference: grey and black tell the camera's contrast, and
# the level only where white is burnt out.
PATCH_REFLECTANCE = {"black": 0.05, "grey": 0.18, "white": WHITE_REFLECTANCE}
_PRINTERS_STRAY = np.array([0.2, 0.1, 0.02])
_STRENGTHS_STRAY = 0.15
_BURNT_OUT = 253.5
_BURNT_OUT_STRAYS = 0.15
_UNKNOWN = 1e3
# A patch farther off than three standard deviations is hidden or shaded.
_OUTLIER = 9.0


@dataclass(frozen=True)
class White:
    """How levels in the photo become reflectance: ``table`` is float64 (256, 3), one column a channel."""

    table: Array
    source: str
    clipped: bool = False
    flat: bool = False

    def reflectance(self, srgb: Bytes) -> Array:
        """Reflectance, float64 (n, 3), of sRGB levels, uint8 (n, 3); may exceed 1 in glare."""
        return np.asarray(np.take_along_axis(self.table, srgb.astype(np.intp), axis=0))


def white_of_card(srgb: Bytes, pose: CardPose) -> White | None:
    """White from the patches of a card whose pose is in this picture's pixels; None if they are not in view.

    Parameters
    ----------
    srgb : uint8 (H, W, 3)
    """
    seen = [_patch(srgb, pose, PATCHES_MM[name]) for name in PATCH_REFLECTANCE]
    patches = [patch for patch in seen if patch is not None]
    if len(patches) < len(seen):
        return None
    levels = np.stack([np.median(patch, axis=0) for patch in patches])
    scatter = np.stack([np.median(np.abs(patch - level), axis=0) for patch, level in zip(patches, levels, strict=True)])
    margin = _patch(srgb, pose, _MARGIN_MM)
    if margin is not None and np.median(margin, axis=0).mean() > levels[2].mean() + 3:
        levels[2] = np.median(margin, axis=0)
    black, grey, white = srgb_to_linear(levels / 255).mean(axis=1)
    if white < 0.01 or not white > grey > black:
        return None
    table = table_of_patches(levels, scatter)
    if table is None:
        return None
    clipped = float(np.mean(patches[2].max(axis=1) >= _CLIPPED)) > 0.2
    return White(table, "card", clipped, bool(white < 3 * black))


def table_of_patches(levels: Array, scatter: Array) -> Array | None:
    """Reflectance of every level in each channel, (256, 3), from the patches; None if all are burnt out.

    The strength of the camera's S-curve (one for the photo) and a gain for each channel are those that explain
    the patches best, near the usual strength; a patch that fits with neither of the others does not count.

    Parameters
    ----------
    levels : float (3, 3), sRGB levels of black, grey and white, each (red, green, blue)
    scatter : float (3, 3), their median absolute deviation within the patch
    """
    burnt = levels >= _BURNT_OUT
    if burnt.any(axis=1).all():
        return None
    at = np.rint(levels).astype(np.intp)
    tones = np.log(light_of_levels())
    gains = tones[:, at] - np.log(list(PATCH_REFLECTANCE.values()))[:, None]
    noise = np.gradient(tones, axis=1)[:, at] * (0.7 + 0.5 * scatter)
    doubt = np.where(burnt, _UNKNOWN, np.hypot(_PRINTERS_STRAY[:, None], noise))
    # Axes: strength, patch, the patch it is held against, channel.
    apart = gains[:, :, None] - gains[:, None]
    misfit = apart**2 / (doubt[:, :, None] ** 2 + doubt[:, None] ** 2)
    # What is burnt out may be any amount brighter than it looks, but no darker.
    misfit = np.where(burnt[:, None], (np.maximum(apart, 0) / _BURNT_OUT_STRAYS) ** 2, misfit).mean(axis=-1)
    loss = np.minimum(misfit, _OUTLIER).sum(axis=1)
    loss += ((STRENGTHS - USUAL_STRENGTH)[:, None] / _STRENGTHS_STRAY) ** 2
    loss[:, burnt.any(axis=1)] = np.inf
    strength, against = np.unravel_index(np.argmin(loss), loss.shape)
    counts = (misfit[strength, :, against] < _OUTLIER)[:, None] & ~burnt
    gain = np.average(gains[strength], axis=0, weights=np.where(counts, doubt[strength] ** -2, 1e-12))
    return np.asarray(np.exp(tones[strength][:, None] - gain))


def estimated_white(*, flat: bool = False) -> White:
    """White where there is no card: the camera's own balance is taken as it is, its contrast as usual.

    Estimating the light's colour from the picture (shades of grey, Finlayson and Trezzi 2004) or from the hue of
    the leaves was tried and did no better: a photo full of leaves is not grey on average, and leaves differ.
    """
    light = light_of_levels()[nearest_strength(USUAL_STRENGTH)]
    return White(np.repeat(light[:, None], 3, axis=1), "estimated", flat=flat)


def _patch(srgb: Bytes, pose: CardPose, box: tuple[float, float, float, float]) -> Bytes | None:
    """Pixels of the inner part of a patch, away from its blurred edges; None if out of the picture."""
    left, top, right, bottom = box
    x = np.linspace(left + 0.25 * (right - left), right - 0.25 * (right - left), _SAMPLES)
    y = np.linspace(top + 0.25 * (bottom - top), bottom - 0.25 * (bottom - top), _SAMPLES)
    at = np.floor(pose.to_pixels(np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2))).astype(int)
    height, width = srgb.shape[:2]
    if (at < 0).any() or (at >= [width, height]).any():
        return None
    return np.asarray(srgb[at[:, 1], at[:, 0]])
