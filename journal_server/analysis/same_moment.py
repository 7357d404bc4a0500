"""The value of one number of a planting on a day between two measured ones, never beyond them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import hypot

from journal_server.analysis.series import SHARE_WORDS, PlantingSeason, SeasonPoint, points_by_day
from journal_server.domain.dates import day_words
from journal_server.measurement.result import Estimate

#: A planting does not change along straight lines. Halfway between two dates the half-width grows by the root of the
#: squares of a fixed part and a part of the change between them. Of the sample season's exact dates, left out in
#: turn, nine of ten lie inside (canopy fill 96 %, bloom cover 79 %, spent share 96 %); the dates around them lie
#: twice as far apart as usual.
STRAIGHT_LINE_DOUBT = (0.03, 0.5)


@dataclass(frozen=True)
class Moment:
    """When plantings are compared: so many days after planting, or on one date. Exactly one is given."""

    days_after_planting: int | None = None
    on: date | None = None

    def __post_init__(self) -> None:
        if (self.days_after_planting is None) == (self.on is None):
            raise ValueError(f"a moment is days after planting or a date, got {self!r}")

    def day_of(self, season: PlantingSeason) -> date:
        """The calendar day of this moment for one planting."""
        return self.on or season.planted_on + timedelta(days=self.days_after_planting or 0)


@dataclass(frozen=True)
class ValueThen:
    """The number then, or None with a ``reason``."""

    estimate: Estimate | None = None
    reason: str | None = None


def value_then(season: PlantingSeason, name: str, moment: Moment, *, gap_days: int) -> ValueThen:
    """One number of a planting at a moment, along a straight line between the measured days around it.

    Parameters
    ----------
    name : one of `SHARE_WORDS`
    gap_days : days further apart than this are not joined

    Returns
    -------
    ValueThen; the interval is no narrower than those of the two days, and wider between them by
    `STRAIGHT_LINE_DOUBT`
    """
    day, measured = moment.day_of(season), _measured(season, name)
    if not measured:
        return ValueThen(reason=f"{SHARE_WORDS[name]} was not measured on any photo")
    first, last = measured[0][0].taken_on, measured[-1][0].taken_on
    if day < first:
        return ValueThen(reason=f"not measured before {day_words(first)}")
    if day > last:
        return ValueThen(reason=f"not measured after {day_words(last)}")
    before = max((pair for pair in measured if pair[0].taken_on <= day), key=lambda pair: pair[0].taken_on)
    after = min((pair for pair in measured if pair[0].taken_on >= day), key=lambda pair: pair[0].taken_on)
    start, end = before[0].taken_on, after[0].taken_on
    if (end - start).days > gap_days:
        return ValueThen(reason=f"not measured between {day_words(start)} and {day_words(end)}")
    share = (day - start).days / (end - start).days if end > start else 0.0
    return ValueThen(_between(before[1], after[1], share))


def _measured(season: PlantingSeason, name: str) -> list[tuple[SeasonPoint, Estimate]]:
    pairs = [(point, getattr(point, name)) for point in points_by_day(season)]
    return [(point, estimate) for point, estimate in pairs if estimate is not None]


def _between(before: Estimate, after: Estimate, share: float) -> Estimate:
    value = before.value + share * (after.value - before.value)
    bend = (
        4 * share * (1 - share) * hypot(STRAIGHT_LINE_DOUBT[0], STRAIGHT_LINE_DOUBT[1] * (after.value - before.value))
    )
    below = hypot((1 - share) * (before.value - before.low) + share * (after.value - after.low), bend)
    above = hypot((1 - share) * (before.high - before.value) + share * (after.high - after.value), bend)
    return Estimate(value, max(0.0, value - below), value + above)
