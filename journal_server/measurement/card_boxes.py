"""Where in a photo a card may stand that was not read at first sight."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy import ndimage

Floats = npt.NDArray[np.float32]
Box = tuple[int, int, int, int]

_MOST_BOXES = 3
_LEAST_SHARE = 2e-4  # the smallest readable cards of the made scenes take ten times as much
_LIKELY = 0.3


def may_hold_card(card: Floats) -> bool:
    """Whether enough of the picture looks like card, (h, w) probabilities, for a search to be worth its time."""
    return float(card.sum(where=card > _LIKELY)) >= _LEAST_SHARE * card.size


def likely_card_boxes(card: Floats, grey: npt.NDArray[np.uint8]) -> list[Box]:
    """Boxes (left, top, right, bottom) in pixels of ``grey``, the likeliest first.

    Parameters
    ----------
    card : float32 (h, w), probability of card
    grey : uint8 (H, W), the same photo at the size that is searched
    """
    labels, count = ndimage.label(card > _LIKELY)
    if count == 0:
        return []
    weights = ndimage.sum_labels(card, labels, np.arange(1, count + 1))
    scale_x, scale_y = grey.shape[1] / card.shape[1], grey.shape[0] / card.shape[0]
    places = ndimage.find_objects(labels)
    boxes = []
    for index in np.argsort(-weights)[:_MOST_BOXES]:
        if weights[index] < _LEAST_SHARE * card.size:
            break
        rows, columns = places[index]
        margin = 0.3 * max(rows.stop - rows.start, columns.stop - columns.start)
        left, right = (columns.start - margin) * scale_x, (columns.stop + margin) * scale_x
        top, bottom = (rows.start - margin) * scale_y, (rows.stop + margin) * scale_y
        boxes.append(
            (max(0, int(left)), max(0, int(top)), min(grey.shape[1], int(right)), min(grey.shape[0], int(bottom)))
        )
    return boxes
