"""What changed between two photos of one planting, and whether it is more than measuring error.

The errors of two dates count as independent. Over the sample season, whose truth is exact, the errors of two dates of
one planting hardly go together (correlation 0.14 for canopy fill, 0.13 for bloom cover, 0.02 for spent share), and
counting on more would make the intervals too narrow.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot
from typing import Any

from journal_server.analysis.colour_error import axis_sigmas, step_weights, true_distance
from journal_server.analysis.fade import colour_difference
from journal_server.analysis.series import SHARE_WORDS, Z_90, Lab, SeasonPoint
from journal_server.measurement.result import Estimate

MORE = "more than measuring error"
WITHIN = "within measuring error"

COMPARED_SHARES = ("canopy_fill", "bloom_cover", "spent_share")
TOO_LITTLE_BLOOM = "a photo shows too little open bloom for a colour"
NOTHING: Mapping[str, str] = {}
COLOUR_WORDS = {
    "dl": "lightness, dL*",
    "dc": "chroma, dC*",
    "dh": "hue, dH*",
    "de00": "colour difference, CIEDE2000",
}


@dataclass(frozen=True)
class ColourReading:
    """The bloom colour of one photo, CIELAB (D65, 2 degree observer), and its expected error in CIEDE2000."""

    lab: Lab
    hex: str
    error_de00: float


@dataclass(frozen=True)
class Difference:
    """One number on two dates. ``change`` is second minus first with its 90 % interval, None with a ``reason``.

    The first and second value are None for parts of a colour difference, which belong to no single date.
    """

    name: str
    words: str
    first: Estimate | None = None
    second: Estimate | None = None
    change: Estimate | None = None
    reason: str | None = None

    @property
    def verdict(self) -> str | None:
        return verdict_on(self.change) if self.change else None

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        return {
            "name": self.name,
            "words": self.words,
            "first": self.first.as_dict() if self.first else None,
            "second": self.second.as_dict() if self.second else None,
            "change": self.change.as_dict() if self.change else None,
            "verdict": self.verdict,
            "reason": self.reason,
        }


def verdict_on(change: Estimate) -> str:
    """The plain words for a difference: whether its interval leaves out 0."""
    return WITHIN if change.low <= 0 <= change.high else MORE


def difference(first: Estimate, second: Estimate, *, widened: float = 1.0) -> Estimate:
    """``second`` minus ``first`` with a 90 % interval, the two errors independent.

    Each side's half-widths are added in quadrature: a rise is too large where the second value was read too
    high or the first too low. ``widened`` multiplies them.
    """
    value = second.value - first.value
    below = widened * hypot(second.value - second.low, first.high - first.value)
    above = widened * hypot(second.high - second.value, first.value - first.low)
    return Estimate(value, value - below, value + above)


def share_differences(
    first: SeasonPoint, second: SeasonPoint, not_compared: Mapping[str, str] = NOTHING
) -> tuple[Difference, ...]:
    """Canopy fill, bloom cover and spent share of two dates of one planting.

    ``not_compared``: the names of those whose difference would mean nothing, each with the reason.
    """
    return tuple(
        Difference(name, SHARE_WORDS[name], reason=not_compared[name])
        if name in not_compared
        else _share(name, getattr(first, name), getattr(second, name))
        for name in COMPARED_SHARES
    )


def colour_differences(
    first: ColourReading | None, second: ColourReading | None, unknown: str = TOO_LITTLE_BLOOM
) -> tuple[Difference, ...]:
    """Signed dL*, dC*, dH* and CIEDE2000 of the second bloom colour against the first.

    ``unknown`` is the reason where one of the colours is not known.

    CIEDE2000 is a distance: errors only ever add to it, so that two equal colours measure some way apart. Its
    interval is that of the true distance, from the noncentral chi-squared distribution of the measured one; it begins
    at 0 where the measured distance is no more than error would make of none.

    References
    ----------
    Venables, W. (1975), Calculation of confidence intervals for noncentrality parameters, Journal of the Royal
    Statistical Society B 37, 406-412. Satterthwaite, F. E. (1946), Biometrics Bulletin 2, 110-114 (unequal spreads).
    """
    if first is None or second is None:
        return tuple(Difference(name, words, reason=unknown) for name, words in COLOUR_WORDS.items())
    measured = colour_difference(first.lab, second.lab)
    error = hypot(first.error_de00, second.error_de00)
    weights = step_weights(first.lab, second.lab)
    sigmas = axis_sigmas(error)
    parts = (measured.dl, measured.dc, measured.dh)
    changes = [_around(part, Z_90 * sigma * weight) for part, sigma, weight in zip(parts, sigmas, weights, strict=True)]
    steps = tuple(part / weight for part, weight in zip(parts, weights, strict=True))
    changes.append(true_distance(measured.de00, steps, sigmas))
    return tuple(
        Difference(name, words, change=change)
        for (name, words), change in zip(COLOUR_WORDS.items(), changes, strict=True)
    )


def _share(name: str, first: Estimate | None, second: Estimate | None) -> Difference:
    words = SHARE_WORDS[name]
    if first is None or second is None:
        missing = {(True, True): "either photo", (True, False): "the first photo", (False, True): "the second photo"}
        which = missing[(first is None, second is None)]
        return Difference(name, words, first, second, reason=f"{words} was not measured on {which}")
    return Difference(name, words, first, second, difference(first, second))


def _around(value: float, half: float) -> Estimate:
    return Estimate(value, value - half, value + half)
