"""What cameras do to the tones of a photo, undone: from sRGB levels back to the light on the sensor."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from journal_server.measurement.colour import srgb_to_linear

Array = npt.NDArray[np.float64]

# How strongly the sRGB levels are bent into an S, from not at all to a whole smoothstep (3 s^2 - 2 s^3).
STRENGTHS = np.linspace(0, 1, 21)
# The middle of the made cameras' strengths, 0.3 to 0.8.
USUAL_STRENGTH = 0.55
# Highlights are rolled off from here towards 1 (fitted to the cards of made scenes).
_ROLLED_OFF_FROM = 0.75
# Burnt-out levels are at least this bright; nothing more is known of them.
_BRIGHTEST = 0.997
_DARKEST = 1e-4
_STEPS = 4001


@lru_cache(maxsize=1)
def light_of_levels() -> Array:
    """Light for each strength and each of the 256 levels, float64 (21, 256), where 1 is near full scale."""
    plain = np.linspace(0, 1, _STEPS)
    bent = plain + STRENGTHS[:, None] * (plain * plain * (3 - 2 * plain) - plain)
    unbent = np.stack([np.interp(np.linspace(0, 1, 256), row, plain) for row in bent])
    linear = np.minimum(srgb_to_linear(unbent).astype(np.float64), _BRIGHTEST)
    room = 1 - _ROLLED_OFF_FROM
    opened = _ROLLED_OFF_FROM - room * np.log((1 - linear) / room)
    return np.maximum(np.where(linear > _ROLLED_OFF_FROM, opened, linear), _DARKEST)


def nearest_strength(strength: float) -> int:
    """Index into ``STRENGTHS``."""
    return int(np.argmin(np.abs(STRENGTHS - strength)))
