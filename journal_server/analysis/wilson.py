"""A share of counted things with its interval."""

from __future__ import annotations

from math import sqrt

from journal_server.analysis.series import Z_90
from journal_server.measurement.result import Estimate


def wilson(successes: int, trials: int, z: float = Z_90) -> Estimate:
    """Share of successes with Wilson's score interval (1927), 90 % unless ``z`` says otherwise.

    Raises ValueError unless 0 <= successes <= trials and trials > 0.

    References
    ----------
    Newcombe, R. G. (1998), Two-sided confidence intervals for the single proportion, Statistics in Medicine 17,
    857-872.
    """
    if not 0 <= successes <= trials or trials == 0:
        raise ValueError(f"need 0 <= successes <= trials and trials > 0, got {successes} of {trials}")
    share = successes / trials
    middle = (share + z * z / (2 * trials)) / (1 + z * z / trials)
    half = z * sqrt(share * (1 - share) / trials + z * z / (4 * trials * trials)) / (1 + z * z / trials)
    return Estimate(share, min(share, max(0.0, middle - half)), max(share, min(1.0, middle + half)))
