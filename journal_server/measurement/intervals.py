"""90 % intervals from the error actually seen; how the constants were fitted is written in their file."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources

from journal_server.measurement.result import Estimate

CONSTANTS = "interval_constants.json"
QUANTITIES = ("canopy_fill", "bloom_cover", "flower_to_leaf", "spent_share", "evenness")


@dataclass(frozen=True)
class Circumstances:
    """What the width of an interval may depend on; shares and flags as floats."""

    canopy_fill: float
    bloom_cover: float
    canopy_doubt: float
    bloom_doubt: float
    bloom_declared: float
    card: float
    framed: float
    green_around: float
    sharpness: float
    brightness: float
    clipped: float
    light_ratio: float
    frame_megapixels: float


def interval(quantity: str, value: float, seen: Circumstances, method: str) -> Estimate:
    """The value with its interval; shares stay within [0, 1], everything at or above 0.

    Parameters
    ----------
    quantity : one of ``QUANTITIES``
    value : the measured value
    seen : the circumstances of the photo
    method : name of the segmentation, whose errors were fitted apart
    """
    fitted = _constants(method)[quantity]
    half = half_width(fitted, quantity, value, seen)
    if not (seen.card or seen.framed):
        # A ratio spreads more the larger it is: d(b / (1 - b)) = (1 + ratio)^2 db.
        half = math.hypot(half, fitted["elsewhere"] * ((1 + value) ** 2 if quantity == "flower_to_leaf" else 1.0))
    highest = 1.0 if quantity in ("canopy_fill", "bloom_cover", "spent_share") else math.inf
    return Estimate(value, max(0.0, value - half), min(highest, value + half))


def least_half_width(quantity: str, method: str) -> float:
    """Half of the narrowest interval that the method gives; narrower ones were never checked."""
    return _constants(method)[quantity]["least"]


def half_width(fitted: dict[str, float], quantity: str, value: float, seen: Circumstances) -> float:
    """Half the interval's width: exp of a weighted sum of the terms."""
    weighted = (fitted["weights"][name] * term for name, term in terms(quantity, value, seen).items())  # type: ignore[index]
    return min(fitted["most"], max(fitted["least"], math.exp(sum(weighted))))


def terms(quantity: str, value: float, seen: Circumstances) -> dict[str, float]:
    """What the logarithm of the half-width is a weighted sum of."""
    doubt = seen.canopy_doubt if quantity in ("canopy_fill", "evenness") else seen.bloom_doubt
    share = value / (1 + value) if quantity == "flower_to_leaf" else min(max(value, 0.0), 1.0)
    return {
        "constant": 1.0,
        "doubt": math.log(doubt + 0.003),
        "share": math.log(share * (1 - share) + 0.01),
        "sparse": -math.log(seen.canopy_fill + 0.02) if quantity != "canopy_fill" else 0.0,
        "undeclared": 1.0 - seen.bloom_declared,
        "no_card": 1.0 - seen.card,
        "unframed": 1.0 - seen.framed,
        "green_around": seen.green_around,
        "unsharp": max(0.0, 0.6 - seen.sharpness),
        "dark": -math.log(seen.brightness + 0.005),
        "clipped": seen.clipped,
        "light_ratio": math.log(max(1.0, seen.light_ratio)),
        "small": -math.log(seen.frame_megapixels + 0.01),
    }


@cache
def _constants(method: str) -> dict[str, dict[str, float]]:
    text = resources.files(__package__).joinpath(CONSTANTS).read_text("utf-8")
    by_method = json.loads(text)["methods"]
    return by_method.get(method) or by_method["default"]  # type: ignore[no-any-return]
