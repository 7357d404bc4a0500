"""How far apart two bloom colours truly are, given how far apart they were measured and the errors to expect."""

from __future__ import annotations

from functools import lru_cache
from math import hypot, sqrt

from scipy.optimize import brentq
from scipy.stats import chi2, ncx2

from journal_server.analysis.series import Lab
from journal_server.measurement.result import Estimate

#: Standard deviation of a bloom colour's error along lightness, chroma and hue, each in units of CIEDE2000, for each
#: unit of the error to expect: from the 161 pairs of dates of the sample season with bloom colours. Light moves
#: lightness most.
AXIS_SPREAD = (0.69, 0.31, 0.40)


def axis_sigmas(error_de00: float) -> tuple[float, ...]:
    """Standard deviations along lightness, chroma and hue of a difference whose expected error is this."""
    return tuple(spread * error_de00 for spread in AXIS_SPREAD)


def step_weights(first: Lab, second: Lab) -> tuple[float, float, float]:
    """What a unit of CIEDE2000 is in lightness, chroma and hue at these colours: its SL, SC and SH, without its T."""
    lightness = (first[0] + second[0]) / 2 - 50
    chroma = (hypot(*first[1:]) + hypot(*second[1:])) / 2
    return 1 + 0.015 * lightness**2 / sqrt(20 + lightness**2), 1 + 0.045 * chroma, 1 + 0.015 * chroma


def true_distance(measured: float, steps: tuple[float, ...], sigmas: tuple[float, ...]) -> Estimate:
    """The true distance behind a measured one whose error has these standard deviations along its three axes."""
    total = sum(sigma**2 for sigma in sigmas)
    length = sum(step**2 for step in steps)
    if total <= 0:
        return Estimate(measured, measured, measured)
    along = sum((step * sigma) ** 2 for step, sigma in zip(steps, sigmas, strict=True)) / length if length else 0.0
    # Where the measured way happens to run along the surest axis, the true one may not: no less than the mean spread.
    along = max(along, total / len(sigmas))
    low, high = _noncentrality(round(measured**2 / along, 6), round(total / along, 6))
    return Estimate(measured, min(measured, sqrt(along) * low), max(measured, sqrt(along) * high))


@lru_cache(maxsize=4096)
def _noncentrality(seen: float, freedom: float) -> tuple[float, float]:
    """Roots of the noncentralities that would leave ``seen`` at the 95th and at the 5th percentile."""
    top = sqrt(seen) + sqrt(freedom) + 6.0

    def root(share: float) -> float:
        if chi2.cdf(seen, freedom) <= share:
            return 0.0
        return float(brentq(lambda r: float(ncx2.cdf(seen, freedom, r * r)) - share, 1e-6, top, xtol=1e-6))

    return root(0.95), root(0.05)
