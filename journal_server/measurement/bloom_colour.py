"""The colour of petals and leaves as reflectance: corrected to white, read where the light is good."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from journal_server.measurement.colour import delta_e_00, lab_to_hex, linear_to_lab
from journal_server.measurement.result import BloomColour

Floats = npt.NDArray[np.float32]

LEAST_PIXELS = 30.0
_SURE = 0.6
_MOST_SAMPLES = 20_000
# Petals in their neighbours' shade are darker than they are; the better lit part counts.
_WELL_LIT_FROM = 0.35


def colour_of(linear: Floats, weights: Floats, gain: npt.NDArray[np.float64]) -> BloomColour | None:
    """Mean colour, its hex and its spread; None where too few pixels are sure.

    Parameters
    ----------
    linear : float32 (h, w, 3), linear light in the photo
    weights : float32 (h, w), probability of the class times share in the frame
    gain : (3,), takes linear light to reflectance
    """
    sure = weights > _SURE
    if float(weights[sure].sum()) < LEAST_PIXELS:
        return None
    reflectance = linear[sure] * gain.astype(np.float32)
    step = max(1, len(reflectance) // _MOST_SAMPLES)
    reflectance = reflectance[::step]
    share = weights[sure][::step].astype(np.float64)
    brightness = reflectance @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    lit = brightness >= np.quantile(brightness, _WELL_LIT_FROM)
    lab = linear_to_lab(np.clip(reflectance, 0, 1.0)).astype(np.float64)
    mean = np.average(lab[lit], axis=0, weights=share[lit])
    median = np.median(lab, axis=0)
    spread = float(np.median(delta_e_00(lab, np.broadcast_to(median, lab.shape))))
    return BloomColour((float(mean[0]), float(mean[1]), float(mean[2])), lab_to_hex(mean), spread)
