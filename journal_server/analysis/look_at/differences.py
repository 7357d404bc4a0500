"""How far two measured numbers of one planting differ, and whether that is more than measuring error."""

from __future__ import annotations

from math import sqrt

from journal_server.analysis.series import SHARED_VARIANCE
from journal_server.measurement.result import Estimate


def change(earlier: Estimate, later: Estimate) -> Estimate:
    """Later minus earlier, with its 90 % interval.

    The half-widths of the two photos are taken as multiples of their standard errors. Photos of one planting by one
    method share part of their error (the same leaves are taken for something else each time), and a shared error goes
    out of the difference as far as it is of the same size on both: with half of each variance shared
    (`series.SHARED_VARIANCE`, an assumption) a difference of two photos with half-widths a and b has the half-width
    ``sqrt((a^2 + b^2) / 2 + (a - b)^2 / 2)``. Where the photos of one planting scatter less than that, as they do on
    made scenes, the interval is too wide and the verdict careful.

    Parameters
    ----------
    earlier, later : two estimates in the same unit

    Returns
    -------
    Estimate, which may be negative and is not cut at any bound
    """
    value = later.value - earlier.value
    below = _joined(later.value - later.low, earlier.high - earlier.value)
    above = _joined(later.high - later.value, earlier.value - earlier.low)
    return Estimate(value, value - below, value + above)


def _joined(a: float, b: float) -> float:
    return sqrt((1 - SHARED_VARIANCE) * (a * a + b * b) + SHARED_VARIANCE * (a - b) ** 2)


def fell(earlier: Estimate, later: Estimate) -> bool:
    """Whether the later number is lower by more than measuring error."""
    return change(earlier, later).high < 0


def rose(earlier: Estimate, later: Estimate) -> bool:
    """Whether the later number is higher by more than measuring error."""
    return change(earlier, later).low > 0
