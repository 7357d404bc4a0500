"""How fast a planting fills in: days to 50 % and 90 % of the level at which its canopy fill settles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import hypot, sqrt
from typing import Any

import numpy as np

from journal_server.analysis.logistic import LOGIT_90, LogisticFit, fit_logistic
from journal_server.analysis.series import (
    SHARED_VARIANCE,
    Z_90,
    PlantingSeason,
    days_after_planting,
    points_by_day,
)
from journal_server.measurement.result import Estimate

#: A planting needs this many dates: three for the curve, two to see whether it fits.
FEWEST_DATES = 5
#: No photo is trusted more than this, so that one overconfident interval does not pull the curve.
SMALLEST_SIGMA = 0.01
#: A planting takes at least a week from a tenth to nine tenths of its fill: common practice, no source. Without this
#: limit, dates that lie far apart would allow a leap between two of them.
FASTEST_RATE_PER_DAY = 2 * LOGIT_90 / 7


@dataclass(frozen=True)
class FillIn:
    """Time to fill of one planting; what could not be had is None with a sentence in ``reasons``."""

    fit: LogisticFit | None
    days_to_50: Estimate | None
    days_to_90: Estimate | None
    asymptote: Estimate | None
    dates: int
    reasons: dict[str, str] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        return {
            "asymptote": self.asymptote.as_dict() if self.asymptote else None,
            "days_to_50": self.days_to_50.as_dict() if self.days_to_50 else None,
            "days_to_90": self.days_to_90.as_dict() if self.days_to_90 else None,
            "dates": self.dates,
            "reasons": dict(self.reasons),
        }


def time_to_fill(season: PlantingSeason) -> FillIn:
    """Fit the fill curve of one planting and read off the days to 50 % and 90 % of its upper asymptote.

    Returns
    -------
    FillIn; ``fit`` is None with fewer than five dates or where fill hardly rose. A time is None where the
    curve passes it outside the measured dates or the dates do not pin it down.
    """
    points = [(p.taken_on, p.canopy_fill) for p in points_by_day(season) if p.canopy_fill is not None]
    if len(points) < FEWEST_DATES:
        return _nothing(
            len(points),
            f"canopy fill was {_dates_words(len(points))}; the curve needs at least {FEWEST_DATES}",
        )
    days = [days_after_planting(season.planted_on, day) for day, _ in points]
    values = [fill.value for _, fill in points]
    sigmas = [max(SMALLEST_SIGMA, (fill.high - fill.low) / (2 * Z_90)) for _, fill in points]
    if max(values) - min(values) < 2 * Z_90 * float(np.median(sigmas)):
        return _nothing(len(points), "canopy fill changed by no more than measuring error")
    fit = fit_logistic(days, values, sigmas, highest=1.0, fastest=FASTEST_RATE_PER_DAY)
    if fit is None:
        return _nothing(len(points), "canopy fill did not rise along a growth curve")
    return _read_off(fit, days, Z_90 * float(np.median(sigmas)))


def _dates_words(count: int) -> str:
    return {0: "not measured on any date", 1: "measured on one date"}.get(count, f"measured on {count} dates")


def _nothing(dates: int, reason: str) -> FillIn:
    return FillIn(None, None, None, None, dates, dict.fromkeys(("days_to_50", "days_to_90", "asymptote"), reason))


def _read_off(fit: LogisticFit, days: Sequence[int], photo_half: float) -> FillIn:
    reasons: dict[str, str] = {}
    found: dict[str, Estimate | None] = {}
    for name, share, when in (
        ("days_to_50", "half", fit.midpoint_day),
        ("days_to_90", "90 %", fit.ninety_day),
    ):
        found[name] = None
        if when.value > days[-1]:
            reasons[name] = f"canopy fill had not levelled off by day {days[-1]}: {share} lies beyond the last photo"
        elif when.value < days[0]:
            reasons[name] = f"{share} was already reached before the first photo on day {days[0]}"
        elif not np.isfinite([when.low, when.high]).all():
            reasons[name] = "the measured dates do not pin the curve down"
        else:
            found[name] = when
    level: Estimate | None = _with_shared_error(fit.asymptote, photo_half)
    if "days_to_90" in reasons and fit.ninety_day.value >= days[0]:
        level, reasons["asymptote"] = None, reasons["days_to_90"]
    return FillIn(fit, found["days_to_50"], found["days_to_90"], level, len(days), reasons)


def _with_shared_error(level: Estimate, photo_half: float) -> Estimate:
    """The level with the part of a photo's error that all photos share, which no number of dates makes smaller.

    Times need no such part: an error shared by all dates moves the curve up or down, and not to and fro.
    """
    shared, own = sqrt(SHARED_VARIANCE) * photo_half, sqrt(1 - SHARED_VARIANCE)
    below, above = (hypot(own * part, shared) for part in (level.value - level.low, level.high - level.value))
    return Estimate(level.value, max(0.0, level.value - below), min(1.0, level.value + above))
