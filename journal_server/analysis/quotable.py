"""Every measured number of one planting that a review may quote: with interval, day, photos and methods, or why not."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from journal_server.analysis.bloom import bloom_season
from journal_server.analysis.fade import REFERENCE_BLOOM_COVER, fade
from journal_server.analysis.genus_growth import fills_of
from journal_server.analysis.series import PlantingSeason, SeasonPoint, points_by_day, weeks_after_planting
from journal_server.analysis.survival import Survival
from journal_server.measurement.result import Estimate

SHARE, RATIO, DAYS, WEEKS, DE00, CM, PLANTS = "share", "ratio", "days", "weeks", "CIEDE2000", "cm", "plants"
WEEK, TIMES, POINTS, OF_FIVE, RANK = "week after planting", "times", "share points", "points of 5", "rank"

#: A planting is in flower from the first day with this much bloom cover, above measuring error.
IN_FLOWER_COVER = REFERENCE_BLOOM_COVER

FOR_ITS_LEAVES = "this cultivar is grown for its leaves"

WORDS = {
    "peak": "bloom cover at its peak",
    "season_bloom": "mean bloom cover over the season",
    "weeks_in_bloom": "time with at least half of the peak bloom",
    "first_bloom_week": "week after planting in which it was first seen in flower",
    "bloom_cover_latest": "bloom cover on the last photo",
    "flower_to_leaf_most": "flower to leaf at its highest",
    "days_to_50": "days to half of its full size",
    "days_to_90": "days to nine tenths of its full size",
    "full_size": "canopy fill at its full size",
    "canopy_fill_latest": "canopy fill on the last photo",
    "evenness_latest": "evenness on the last photo",
    "spill_most": "farthest spill below the rim",
    "fade_most": "farthest that the bloom colour has moved",
    "spent_most": "spent share at its highest",
    "survival": "plants living of those planted",
    "plants_living": "plants living",
    "plants_planted": "plants planted",
}
"""What each number is called, by its key."""

OF_BLOOM = (
    "peak", "season_bloom", "weeks_in_bloom", "first_bloom_week", "bloom_cover_latest", "flower_to_leaf_most",
    "fade_most", "spent_most",
)  # fmt: skip
"""Numbers that a cultivar grown for its leaves does not have."""


@dataclass(frozen=True)
class QuotableNumber:
    """One number of one planting; without ``estimate`` there is a ``reason``.

    ``estimate`` holds the 90 % interval; counted numbers are exact, their bounds equal the value. ``at_least`` says
    that the true value may be higher, since what is measured began or goes on outside the photos. ``on`` is the day
    the number was measured on, or the last day that it rests on. ``methods`` are those of the photos behind it.
    """

    key: str
    planting_id: str
    words: str
    unit: str
    estimate: Estimate | None = None
    at_least: bool = False
    on: date | None = None
    photo_ids: tuple[str, ...] = ()
    methods: tuple[str, ...] = ()
    reason: str | None = None

    def __post_init__(self) -> None:
        if (self.estimate is None) == (self.reason is None):
            raise ValueError(f"{self.key}: either an estimate or a reason why there is none")

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict: the estimate as value, low and high; the day in ISO 8601."""
        return {
            "key": self.key,
            "planting_id": self.planting_id,
            "words": self.words,
            "unit": self.unit,
            "estimate": self.estimate.as_dict() if self.estimate else None,
            "at_least": self.at_least,
            "on": self.on.isoformat() if self.on else None,
            "photo_ids": list(self.photo_ids),
            "methods": list(self.methods),
            "reason": self.reason,
        }


def quotable_numbers(
    season: PlantingSeason,
    methods: Mapping[str, str],
    *,
    survival: Survival | None = None,
    counted_on: date | None = None,
) -> list[QuotableNumber]:
    """All numbers of `WORDS` for one planting, in that order; what is not known is there with its reason.

    Parameters
    ----------
    methods : photo id -> name and version of the method that measured it
    survival : of this planting; ``counted_on`` is the day of the last count

    Returns
    -------
    list of QuotableNumber, one for each key
    """
    quoting = _Quoting(season, methods, points_by_day(season))
    found = [
        *_of_bloom(quoting),
        *_of_growth(quoting),
        *_of_colour(quoting),
        *_of_plants(quoting, survival, counted_on),
    ]
    by_key = {number.key: number for number in found}
    return [by_key[key] for key in WORDS]


@dataclass(frozen=True)
class _Quoting:
    """A planting's season, ready to be quoted."""

    season: PlantingSeason
    methods: Mapping[str, str]
    days: tuple[SeasonPoint, ...] = field(default=())

    def number(
        self,
        key: str,
        unit: str,
        estimate: Estimate | None,
        points: Sequence[SeasonPoint],
        *,
        reason: str = "",
        at_least: bool = False,
    ) -> QuotableNumber:
        """The number called ``key`` from these days; ``reason`` counts where there is no estimate."""
        if self.season.foliage_only and key in OF_BLOOM:
            estimate, reason = None, FOR_ITS_LEAVES
        words, planting_id = WORDS[key], self.season.planting_id
        if estimate is None:
            return QuotableNumber(key, planting_id, words, unit, reason=reason)
        photo_ids = tuple(photo_id for point in points for photo_id in point.photo_ids)
        return QuotableNumber(
            key,
            planting_id,
            words,
            unit,
            estimate,
            at_least,
            points[-1].taken_on if points else None,
            photo_ids,
            tuple(sorted({self.methods[id_] for id_ in photo_ids if id_ in self.methods})),
        )

    def with_share(self, name: str) -> list[SeasonPoint]:
        """Days on which this share was measured."""
        return [point for point in self.days if getattr(point, name) is not None]

    def latest(self, key: str, name: str, unit: str, words: str) -> QuotableNumber:
        known = self.with_share(name)
        return self._of_day(key, name, unit, words, known[-1] if known else None)

    def highest(self, key: str, name: str, unit: str, words: str) -> QuotableNumber:
        by_value: Callable[[SeasonPoint], float] = lambda point: getattr(point, name).value  # noqa: E731
        return self._of_day(key, name, unit, words, max(self.with_share(name), key=by_value, default=None))

    def _of_day(self, key: str, name: str, unit: str, words: str, point: SeasonPoint | None) -> QuotableNumber:
        estimate = getattr(point, name) if point else None
        return self.number(
            key, unit, estimate, [point] if point else [], reason=f"{words} was not measured on any photo"
        )


