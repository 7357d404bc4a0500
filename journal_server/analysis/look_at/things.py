"""What the rules are given, and what they answer."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from journal_server.analysis.differences import difference
from journal_server.analysis.look_at.fades import SureFade, sure_fades
from journal_server.analysis.series import PlantingSeason, SeasonPoint, points_by_day
from journal_server.analysis.weather import HEAT_THRESHOLD_C, DayWeather
from journal_server.domain.units import METRIC, Units
from journal_server.measurement.result import Estimate

SHARE, DAYS, DE00 = "share", "days", "CIEDE2000"

#: A change seen on a photo older than this is no news for today's walk.
STALE_DAYS = 21
#: Measured dates this close together count as the same date of two plantings.
SAME_DATE_DAYS = 4
#: The care that the rules weigh; other care need not be given.
EXPLAINING_CARE = ("trimmed", "deadheaded")
#: Plantings set out within so many days of each other are of one age.
SAME_AGE_DAYS = 10


@dataclass(frozen=True)
class Evidence:
    """One number behind a thing to look at, with its 90 % interval where it was measured, its day and its photos."""

    words: str
    value: float
    unit: str
    on: date | None = None
    low: float | None = None
    high: float | None = None
    photo_ids: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        return {
            "words": self.words,
            "value": self.value,
            "low": self.low,
            "high": self.high,
            "unit": self.unit,
            "on": self.on.isoformat() if self.on else None,
            "photos": list(self.photo_ids),
        }


@dataclass(frozen=True)
class LookAt:
    """One thing to look at.

    ``day`` is the day of the newest evidence, so that an answer to it holds until there is newer evidence. ``others``
    are other explanations, those that the records speak for first; ``caution`` is said beside any action.
    """

    rule: str
    planting_id: str
    day: date
    sentence: str
    evidence: tuple[Evidence, ...] = ()
    others: tuple[str, ...] = ()
    caution: str | None = None

    def as_dict(self) -> dict[str, Any]:
        return {
            "rule": self.rule,
            "planting_id": self.planting_id,
            "day": self.day.isoformat(),
            "sentence": self.sentence,
            "evidence": [one.as_dict() for one in self.evidence],
            "others": list(self.others),
            "caution": self.caution,
        }


@dataclass(frozen=True)
class PhotoSeen:
    """A photo of a planting, measured or not."""

    photo_id: str
    taken_on: date
    card_read: bool


@dataclass(frozen=True)
class CareDone:
    """Care of a planting that explains what is seen (`EXPLAINING_CARE`), of a whole trial for each of it."""

    done_on: date
    action: str


@dataclass(frozen=True)
class CareOverdue:
    """Planned care that was due before the day looked at and has not been done."""

    action: str
    due_on: date
    product: str | None = None


@dataclass(frozen=True)
class PlantsCounted:
    """The number of living plants from a day on."""

    counted_on: date
    plants: int
    reason: str | None = None


@dataclass(frozen=True)
class StandingPlanting:
    """A planting with everything that the rules weigh. ``in_a_row``: its slots are its plants, side by side."""

    season: PlantingSeason
    cultivar_id: str = ""
    full_sun: bool = False
    in_a_row: bool = True
    slots_from_top: bool = False
    has_card: bool = True
    identity_doubtful: bool = False
    label_said: str | None = None
    looks_like: str | None = None
    photos: tuple[PhotoSeen, ...] = ()
    care: tuple[CareDone, ...] = ()
    overdue: tuple[CareOverdue, ...] = ()
    counts: tuple[PlantsCounted, ...] = ()

    @property
    def id(self) -> str:
        return self.season.planting_id

    @cached_property
    def days(self) -> tuple[SeasonPoint, ...]:
        """One point a day, in order of date."""
        return points_by_day(self.season)

    @cached_property
    def blooms(self) -> tuple[tuple[SeasonPoint, Estimate], ...]:
        return tuple((p, p.bloom_cover) for p in self.days if p.bloom_cover is not None)

    @cached_property
    def fills(self) -> tuple[tuple[SeasonPoint, Estimate], ...]:
        return tuple((p, p.canopy_fill) for p in self.days if p.canopy_fill is not None)

    def cared_for(self, actions: Sequence[str], after: date, until: date) -> CareDone | None:
        """The last care of these actions after one day and up to another."""
        done = [c for c in self.care if c.action in actions and after < c.done_on <= until]
        return max(done, key=lambda c: c.done_on) if done else None


@dataclass(frozen=True)
class TrialDay:
    """All plantings of a trial as known on one day, in walking order, with the weather, one entry a day.

    ``units`` are those that the person reads.
    """

    day: date
    plantings: tuple[StandingPlanting, ...]
    weather: tuple[DayWeather, ...] = ()
    heat_day_c: float = HEAT_THRESHOLD_C
    units: Units = METRIC

    @cached_property
    def fades(self) -> dict[str, SureFade]:
        """The fade of each planting on its sure dates."""
        return sure_fades({planting.id: planting.days for planting in self.plantings})

    def mates_of(self, planting: StandingPlanting) -> tuple[StandingPlanting, ...]:
        """The other plantings of the trial, those of the same genus first."""
        others = [other for other in self.plantings if other.id != planting.id]
        return tuple(sorted(others, key=lambda other: other.season.genus != planting.season.genus))

    def heat_days(self, first: date, last: date) -> list[DayWeather]:
        """Measured days of heat from ``first`` to ``last``, both included, none of them to come."""
        return [w for w in self._hot() if first <= w.day <= min(last, self.day) and not w.forecast]

    def heat_ahead(self, last: date) -> list[DayWeather]:
        """Days of heat after the trial's day up to ``last``: on that day they were a forecast."""
        return [w for w in self._hot() if self.day < w.day <= last]

    def _hot(self) -> list[DayWeather]:
        return [w for w in self.weather if w.tmax_c is not None and w.tmax_c >= self.heat_day_c]


