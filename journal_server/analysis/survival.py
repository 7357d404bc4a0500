"""Plants living of plants planted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from journal_server.analysis.wilson import wilson
from journal_server.measurement.result import Estimate

GIVEN_UP_DAYS = 60
"""A planting removed sooner than this was given up; a season is four to six months (common practice, no source)."""

LIFTED, COUNTED_AGAIN = "lifted for elsewhere", "counted again"


@dataclass(frozen=True)
class PlantCount:
    """How many plants stood on a day, and what the change from the count before was."""

    counted_on: date
    plants: int
    reason: str | None = None


@dataclass(frozen=True)
class Survival:
    """``living`` of ``planted`` plants; those lifted for elsewhere count as neither. ``share`` has a Wilson
    interval."""

    planted: int | None = None
    living: int | None = None
    lifted: int = 0
    share: Estimate | None = None
    reason: str | None = None
    counted: bool = False

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        return {
            "planted": self.planted,
            "living": self.living,
            "lifted": self.lifted,
            "share": self.share.as_dict() if self.share else None,
            "reason": self.reason,
            "counted": self.counted,
        }


def survival(set_out: int | None, counts: Sequence[PlantCount]) -> Survival:
    """Survival of one planting from the number set out and the counts since.

    A count that corrects an earlier one ("counted again") changes what was planted and not what died; a fall without
    a reason counts as died.
    """
    if set_out is None:
        return Survival(reason="how many were planted is not said")
    planted = standing = set_out
    lifted = 0
    for count in sorted(counts, key=lambda one: one.counted_on):
        change = count.plants - standing
        if count.reason == LIFTED and change < 0:
            lifted -= change
        elif count.reason == COUNTED_AGAIN or change > 0:
            planted += change
        standing = count.plants
    return replace(_of(planted, standing, lifted), counted=bool(counts))


def together(several: Sequence[Survival]) -> Survival:
    """Survival over several plantings; those whose number is not known are left out and said."""
    known = [
        (one.planted, one.living, one.lifted) for one in several if one.planted is not None and one.living is not None
    ]
    if not known:
        return Survival(reason="how many were planted is not said")
    left_out = len(several) - len(known)
    reason = f"without {left_out} of {len(several)} plantings, whose number is not said" if left_out else None
    planted, living, lifted = (sum(column) for column in zip(*known, strict=True))
    whole = _of(planted, living, lifted)
    return replace(whole, reason=whole.reason or reason, counted=any(one.counted for one in several))


def _of(planted: int, living: int, lifted: int) -> Survival:
    stayed = planted - lifted
    if stayed <= 0:
        return Survival(planted, living, lifted, reason="all were lifted for elsewhere")
    return Survival(planted, living, lifted, wilson(min(living, stayed), stayed))
