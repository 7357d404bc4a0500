"""How well the method agrees with a person's point counts over several photos: bias, limits of agreement, what is left.

A count of points has an error of its own, which is known: it is binomial. The spread of the differences holds it as
well as the method's errors, so it is said how much of the spread the counting alone would make, and what is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp, fsum, hypot, sqrt
from statistics import fmean, stdev
from typing import Any

from scipy.special import ndtri, stdtrit

from journal_server.analysis.differences import difference
from journal_server.measurement.result import Estimate

#: Bland and Altman's limits hold 95 % of the differences, where these are normal.
LIMITS_MULTIPLE = 1.96
CONFIDENCE = 0.90

LEAST_FOR_BIAS = 3
LEAST_FOR_LIMITS = 5


@dataclass(frozen=True)
class LimitsOfAgreement:
    """Mean difference, standard deviation and the two limits, with intervals."""

    photos: int
    bias: Estimate
    spread: float
    lower: Estimate
    upper: Estimate


@dataclass(frozen=True)
class ComparedShare:
    """One share of one photo, counted by a person and measured by the method.

    ``counting_variance`` is the variance that counting points alone gives the counted share.
    """

    photo_id: str
    counted: Estimate
    measured: Estimate
    counting_variance: float

    @property
    def difference(self) -> Estimate:
        """Measured less counted, with the 90 % interval of both errors."""
        return difference(self.counted, self.measured)

    @property
    def is_within_error(self) -> bool:
        return self.difference.low <= 0 <= self.difference.high


@dataclass(frozen=True)
class ShareAgreement:
    """One share over all counted photos; what could not be had is None with a sentence in ``reasons``.

    ``counting_spread`` is the standard deviation that counting alone makes, ``spread_left`` that of the differences
    with it taken off, ``lower_left`` and ``upper_left`` the limits of agreement with it taken off. All are fractions.
    """

    name: str
    photos: int
    within_error: int
    bias: Estimate | None = None
    spread: float | None = None
    lower: Estimate | None = None
    upper: Estimate | None = None
    counting_spread: float | None = None
    spread_left: Estimate | None = None
    lower_left: Estimate | None = None
    upper_left: Estimate | None = None
    reasons: dict[str, str] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        estimates = ("bias", "lower", "upper", "spread_left", "lower_left", "upper_left")
        shown = {name: getattr(self, name) for name in estimates}
        return {
            "name": self.name,
            "photos": self.photos,
            "within_error": self.within_error,
            "spread": self.spread,
            "counting_spread": self.counting_spread,
            **{name: estimate.as_dict() if estimate else None for name, estimate in shown.items()},
            "reasons": dict(self.reasons),
        }


def bland_altman_1986(
    differences: Sequence[float], *, confidence: float = CONFIDENCE, multiple: float = LIMITS_MULTIPLE
) -> LimitsOfAgreement:
    """Bias and limits of agreement of paired differences, each with its interval.

    Parameters
    ----------
    differences : one for each photo, at least two; errors of different photos count as independent
    confidence : of the intervals
    multiple : standard deviations from the bias to a limit; the paper itself took 2

    Raises
    ------
    ValueError
        For fewer than two differences.

    References
    ----------
    Bland, J. M. and Altman, D. G. (1986), Statistical methods for assessing agreement between two methods of clinical
    measurement, Lancet i, 307-310. The variance of a limit is about 3 s^2 / n.
    """
    photos = len(differences)
    if photos < 2:
        raise ValueError(f"limits of agreement need two differences, got {photos}")
    bias, spread = fmean(differences), stdev(differences)
    t = float(stdtrit(photos - 1, (1 + confidence) / 2))
    of_bias, of_limit = t * spread / sqrt(photos), t * spread * sqrt(3 / photos)
    return LimitsOfAgreement(
        photos,
        _around(bias, of_bias),
        spread,
        _around(bias - multiple * spread, of_limit),
        _around(bias + multiple * spread, of_limit),
    )


def spread_bonett_2006(differences: Sequence[float], *, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Bounds of a standard deviation that allow for a few photos being far off, as those of chi-squared do not.

    How heavy the tails are is taken from the differences themselves. Over differences drawn from the errors on made
    photos (12 to 40 of them), bounds of 90 % held the truth in 72 to 91 of a hundred, those of chi-squared in 57 to 86;
    drawn from the errors on all kinds of photos together, whose tails are far heavier, in 48 to 81 and in 19 to 61.

    Parameters
    ----------
    differences : at least five; errors of different photos count as independent
    confidence : of the interval

    References
    ----------
    Bonett, D. G. (2006), Approximate confidence interval for standard deviation of nonnormal distributions,
    Computational Statistics and Data Analysis 50, 775-782 (formula from memory).
    """
    photos, spread, z = len(differences), stdev(differences), float(ndtri((1 + confidence) / 2))
    if spread == 0:
        return 0.0, 0.0
    cut = int(photos / (2 * sqrt(photos - 4)))
    cut = min(cut, (photos - 1) // 2)
    middle = fmean(sorted(differences)[cut : photos - cut])
    about_middle = fsum((one - middle) ** 4 for one in differences)
    kurtosis = photos * about_middle / ((photos - 1) * spread**2) ** 2
    few = photos / (photos - z)
    error = few * sqrt(max(0.0, (kurtosis - (photos - 3) / photos) / (photos - 1)))
    low, high = (sqrt(few * spread**2 * exp(sign * z * error)) for sign in (-1, 1))
    return low, high


def spread_without_counting(differences: Sequence[float], counting_variance: float) -> Estimate:
    """The standard deviation of the differences with the counting's own variance taken off, and its 90 % interval.

    The counting's own is taken as known, since it is the mean over many points. All are held at 0 from below.
    """
    found = stdev(differences), *spread_bonett_2006(differences)
    return Estimate(*(sqrt(max(0.0, spread**2 - counting_variance)) for spread in found))


def share_agreement(name: str, compared: Sequence[ComparedShare]) -> ShareAgreement:
    """Bias and spread of one share over the photos, each counting as one."""
    photos = len(compared)
    within = sum(one.is_within_error for one in compared)
    if photos < LEAST_FOR_BIAS:
        reason = f"{_photos(photos)} counted; a bias takes {LEAST_FOR_BIAS}, limits of agreement {LEAST_FOR_LIMITS}"
        return ShareAgreement(name, photos, within, reasons={"bias": reason, "limits": reason})
    differences = [one.difference.value for one in compared]
    found = bland_altman_1986(differences)
    if photos < LEAST_FOR_LIMITS:
        reason = f"{_photos(photos)} counted; limits of agreement take {LEAST_FOR_LIMITS}"
        return ShareAgreement(name, photos, within, found.bias, reasons={"limits": reason})
    variance = fmean(one.counting_variance for one in compared)
    left = spread_without_counting(differences, variance)
    return ShareAgreement(
        name,
        photos,
        within,
        found.bias,
        found.spread,
        found.lower,
        found.upper,
        sqrt(variance),
        left,
        _limit(found.bias, left, -LIMITS_MULTIPLE),
        _limit(found.bias, left, LIMITS_MULTIPLE),
    )


def _limit(bias: Estimate, spread: Estimate, multiple: float) -> Estimate:
    """Bias and a multiple of the spread together, the distances to their bounds added in quadrature.

    Zou, G. Y. (2013), Confidence interval estimation for the Bland-Altman limits of agreement with multiple
    observations per individual, Statistical Methods in Medical Research 22, 630-642.
    """
    steps = sorted(multiple * bound for bound in (spread.low, spread.high))
    middle = multiple * spread.value
    value = bias.value + middle
    return Estimate(
        value, value - hypot(bias.value - bias.low, middle - steps[0]),
        value + hypot(bias.high - bias.value, steps[1] - middle),
    )  # fmt: skip


def _photos(count: int) -> str:
    return "no photo is" if count == 0 else f"only {count} photo is" if count == 1 else f"only {count} photos are"


def _around(value: float, half: float) -> Estimate:
    return Estimate(value, value - half, value + half)
