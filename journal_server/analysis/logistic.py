"""A logistic growth curve through measured heights, with profile intervals.

The curve is that of Verhulst (1838), as used for plant height by Reed and Holland (1919).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.special import expit, stdtrit

from journal_server.analysis.series import Z_90
from journal_server.measurement.result import Estimate

Floats = NDArray[np.float64]

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


def fit_logistic(
    days: Sequence[float],
    values: Sequence[float],
    sigmas: Sequence[float],
    *,
    highest: float = np.inf,
    fastest: float = np.inf,
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
    fastest : upper limit of the rate a day; never above a leap within a fiftieth of the time measured

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
    span = float(t.max() - t.min())
    if span <= 0:
        return None
    rates = (1.0 / span, max(1.0 / span, min(fastest, 50.0 / span)))
    best = _best_parameters(t, y, s, highest, rates)
    if best is None:
        return None
    residuals = (_logistic(best, t) - y) / s
    weights = 1.0 / (s * s * np.sqrt(1.0 + residuals * residuals))
    return _profile(best, t, y, weights, _rise(residuals), highest, rates[1])


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


def _best_parameters(t: Floats, y: Floats, s: Floats, highest: float, rates: tuple[float, float]) -> Floats | None:
    span = float(t.max() - t.min())
    midpoints = np.linspace(t.min() - span, t.max() + span, 61)
    log_rates = np.linspace(np.log(rates[0]), np.log(rates[1]), 41)
    loss, asymptotes, _ = _surface(midpoints, log_rates, t, y, 1.0 / (s * s), highest)
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
) -> tuple[Floats, Floats, Floats]:
    """Weighted squares, best asymptote, and how the squares rise with the asymptote, each (midpoints, rates)."""
    shape = expit(np.exp(log_rates)[None, :, None] * (t - midpoints[:, None, None]))
    weighted = shape @ (weights * y)
    norm = np.maximum(np.square(shape) @ weights, 1e-300)
    asymptotes = np.clip(weighted / norm, 0.0, highest)
    loss = np.sum(weights * y * y) - 2 * asymptotes * weighted + asymptotes**2 * norm
    return loss, asymptotes, norm


def _profile(
    best: Floats, t: Floats, y: Floats, weights: Floats, rise: float, highest: float, fastest: float
) -> LogisticFit:
    """The 90 % region around the best fit on a grid that grows until it holds the region, or gives up.

    ``rise`` is how far the profiled sum of squares may lie above its least value inside the region. The grid ends at
    ``fastest``, and a region that reaches that end is not open there.
    """
    asymptote, log_rate, midpoint = best
    least = _surface(best[2:], best[1:2], t, y, weights, highest)[0].min()
    half, last = np.array([0.08 * float(np.ptp(t)), 0.25]), GRID_POINTS - 1
    for _ in range(8):
        midpoints = midpoint + np.linspace(-half[0], half[0], GRID_POINTS)
        limit = max(log_rate, min(log_rate + half[1], np.log(fastest)))
        log_rates = np.linspace(log_rate - half[1], limit, GRID_POINTS)
        loss, asymptotes, norm = _surface(midpoints, log_rates, t, y, weights, highest)
        slack = min(loss.min(), least) + rise - loss
        region = slack >= 0
        rows, columns = np.flatnonzero(region.any(axis=1)), np.flatnonzero(region.any(axis=0))
        too_fast = columns[-1] == last and limit < np.log(fastest) - 1e-6
        edge = np.array([rows[0] == 0 or rows[-1] == last, columns[0] == 0 or too_fast])
        thin = np.array([np.ptp(rows) < 12, np.ptp(columns) < 12])
        if not (edge | thin).any():
            break
        half = half * np.where(edge, 2.0, np.where(thin, 0.3, 1.0))
    rates = np.exp(log_rates)
    ninety = midpoints[:, None] + LOGIT_90 / rates[None, :]
    open_ended = bool(edge.any())
    reach = np.sqrt(slack[region] / norm[region])
    heights = np.clip(np.concatenate([asymptotes[region] - reach, asymptotes[region] + reach]), 0.0, highest)
    return LogisticFit(
        _bounded(asymptote, heights, False),
        _bounded(float(np.exp(log_rate)), rates[columns], bool(edge[1])),
        _bounded(midpoint, midpoints[rows], bool(edge[0])),
        _bounded(midpoint + LOGIT_90 / float(np.exp(log_rate)), ninety[region], open_ended),
    )


def _bounded(value: float, inside: Floats, open_ended: bool) -> Estimate:
    if open_ended:
        return Estimate(float(value), -np.inf, np.inf)
    return Estimate(float(value), float(min(value, inside.min())), float(max(value, inside.max())))
