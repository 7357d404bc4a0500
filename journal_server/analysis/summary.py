"""One planting's season in a few numbers."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from journal_server.analysis.bloom import BloomSeason, bloom_season
from journal_server.analysis.fade import Fade, FadeStep, fade
from journal_server.analysis.fill_in import FillIn, time_to_fill
from journal_server.analysis.series import SHARE_WORDS, SHARES, PlantingSeason, days_after_planting, points_by_day
from journal_server.measurement.result import Estimate


@dataclass(frozen=True)
class Latest:
    """The newest known value of one number, and the photo it comes from."""

    estimate: Estimate
    photo_id: str
    taken_on: date

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        return self.estimate.as_dict() | {"photo": self.photo_id, "on": self.taken_on.isoformat()}


@dataclass(frozen=True)
class PlantingSummary:
    """Latest numbers, time to fill, bloom and fade of one planting; each None has a reason."""

    planting_id: str
    dates: int
    last_on: date | None
    last_day_after_planting: int | None
    latest: dict[str, Latest | None]
    fill_in: FillIn
    bloom: BloomSeason
    fade: Fade
    reasons: dict[str, str] = field(default_factory=dict)

    @property
    def fade_most(self) -> FadeStep | None:
        return self.fade.most

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict: estimates as value, low, high; dates in ISO 8601."""
        most = self.fade_most
        return {
            "planting": self.planting_id,
            "dates": self.dates,
            "last_on": self.last_on.isoformat() if self.last_on else None,
            "days_after_planting": self.last_day_after_planting,
            "latest": {name: latest.as_dict() if latest else None for name, latest in self.latest.items()},
            "asymptote": self.fill_in.asymptote.as_dict() if self.fill_in.asymptote else None,
            "days_to_50": self.fill_in.days_to_50.as_dict() if self.fill_in.days_to_50 else None,
            "days_to_90": self.fill_in.days_to_90.as_dict() if self.fill_in.days_to_90 else None,
            "peak": self.bloom.peak.as_dict() if self.bloom.peak else None,
            "peak_on": self.bloom.peak_on.isoformat() if self.bloom.peak_on else None,
            "weeks_in_bloom": self.bloom.weeks_in_bloom.as_dict() if self.bloom.weeks_in_bloom else None,
            "weeks_in_bloom_at_least": self.bloom.as_dict()["weeks_in_bloom_at_least"],
            "season_bloom": self.bloom.season_bloom.as_dict() if self.bloom.season_bloom else None,
            "fade_most_de00": most.difference.de00 if most else None,
            "fade_most": most.interval.as_dict() if most and most.interval else None,
            "fade_most_on": most.taken_on.isoformat() if most else None,
            "reasons": dict(self.reasons),
        }


def summarise(season: PlantingSeason) -> PlantingSummary:
    """Everything a planting's head line needs, from its points alone."""
    days = points_by_day(season)
    latest = {name: _latest(season, name) for name in SHARES}
    fill, bloom, faded = time_to_fill(season), bloom_season(season), fade(season)
    reasons = {n: f"{SHARE_WORDS[n]} has not been measured on any photo" for n in SHARES if latest[n] is None}
    reasons |= fill.reasons | bloom.reasons
    if faded.most is None:
        reasons["fade_most_de00"] = faded.reason or "there is no bloom colour after the reference date yet"
    last = days[-1].taken_on if days else None
    return PlantingSummary(
        planting_id=season.planting_id,
        dates=len(days),
        last_on=last,
        last_day_after_planting=days_after_planting(season.planted_on, last) if last else None,
        latest=latest,
        fill_in=fill,
        bloom=bloom,
        fade=faded,
        reasons=reasons,
    )


def _latest(season: PlantingSeason, name: str) -> Latest | None:
    for point in reversed(points_by_day(season)):
        estimate: Estimate | None = getattr(point, name)
        if estimate is not None:
            return Latest(estimate, point.photo_id, point.taken_on)
    return None
