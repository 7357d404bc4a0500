"""Shares of the frame that are leaf, bloom and spent bloom, from class probabilities as soft areas."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]

BACKGROUND, FOLIAGE, BLOOM, SPENT, CARD = 0, 1, 2, 3, 5

# Below this share of the frame, about the error of canopy fill, ratios within the plant mean nothing; a bare wall with
# grain measures up to 0.006.
LEAST_CANOPY = 0.008


@dataclass(frozen=True)
class Shares:
    """Fractions as defined for the trial; None where undefined. ``reasons`` holds a sentence for each None.

    ``doubt`` is the mean spread of the probabilities over the frame: 0 where every pixel is certain.
    """

    canopy_fill: float
    bloom_cover: float | None
    flower_to_leaf: float | None
    spent_share: float | None
    canopy_doubt: float
    bloom_doubt: float
    reasons: dict[str, str]


def plant_in(classes: Floats) -> Floats:
    """Probability of plant, float32 (h, w): leaf, bloom and spent bloom together."""
    # Sums over the short last axis are many times slower.
    return classes[..., FOLIAGE] + classes[..., BLOOM] + classes[..., SPENT]


def shares_in(classes: Floats, frame: Floats) -> Shares:
    """Shares inside the frame.

    What the card hides counts as area of the frame but not as plant, as everything that is not seen.

    Parameters
    ----------
    classes : float32 (h, w, 6), probabilities
    frame : float32 (h, w), share of each pixel that lies in the frame
    """
    area = float(frame.sum(dtype=np.float64))
    sums = np.tensordot(frame, classes, axes=([0, 1], [0, 1])).astype(np.float64)
    foliage, bloom, spent = (float(sums[i]) for i in (FOLIAGE, BLOOM, SPENT))
    canopy = foliage + bloom + spent
    plant = plant_in(classes)
    doubt = float((plant * (1 - plant) * frame).sum(dtype=np.float64)) / area
    flowering = classes[..., BLOOM]
    bloom_doubt = float((flowering * (plant - flowering) * frame).sum(dtype=np.float64)) / max(canopy, 1e-9)
    reasons: dict[str, str] = {}
    sparse = canopy < LEAST_CANOPY * area
    if sparse:
        sentence = "Hardly any plant is seen inside the frame."
        reasons = dict.fromkeys(("bloom_cover", "flower_to_leaf", "spent_share"), sentence)
    elif foliage <= 0.001 * canopy:
        reasons["flower_to_leaf"] = (
            "No foliage is seen inside the frame, so there is nothing to set the flowers against."
        )
    return Shares(
        canopy_fill=min(1.0, canopy / area),
        bloom_cover=None if sparse else bloom / canopy,
        flower_to_leaf=None if reasons.get("flower_to_leaf") else bloom / foliage,
        spent_share=None if sparse else spent / canopy,
        canopy_doubt=doubt,
        bloom_doubt=bloom_doubt,
        reasons=reasons,
    )
