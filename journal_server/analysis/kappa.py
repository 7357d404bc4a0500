"""How far two judges of the same things agree beyond what chance would give: Cohen's kappa."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np
from scipy.special import stdtrit

from journal_server.analysis.series import Z_90
from journal_server.measurement.result import Estimate

Table = Sequence[Sequence[int]]

#: From so many photos on, the interval rests on how much kappa varies from photo to photo.
LEAST_PHOTOS = 5


@dataclass(frozen=True)
class Kappa:
    """``estimate`` is 1 for full agreement and 0 for what chance gives; ``alike`` is the plain share judged alike."""

    estimate: Estimate
    standard_error: float
    alike: float
    points: int
    photos: int = 1

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        return {
            "estimate": self.estimate.as_dict(),
            "standard_error": self.standard_error,
            "alike": self.alike,
            "points": self.points,
            "photos": self.photos,
        }


def cohen_kappa_1960(table: Table) -> Kappa | None:
    """Kappa of a square table of counts with its large-sample standard error and 90 % interval.

    Returns
    -------
    None where kappa is undefined: nothing was judged, or both judges put everything into one class.

    Raises
    ------
    ValueError
        If the table is not square or holds a negative count.

    References
    ----------
    Cohen, J. (1960), A coefficient of agreement for nominal scales, Educational and Psychological Measurement 20,
    37-46.
    Fleiss, J. L., Cohen, J. and Everitt, B. S. (1969), Large sample standard errors of kappa and weighted kappa,
    Psychological Bulletin 72, 323-327: the standard error, which replaces that of 1960.
    """
    counts = _checked(table)
    points = int(counts.sum())
    found = _kappa_of(counts)
    if found is None:
        return None
    shares = counts / points
    rows, columns = shares.sum(axis=1), shares.sum(axis=0)
    by_chance = float(rows @ columns)
    diagonal = np.diag(shares)
    on = float((diagonal * (1 - (rows + columns) * (1 - found)) ** 2).sum())
    beside = shares * (columns[:, None] + rows[None, :]) ** 2
    off = (1 - found) ** 2 * float(beside.sum() - np.diag(beside).sum())
    rest = (found - by_chance * (1 - found)) ** 2
    error = sqrt(max(0.0, on + off - rest) / points) / (1 - by_chance)
    return Kappa(_interval(found, Z_90 * error), error, float(diagonal.sum()), points)


def kappa_over_photos(tables: Sequence[Table]) -> Kappa | None:
    """Kappa of the points of several photos together.

    Points of one photo share its light, its plants and its difficulties. From five photos on the standard error is
    therefore that of leaving out one photo after the other (the jackknife), with Student's t; of fewer photos the
    points count as independent, which is too sure of itself.

    Returns
    -------
    None where kappa is undefined.

    References
    ----------
    Tukey, J. W. (1958), Bias and confidence in not quite large samples, Annals of Mathematical Statistics 29, 614.
    """
    if not tables:
        return None
    each = [_checked(table) for table in tables]
    whole = cohen_kappa_1960(sum(each[1:], start=each[0]).tolist())
    if whole is None:
        return None
    without = [_kappa_of(sum(each, start=np.zeros_like(each[0])) - one) for one in each]
    known = [value for value in without if value is not None]
    photos = len(each)
    if photos < LEAST_PHOTOS or len(known) < photos:
        return Kappa(whole.estimate, whole.standard_error, whole.alike, whole.points, photos)
    spread = float(((np.array(known) - np.mean(known)) ** 2).sum())
    error = sqrt((photos - 1) / photos * spread)
    half = float(stdtrit(photos - 1, 0.95)) * error
    return Kappa(_interval(whole.estimate.value, half), error, whole.alike, whole.points, photos)


def _checked(table: Table) -> np.ndarray[Any, np.dtype[np.int64]]:
    counts = np.asarray(table, np.int64)
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1] or (counts < 0).any():
        raise ValueError(f"kappa needs a square table of counts, got {np.asarray(table).tolist()}")
    return counts


def _kappa_of(counts: np.ndarray[Any, np.dtype[np.int64]]) -> float | None:
    points = int(counts.sum())
    if points == 0:
        return None
    alike = int(np.trace(counts)) / points
    by_chance = float(counts.sum(axis=1) @ counts.sum(axis=0)) / points**2
    return None if by_chance >= 1 else (alike - by_chance) / (1 - by_chance)


def _interval(value: float, half: float) -> Estimate:
    return Estimate(value, max(-1.0, value - half), min(1.0, value + half))