def _of_bloom(quoting: _Quoting) -> list[QuotableNumber]:
    bloom, shown = bloom_season(quoting.season), quoting.with_share("bloom_cover")
    peak_day = [point for point in shown if point.taken_on == bloom.peak_on]
    span = bloom.in_bloom
    longer = span is not None and (span.began_before or span.goes_on_after)
    reasons = bloom.reasons
    return [
        quoting.number("peak", SHARE, bloom.peak, peak_day, reason=reasons.get("peak", "")),
        quoting.number("season_bloom", SHARE, bloom.season_bloom, shown, reason=reasons.get("season_bloom", "")),
        quoting.number(
            "weeks_in_bloom",
            WEEKS,
            bloom.weeks_in_bloom,
            shown,
            reason=reasons.get("weeks_in_bloom", ""),
            at_least=longer,
        ),
        _first_bloom(quoting, shown),
        quoting.latest("bloom_cover_latest", "bloom_cover", SHARE, "bloom cover"),
        quoting.highest("flower_to_leaf_most", "flower_to_leaf", RATIO, "flower to leaf"),
        quoting.highest("spent_most", "spent_share", SHARE, "spent share"),
    ]


def _first_bloom(quoting: _Quoting, shown: Sequence[SeasonPoint]) -> QuotableNumber:
    """The week of the first photo in flower; it began after the measured day before, or after planting."""
    covers = [(point, point.bloom_cover) for point in shown if point.bloom_cover is not None]
    in_flower = [p for p, cover in covers if cover.value >= IN_FLOWER_COVER and cover.low > 0]
    if not in_flower:
        reason = "no photo shows 5 % bloom cover or more" if shown else "bloom cover was not measured on any photo"
        return quoting.number("first_bloom_week", WEEK, None, [], reason=reason)
    planted_on, first = quoting.season.planted_on, in_flower[0]
    week = weeks_after_planting(planted_on, first.taken_on)
    before = [weeks_after_planting(planted_on, p.taken_on) for p in shown if p.taken_on < first.taken_on]
    since = before[-1] if before else 0.0
    return quoting.number("first_bloom_week", WEEK, Estimate(week, min(since, week), week), [first])


def _of_growth(quoting: _Quoting) -> list[QuotableNumber]:
    fill, points = fills_of([quoting.season])[quoting.season.planting_id], quoting.with_share("canopy_fill")
    reasons = fill.reasons
    return [
        quoting.number("days_to_50", DAYS, fill.days_to_50, points, reason=reasons.get("days_to_50", "")),
        quoting.number("days_to_90", DAYS, fill.days_to_90, points, reason=reasons.get("days_to_90", "")),
        quoting.number("full_size", SHARE, fill.asymptote, points, reason=reasons.get("asymptote", "")),
        quoting.latest("canopy_fill_latest", "canopy_fill", SHARE, "canopy fill"),
        quoting.latest("evenness_latest", "evenness", RATIO, "evenness"),
        quoting.highest("spill_most", "spill_cm", CM, "spill"),
    ]


def _of_colour(quoting: _Quoting) -> list[QuotableNumber]:
    """The farthest day without doubt; a difference that may be the light is not quoted."""
    faded = fade(quoting.season)
    most = faded.most
    if most is None or faded.reference is None:
        reason = faded.reason or "there is no bloom colour after the first day in flower yet"
        return [quoting.number("fade_most", DE00, None, [], reason=reason)]
    days = [p for p in quoting.days if p.taken_on in (faded.reference.taken_on, most.taken_on)]
    if most.doubt:
        return [quoting.number("fade_most", DE00, None, days, reason=most.doubt)]
    unknown = "how far the colours of those photos may be off is not known"
    return [quoting.number("fade_most", DE00, most.interval, days, reason=unknown)]


def _of_plants(quoting: _Quoting, survival: Survival | None, counted_on: date | None) -> list[QuotableNumber]:
    found, planting_id = survival or Survival(reason="how many were planted is not said"), quoting.season.planting_id

    def counted(key: str, unit: str, estimate: Estimate | None, reason: str | None) -> QuotableNumber:
        on = counted_on if estimate else None
        return QuotableNumber(key, planting_id, WORDS[key], unit, estimate, on=on, reason=None if estimate else reason)

    # Without a count nobody has said that all that were planted still live.
    never = None if found.counted else "the plants were not counted after planting"
    unsaid = found.reason or "how many were planted is not said"
    return [
        counted("survival", SHARE, None if never else found.share, found.reason or never),
        counted("plants_living", PLANTS, None if never else exactly(found.living), found.reason or never),
        counted("plants_planted", PLANTS, exactly(found.planted), unsaid),
    ]


def exactly(count: float | None) -> Estimate | None:
    """A counted number, which is known without error."""
    return None if count is None else Estimate(float(count), float(count), float(count))