#: A rule: the planting, its trial on that day, and the rule's setting in; a thing to look at or nothing out.
Judge = Callable[[StandingPlanting, TrialDay, float], LookAt | None]


def known_on(planting: StandingPlanting, day: date) -> StandingPlanting:
    """The planting with nothing in it that happened after ``day``."""
    season = planting.season
    if all(p.taken_on <= day for p in season.points) and all(p.taken_on <= day for p in planting.photos):
        points, photos = season.points, planting.photos
    else:
        points = tuple(p for p in season.points if p.taken_on <= day)
        photos = tuple(p for p in planting.photos if p.taken_on <= day)
    return replace(
        planting,
        season=replace(season, points=points),
        photos=photos,
        care=tuple(c for c in planting.care if c.done_on <= day),
        overdue=tuple(c for c in planting.overdue if c.due_on < day),
        counts=tuple(c for c in planting.counts if c.counted_on <= day),
    )


def stands_on(planting: StandingPlanting, day: date) -> bool:
    removed = planting.season.removed_on
    return planting.season.planted_on <= day and (removed is None or day <= removed)


def is_news(point: SeasonPoint, day: date) -> bool:
    """Whether a measured date is recent enough to send somebody to look."""
    return day - point.taken_on <= timedelta(days=STALE_DAYS)


def fell(earlier: Estimate, later: Estimate) -> bool:
    """Whether the later number is lower by more than measuring error, that of both photos (see `difference`)."""
    return difference(earlier, later).high < 0


def measured(words: str, point: SeasonPoint, estimate: Estimate, unit: str = SHARE) -> Evidence:
    return Evidence(words, estimate.value, unit, point.taken_on, estimate.low, estimate.high, point.photo_ids)


def percent(share: float) -> str:
    """'33 %', and 'under 1 %' where rounding would say none."""
    return "under 1 %" if 0 < share < 0.005 else f"{round(100 * share)} %"


def nearest_on(
    dated: Sequence[tuple[SeasonPoint, Estimate]], day: date, within_days: int = SAME_DATE_DAYS
) -> tuple[SeasonPoint, Estimate] | None:
    """The date nearest to ``day`` of measured dates in order, if it is no farther than ``within_days``."""
    at = bisect_left(dated, day, key=lambda one: one[0].taken_on)
    beside = dated[max(0, at - 1) : at + 1]
    if not beside:
        return None
    nearest = min(beside, key=lambda one: abs((one[0].taken_on - day).days))
    return nearest if abs((nearest[0].taken_on - day).days) <= within_days else None


def same_age(one: StandingPlanting, other: StandingPlanting) -> bool:
    return abs((one.season.planted_on - other.season.planted_on).days) <= SAME_AGE_DAYS
