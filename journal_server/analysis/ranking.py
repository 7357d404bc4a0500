"""Ranks with intervals: what is ahead for sure, and what is tied."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import hypot, inf, sqrt
from typing import Any

import numpy as np
from scipy.special import stdtrit
from scipy.stats import studentized_range

from journal_server.analysis.differences import difference
from journal_server.analysis.series import Z_90
from journal_server.measurement.result import Estimate


@dataclass(frozen=True)
class Contender:
    """One of those compared: its value, from ``plantings`` plantings, with their ids where they are told."""

    key: str
    estimate: Estimate
    plantings: int = 1
    planting_ids: tuple[str, ...] = ()


@dataclass(frozen=True)
class Rank:
    """Where a contender stands. With 90 % for all ranks at once the true rank lies from ``best`` to ``worst``.

    ``against_standard`` is its difference from the standard with an interval that holds for all comparisons at once;
    None for the standard itself and where there is none.
    """

    contender: Contender
    best: int
    worst: int
    tied_with: tuple[str, ...]
    against_standard: Estimate | None = None

    @property
    def words(self) -> str:
        return str(self.best) if self.best == self.worst else f"{self.best}–{self.worst}"

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        return {
            "key": self.contender.key,
            "estimate": self.contender.estimate.as_dict(),
            "plantings": self.contender.plantings,
            "rank": self.words,
            "best": self.best,
            "worst": self.worst,
            "tied": len(self.tied_with),
            "against_standard": self.against_standard.as_dict() if self.against_standard else None,
        }


def rank(
    contenders: Sequence[Contender], *, highest_first: bool = True, standard: str | None = None, most: float = inf
) -> list[Rank]:
    """Contenders in order of value, each with the ranks it may really have.

    Two contenders differ where they lie further apart than Tukey's honestly significant difference at 90 % for all
    pairs at once; the rank of one runs from one more than the number surely ahead of it to the number not surely
    behind it.

    Parameters
    ----------
    contenders : with different keys
    standard : key of the one that the others are also held against
    most : the highest value that there can be (1 for shares), which no two are further apart than

    References
    ----------
    Al Mohamad, D., Goeman, J. J. and van Zwet, E. W. (2022), Simultaneous confidence intervals for ranks with
    application to ranking institutions, Biometrics 78, 238-247. Kramer, C. Y. (1956), Extension of multiple range
    tests to group means with unequal numbers of replications, Biometrics 12, 307-310.
    """
    sign = 1 if highest_first else -1
    ordered = sorted(contenders, key=lambda one: (-sign * one.estimate.value, one.key))
    reach = simultaneous_factor(len(ordered))
    held = next((one for one in ordered if one.key == standard), None)
    return [_rank(one, ordered, reach, held, highest_first, most) for one in ordered]


def simultaneous_factor(count: int) -> float:
    """By how much the half-width of one 90 % difference grows so that those of all pairs of ``count`` hold at once."""
    return 1.0 if count < 3 else _studentized_range_90(count) / sqrt(2) / Z_90


@lru_cache
def _studentized_range_90(count: int) -> float:
    return float(studentized_range.ppf(0.90, count, inf))


def group_estimate(values: Sequence[Estimate], most: float = inf) -> Estimate:
    """The mean of several plantings of one cultivar, with the 90 % interval of Student (1908) over the plantings.

    Their spread holds both measuring error and what places do, so that repeats in other places are what makes
    the interval honest; it is never narrower than the measuring error of the mean. One planting keeps its own interval.
    ``most`` is the highest value that there can be: 1 for shares.

    Raises ValueError without values.
    """
    if not values:
        raise ValueError("a group needs at least one value")
    if len(values) == 1:
        return values[0]
    each = np.array([one.value for one in values])
    mean, count = float(each.mean()), len(values)
    between = float(stdtrit(count - 1, 0.95)) * float(each.std(ddof=1)) / sqrt(count)
    below = max(between, hypot(*(one.value - one.low for one in values)) / count)
    above = max(between, hypot(*(one.high - one.value for one in values)) / count)
    return Estimate(mean, max(0.0, mean - below), min(most, mean + above))


def _rank(
    one: Contender, ordered: Sequence[Contender], reach: float, held: Contender | None, highest_first: bool, most: float
) -> Rank:
    others = [other for other in ordered if other is not one]
    over = [other for other in others if _surely_over(other, one, reach)]
    under = [other for other in others if _surely_over(one, other, reach)]
    ahead, behind = (over, under) if highest_first else (under, over)
    decided = {other.key for other in (*ahead, *behind)}
    against = None if held is None or held is one else _apart(held, one, reach, most)
    return Rank(
        contender=one,
        best=1 + len(ahead),
        worst=len(ordered) - len(behind),
        tied_with=tuple(other.key for other in others if other.key not in decided),
        against_standard=against,
    )


def _apart(held: Contender, one: Contender, reach: float, most: float) -> Estimate:
    change = difference(held.estimate, one.estimate, widened=reach)
    return Estimate(change.value, max(-most, change.low), min(most, change.high))


def _surely_over(high: Contender, low: Contender, reach: float) -> bool:
    return difference(low.estimate, high.estimate, widened=reach).low > 0
