"""The colour of petals and leaves as reflectance: corrected to white, read where the light is good."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from journal_server.measurement.colour import delta_e_00, lab_to_hex, linear_to_lab
from journal_server.measurement.result import BloomColour
from journal_server.measurement.white import White

Floats = npt.NDArray[np.float32]

LEAST_PIXELS = 30.0
_SURE = 0.6
_MOST_SAMPLES = 6_000
# Petals in their neighbours' shade look darker than they are; the better lit part counts.
_WELL_LIT_FROM = 0.4
# Petals and leaves shine a little, which pales their colour (fitted on made scenes with known reflectance).
_PALED_BY_SHINE = 1.1


def colour_of(linear: Floats, weights: Floats, white: White) -> BloomColour | None:
    """Mean colour, its hex and its spread; None where too few pixels are sure.

    Parameters
    ----------
    linear : float32 (h, w, 3), linear light in the photo
    weights : float32 (h, w), probability of the class times share in the frame
    white : how light in the photo becomes reflectance
    """
    sure = weights > _SURE
    if float(weights[sure].sum()) < LEAST_PIXELS:
        return None
    step = max(1, int(sure.sum()) // _MOST_SAMPLES)
    reflectance = np.clip(white.reflectance(linear[sure][::step]), 0, 1)
    share = weights[sure][::step].astype(np.float64)
    lab = linear_to_lab(reflectance).astype(np.float64)
    lit = lab[:, 0] >= np.quantile(lab[:, 0], _WELL_LIT_FROM)
    mean = np.average(lab[lit], axis=0, weights=share[lit]) * [1, _PALED_BY_SHINE, _PALED_BY_SHINE]
    median = np.median(lab, axis=0)
    spread = float(np.median(delta_e_00(lab, np.broadcast_to(median, lab.shape))))
    return BloomColour((float(mean[0]), float(mean[1]), float(mean[2])), lab_to_hex(mean), spread)
