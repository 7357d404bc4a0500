"""How fast a planting fills in: a logistic curve through its canopy fill, and the days to 50 % and 90 %.

The logistic growth curve is that of Verhulst (1838), as used for plant height by Reed and Holland (1919).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import log
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.special import expit, stdtrit

from journal_server.analysis.series import Z_90, PlantingSeason, days_after_planting, points_by_day
from journal_server.measurement.result import Estimate

Floats = NDArray[np.float64]

#: A planting needs this many dates: three for the curve, two to see whether it fits.
FEWEST_DATES = 5
#: No photo is trusted more than this, so that one overconfident interval does not pull the curve.
SMALLEST_SIGMA = 0.01
#: Rise in logits from 50 % to 90 % of the asymptote.
LOGIT_90 = log(9.0)
#: Points of the profile grid along each of its two axes.
GRID_POINTS = 121


@dataclass(frozen=True)
class LogisticFit:
    """``asymptote / (1 + exp(-rate_per_day * (day - midpoint_day)))``, each with its 90 % profile interval.

    An interval bound that the dates cannot pin down is infinite.
    """

    asymptote: Estimate
    rate_per_day: Estimate
    midpoint_day: Estimate
    ninety_day: Estimate

    def value_at(self, day: float) -> float:
        """Height of the curve ``day`` days after planting."""
        return float(self.asymptote.value * expit(self.rate_per_day.value * (day - self.midpoint_day.value)))


@dataclass(frozen=True)
class FillIn:
    """Time to fill of one planting; what could not be had is None with a sentence in ``reasons``."""

    fit: LogisticFit | None
    days_to_50: Estimate | None
    days_to_90: Estimate | None
    dates: int
    reasons: dict[str, str] = field(default_factory=dict)

    @property
    def asymptote(self) -> Estimate | None:
        """The canopy fill at which the planting levelled off; None while it still grows, as the reason says."""
        return self.fit.asymptote if self.fit and "asymptote" not in self.reasons else None

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
            f"canopy fill was measured on {len(points)} dates; the curve needs at least {FEWEST_DATES}",
        )
    days = [days_after_planting(season.planted_on, day) for day, _ in points]
    values = [fill.value for _, fill in points]
    sigmas = [max(SMALLEST_SIGMA, (fill.high - fill.low) / (2 * Z_90)) for _, fill in points]
    if max(values) - min(values) < 2 * Z_90 * float(np.median(sigmas)):
        return _nothing(len(points), "canopy fill changed by no more than measuring error")
    fit = fit_logistic(days, values, sigmas, highest=1.0)
    if fit is None:
        return _nothing(len(points), "canopy fill did not rise along a growth curve")
    return _read_off(fit, days)


def _nothing(dates: int, reason: str) -> FillIn:
    return FillIn(None, None, None, dates, dict.fromkeys(("days_to_50", "days_to_90", "asymptote"), reason))


def _read_off(fit: LogisticFit, days: Sequence[int]) -> FillIn:
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
    if "days_to_90" in reasons and fit.ninety_day.value >= days[0]:
        reasons["asymptote"] = reasons["days_to_90"]
    return FillIn(fit, found["days_to_50"], found["days_to_90"], len(days), reasons)


def fit_logistic(
    days: Sequence[float], values: Sequence[float], sigmas: Sequence[float], *, highest: float = np.inf
) -> LogisticFit | None:
    """Robust weighted least-squares logistic fit with profile intervals.

    Residuals are weighted by ``1 / sigma`` and put through the soft-L1 loss (linear far out), so that one
    date of heat sag or one bad photo moves the curve little. Where the dates scatter more than their sigmas
    say, the intervals grow with the scatter. For given midpoint and rate the best asymptote is a linear
    problem, so the profile is computed on a two-dimensional grid, without random numbers.

    Parameters
    ----------
    days, values, sigmas : same length, at least 4; sigmas > 0 in the unit of values
    highest : upper limit of the asymptote (1.0 for shares)

    Returns
    -------
    LogisticFit, or None where the values do not rise

    Raises
    ------
    ValueError : lengths differ, fewer than 4 values, values that are not finite, or a sigma not above 0

    References
    ----------
    Reed, H. S. and Holland, R. H. (1919), The growth rate of an annual plant Helianthus, PNAS 5, 135-144.
    Venzon, D. J. and Moolgavkar, S. H. (1988), A method for computing profile-likelihood-based confidence
    intervals, Applied Statistics 37, 87-94.
    """
    t, y, s = (np.asarray(column, dtype=np.float64) for column in (days, values, sigmas))
    if not (t.shape == y.shape == s.shape) or t.size < 4 or not np.isfinite([t, y, s]).all() or (s <= 0).any():
        raise ValueError(f"need at least 4 finite days, values and sigmas > 0, got {days!r} {values!r} {sigmas!r}")
    best = _best_parameters(t, y, s, highest)
    if best is None:
        return None
    residuals = (_logistic(best, t) - y) / s
    weights = 1.0 / (s * s * np.sqrt(1.0 + residuals * residuals))
    return _profile(best, t, y, weights, _rise(residuals), highest)


def _rise(residuals: Floats) -> float:
    """How far the weighted squares may rise above their least value inside a 90 % interval of one quantity.

    That of chi-squared with one degree of freedom, or more where the residuals (in sigmas) scatter more than
    their sigmas say: the variance of an M-estimate with the soft-L1 loss (Huber 1973, Robust regression, Annals of
    Statistics 1, 799-821), with Student's quantile for the degrees of freedom left.
    """
    spread, free = 1.0 + residuals**2, max(1, residuals.size - 3)
    influence = float(np.sum(residuals**2 / spread)) / free
    scatter = float(np.mean(spread**-0.5)) * influence / float(np.mean(spread**-1.5)) ** 2
    return max(Z_90**2, scatter * float(stdtrit(free, 0.95)) ** 2)


def _logistic(parameters: Floats, t: Floats) -> Floats:
    asymptote, log_rate, midpoint = parameters
    return np.asarray(asymptote * expit(np.exp(log_rate) * (t - midpoint)), dtype=np.float64)


def _best_parameters(t: Floats, y: Floats, s: Floats, highest: float) -> Floats | None:
    span = float(t.max() - t.min())
    if span <= 0:
        return None
    midpoints = np.linspace(t.min() - span, t.max() + span, 61)
    log_rates = np.linspace(np.log(1.0 / span), np.log(50.0 / span), 41)
    loss, asymptotes = _surface(midpoints, log_rates, t, y, 1.0 / (s * s), highest)
    i, j = np.unravel_index(int(np.argmin(loss)), loss.shape)
    if asymptotes[i, j] <= 0:
        return None
    # Heights are solved in units of the data's own size, so that all three parameters are of order one.
    unit = float(np.abs(y).max())
    start = np.array([min(asymptotes[i, j], highest * 0.999) / unit, log_rates[j], midpoints[i] / span])
    lower = [0.0, log_rates[0] - 1e-9, midpoints[0] / span - 1e-9]
    upper = [highest / unit, log_rates[-1] + 1e-9, midpoints[-1] / span + 1e-9]
    scale = np.array([unit, 1.0, span])

    def residuals(scaled: Floats) -> Floats:
        return (_logistic(scaled * scale, t) - y) / s

    solved = least_squares(residuals, start, bounds=(lower, upper), loss="soft_l1", xtol=1e-10)
    return np.asarray(solved.x * scale, dtype=np.float64)


def _surface(
    midpoints: Floats, log_rates: Floats, t: Floats, y: Floats, weights: Floats, highest: float
) -> tuple[Floats, Floats]:
    """Weighted squares and best asymptote for each (midpoint, rate), both of shape (midpoints, rates)."""
    shape = expit(np.exp(log_rates)[None, :, None] * (t - midpoints[:, None, None]))
    weighted = shape @ (weights * y)
    norm = np.maximum(np.square(shape) @ weights, 1e-300)
    asymptotes = np.clip(weighted / norm, 0.0, highest)
    loss = np.sum(weights * y * y) - 2 * asymptotes * weighted + asymptotes**2 * norm
    return loss, asymptotes


def _profile(best: Floats, t: Floats, y: Floats, weights: Floats, rise: float, highest: float) -> LogisticFit:
    """The 90 % region around the best fit on a grid that grows until it holds the region, or gives up.

    ``rise`` is how far the profiled sum of squares may lie above its least value inside the region.
    """
    asymptote, log_rate, midpoint = best
    span = float(t.max() - t.min())
    half = np.array([0.08 * span, 0.25])
    for _ in range(7):
        midpoints = midpoint + np.linspace(-half[0], half[0], GRID_POINTS)
        log_rates = log_rate + np.linspace(-half[1], half[1], GRID_POINTS)
        loss, asymptotes = _surface(midpoints, log_rates, t, y, weights, highest)
        region = loss <= min(loss.min(), loss[GRID_POINTS // 2, GRID_POINTS // 2]) + rise
        rows, columns = np.flatnonzero(region.any(axis=1)), np.flatnonzero(region.any(axis=0))
        edge = np.array(
            [rows[0] == 0 or rows[-1] == GRID_POINTS - 1, columns[0] == 0 or columns[-1] == GRID_POINTS - 1]
        )
        thin = np.array([np.ptp(rows) < 12, np.ptp(columns) < 12])
        if not (edge | thin).any():
            break
        half = half * np.where(edge, 2.0, np.where(thin, 0.3, 1.0))
    rates = np.exp(log_rates)
    ninety = midpoints[:, None] + LOGIT_90 / rates[None, :]
    open_ended = bool(edge.any())
    return LogisticFit(
        _bounded(asymptote, asymptotes[region], False),
        _bounded(float(np.exp(log_rate)), rates[columns], bool(edge[1])),
        _bounded(midpoint, midpoints[rows], bool(edge[0])),
        _bounded(midpoint + LOGIT_90 / float(np.exp(log_rate)), ninety[region], open_ended),
    )


def _bounded(value: float, inside: Floats, open_ended: bool) -> Estimate:
    if open_ended:
        return Estimate(float(value), -np.inf, np.inf)
    return Estimate(float(value), float(min(value, inside.min())), float(max(value, inside.max())))
