"""Bland and Altman's limits against the numbers of their paper; the counting's own error against simulation."""

from __future__ import annotations

from math import sqrt
from statistics import fmean, stdev

import numpy as np
import pytest
from scipy.special import chdtri

from journal_server.analysis.agreement import (
    LEAST_FOR_BIAS,
    LEAST_FOR_LIMITS,
    ComparedShare,
    bland_altman_1986,
    share_agreement,
    spread_bonett_2006,
    spread_without_counting,
)
from journal_server.analysis.point_count import PointTally, counted_share, counting_variance
from journal_server.measurement.result import Estimate

# Peak expiratory flow, l/min, first readings of 17 people: Bland and Altman (1986), Lancet i, 307-310 (from memory;
# that they give the paper's own mean and standard deviation speaks for them).
LARGE_METER = (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
MINI_METER = (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)
FLOW = [large - mini for large, mini in zip(LARGE_METER, MINI_METER, strict=True)]


def test_bias_and_limits_as_published() -> None:
    """Mean -2.1, SD 38.8, limits (two SD) -79.7 and 75.5 l/min in the paper, which went on with rounded numbers."""
    found = bland_altman_1986(FLOW, confidence=0.95, multiple=2)
    assert (round(found.bias.value, 1), round(found.spread, 1)) == (-2.1, 38.8)
    assert (found.lower.value, found.upper.value) == pytest.approx((-79.7, 75.5), abs=0.1)


def test_intervals_of_bias_and_limits_as_published() -> None:
    """95 %: bias -22.0 to 17.8, limits -114.3 to -45.1 and 40.9 to 110.1 l/min (the paper, from memory)."""
    found = bland_altman_1986(FLOW, confidence=0.95, multiple=2)
    assert (found.bias.low, found.bias.high) == pytest.approx((-22.0, 17.8), abs=0.06)
    assert (found.lower.low, found.lower.high) == pytest.approx((-114.3, -45.1), abs=0.25)
    assert (found.upper.low, found.upper.high) == pytest.approx((40.9, 110.1), abs=0.25)
    broken = bland_altman_1986(FLOW, confidence=0.96, multiple=2)
    assert broken.bias.low != pytest.approx(-22.0, abs=0.06)


def test_one_difference_has_no_limits() -> None:
    with pytest.raises(ValueError, match="two differences"):
        bland_altman_1986([0.1])


def _compared(random: np.random.Generator, photos: int, points: int, bias: float, spread: float) -> list[ComparedShare]:
    """Photos whose fill the method reads with that bias and spread, and a person counts at so many points."""
    made = []
    for at in range(photos):
        truth = float(random.uniform(0.2, 0.8))
        hits = int(random.binomial(points, truth))
        tally = PointTally(foliage=hits, other=points - hits)
        counted, _ = counted_share(tally, "canopy_fill")
        assert counted is not None
        read = truth + bias + float(random.normal(0, spread))
        measured = Estimate(read, read - 1.645 * spread, read + 1.645 * spread)
        made.append(ComparedShare(str(at), counted, measured, counting_variance(tally, "canopy_fill")))
    return made


def test_the_spread_is_told_apart_into_the_countings_own_and_the_rest() -> None:
    """100 points at a share of a half err by 0.05 alone; the method here by 0.03."""
    found = share_agreement("canopy_fill", _compared(np.random.default_rng(1), 400, 100, 0.02, 0.03))
    assert found.bias is not None and found.spread is not None and found.spread_left is not None  # noqa: PT018
    assert found.bias.low < 0.02 < found.bias.high
    assert found.counting_spread == pytest.approx(0.045, abs=0.004)
    assert found.spread == pytest.approx(sqrt(0.045**2 + 0.03**2), abs=0.004)
    assert found.spread_left.low < 0.03 < found.spread_left.high
    assert found.spread_left.high - found.spread_left.low < 0.015
    assert found.upper_left is not None and found.upper is not None  # noqa: PT018
    assert found.upper_left.value == pytest.approx(0.02 + 1.96 * 0.03, abs=0.012)
    assert found.upper.value > found.upper_left.value


def test_intervals_hold_the_truth_nine_times_in_ten() -> None:
    random, bias, spread = np.random.default_rng(2), -0.01, 0.04
    held = {"bias": 0, "spread_left": 0, "upper_left": 0, "upper": 0}
    truths = {"bias": bias, "spread_left": spread, "upper_left": bias + 1.96 * spread}
    counting = fmean(p * (1 - p) / 100 for p in np.linspace(0.2, 0.8, 601))
    truths["upper"] = bias + 1.96 * sqrt(spread**2 + counting)
    times = 400
    for _ in range(times):
        found = share_agreement("canopy_fill", _compared(random, 20, 100, bias, spread))
        for name, truth in truths.items():
            interval = getattr(found, name)
            held[name] += interval.low <= truth <= interval.high
    for name, count in held.items():
        assert 0.85 < count / times <= 0.96, name


def test_the_interval_of_a_spread_holds_it_where_a_few_photos_are_far_off() -> None:
    """The Laplace distribution, whose kurtosis is 6 and whose variance is 2; no interval is quite right there."""
    random, photos, times, held, chi_squared_held = np.random.default_rng(5), 20, 1000, 0, 0
    truth = sqrt(2)
    for _ in range(times):
        drawn = random.laplace(size=photos)
        low, high = spread_bonett_2006(drawn.tolist())
        held += low <= truth <= high
        narrow = [sqrt((photos - 1) * drawn.var(ddof=1) / chdtri(photos - 1, p)) for p in (0.05, 0.95)]
        chi_squared_held += narrow[0] <= truth <= narrow[1]
    assert held / times > 0.82
    assert chi_squared_held / times < 0.78


def test_differences_that_are_all_the_same_have_no_spread() -> None:
    assert spread_bonett_2006([0.25] * 6) == (0.0, 0.0)


def test_most_photos_are_within_error_where_the_intervals_are_right() -> None:
    compared = _compared(np.random.default_rng(3), 600, 100, 0.0, 0.03)
    assert 0.86 < share_agreement("canopy_fill", compared).within_error / 600 < 0.95
    wrong = _compared(np.random.default_rng(3), 200, 100, 0.2, 0.03)
    assert share_agreement("canopy_fill", wrong).within_error < 20


def test_a_spread_that_the_counting_explains_leaves_nothing_for_the_method() -> None:
    left = spread_without_counting(
        [0.04 * step for step in (-1.5, -1, -1, -0.5, -0.5, 0, 0, 0.5, 0.5, 1, 1, 1.5)], 0.05**2
    )
    assert left.value == left.low == 0
    assert 0 < left.high < 0.05


@pytest.mark.parametrize("photos", range(LEAST_FOR_LIMITS + 1))
def test_few_photos_get_reasons_instead_of_numbers(photos: int) -> None:
    compared = _compared(np.random.default_rng(4), photos, 100, 0.0, 0.03)
    found = share_agreement("canopy_fill", compared)
    assert (found.bias is None) == (photos < LEAST_FOR_BIAS) == ("bias" in found.reasons)
    for number in (found.lower, found.upper, found.spread_left, found.lower_left):
        assert (number is None) == (photos < LEAST_FOR_LIMITS)
    assert ("limits" in found.reasons) == (photos < LEAST_FOR_LIMITS)
    if photos == 1:
        assert found.reasons["bias"].startswith("only 1 photo is counted")
    assert found.as_dict()["photos"] == photos
    if found.spread is not None:
        assert found.spread == stdev(one.difference.value for one in compared)
