"""Peak bloom, weeks in bloom and season bloom of one planting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from journal_server.analysis.series import SHARED_VARIANCE, Z_90, PlantingSeason, SeasonPoint, points_by_day
from journal_server.measurement.result import Estimate

Floats = NDArray[np.float64]

DRAWS = 1000


@dataclass(frozen=True)
class HalfPeakSpan:
    """Time with bloom cover at or above half of the peak, joined by straight lines between the dates.

    ``began_before`` and ``goes_on_after`` say that the first or last photo was itself above half, so that the
    true time is longer.
    """

    weeks: Estimate
    spans_days: tuple[tuple[float, float], ...]
    began_before: bool
    goes_on_after: bool


@dataclass(frozen=True)
class BloomSeason:
    """Bloom of one planting over a season; what could not be had is None with a sentence in ``reasons``.

    ``spans_days`` of ``in_bloom`` are days after planting.
    """

    peak: Estimate | None = None
    peak_on: date | None = None
    in_bloom: HalfPeakSpan | None = None
    season_bloom: Estimate | None = None
    measured_from: date | None = None
    measured_to: date | None = None
    reasons: dict[str, str] = field(default_factory=dict)

    @property
    def weeks_in_bloom(self) -> Estimate | None:
        return self.in_bloom.weeks if self.in_bloom else None

    def as_dict(self) -> dict[str, Any]:
        """Plain JSON-ready dict."""
        weeks = self.in_bloom
        return {
            "peak": self.peak.as_dict() if self.peak else None,
            "peak_on": self.peak_on.isoformat() if self.peak_on else None,
            "weeks_in_bloom": weeks.weeks.as_dict() if weeks else None,
            "weeks_in_bloom_at_least": bool(weeks and (weeks.began_before or weeks.goes_on_after)),
            "season_bloom": self.season_bloom.as_dict() if self.season_bloom else None,
            "measured_from": self.measured_from.isoformat() if self.measured_from else None,
            "measured_to": self.measured_to.isoformat() if self.measured_to else None,
            "reasons": dict(self.reasons),
        }


def bloom_season(season: PlantingSeason) -> BloomSeason:
    """Peak, weeks in bloom and season bloom from the dates on which bloom cover was measured.

    Season bloom is the trapezoid area under bloom cover divided by the time from the first to the last date.

    References
    ----------
    Shaner, G. and Finney, R. E. (1977), The effect of nitrogen fertilization on the expression of
    slow-mildewing resistance in Knox wheat, Phytopathology 67, 1051-1056: the area under the progress curve.
    """
    measured = [(p, p.bloom_cover) for p in points_by_day(season) if p.bloom_cover is not None]
    if season.foliage_only:
        return _nothing("this cultivar is grown for its leaves")
    if not measured:
        return _nothing("bloom cover was not measured on any photo")
    points = [point for point, _ in measured]
    covers = [cover for _, cover in measured]
    days = np.array([(p.taken_on - season.planted_on).days for p in points], dtype=np.float64)
    mean = season_mean(days, covers)
    reasons = {} if mean else {"season_bloom": "bloom cover was measured on one date only"}
    dated: dict[str, Any] = {
        "season_bloom": mean,
        "measured_from": points[0].taken_on,
        "measured_to": points[-1].taken_on,
    }
    top = int(np.argmax([cover.value for cover in covers]))
    if covers[top].low <= 0:
        unseen = "bloom cover never rose above measuring error"
        return BloomSeason(**dated, reasons=reasons | {"peak": unseen, "weeks_in_bloom": unseen})
    return _with_peak(points[top], days, covers, dated, reasons)


def _nothing(reason: str) -> BloomSeason:
    return BloomSeason(reasons=dict.fromkeys(("peak", "weeks_in_bloom", "season_bloom"), reason))


def _with_peak(
    top: SeasonPoint, days: Floats, covers: Sequence[Estimate], dated: dict[str, Any], reasons: dict[str, str]
) -> BloomSeason:
    span = half_peak_span(days, covers) if days.size > 1 else None
    if span is None:
        reasons = reasons | {"weeks_in_bloom": "bloom cover was measured on one date only"}
    return BloomSeason(
        peak=top.bloom_cover,
        peak_on=top.taken_on,
        in_bloom=span,
        **dated,
        reasons=reasons,
    )


def season_mean(days: Floats, covers: Sequence[Estimate]) -> Estimate | None:
    """Trapezoid area under ``covers`` over ``days`` (increasing), divided by the length of the period.

    Returns
    -------
    Estimate, or None with fewer than two dates
    """
    if days.size < 2:
        return None
    steps = np.diff(days)
    weights = np.concatenate([[steps[0]], steps[:-1] + steps[1:], [steps[-1]]]) / (2 * steps.sum())
    value = float(weights @ [cover.value for cover in covers])
    below = _shared_width(weights * [cover.value - cover.low for cover in covers])
    above = _shared_width(weights * [cover.high - cover.value for cover in covers])
    return Estimate(value, max(0.0, value - below), value + above)


def _shared_width(parts: Floats) -> float:
    return float(np.sqrt(SHARED_VARIANCE * parts.sum() ** 2 + (1 - SHARED_VARIANCE) * np.square(parts).sum()))


def half_peak_span(days: Floats, covers: Sequence[Estimate]) -> HalfPeakSpan:
    """Weeks at or above half of the highest cover; the interval from seeded draws of the covers' errors.

    Parameters
    ----------
    days : shape (n,), increasing, n >= 2
    covers : n estimates, the highest above 0
    """
    values = np.array([cover.value for cover in covers])
    spans = _spans_above(days, values, float(values.max()) / 2)
    weeks = sum(end - start for start, end in spans) / 7
    drawn = _time_above_half(days, _draws(covers)) / 7
    low, high = np.quantile(drawn, [0.05, 0.95])
    half = values.max() / 2
    return HalfPeakSpan(
        Estimate(weeks, float(min(low, weeks)), float(max(high, weeks))),
        tuple(spans),
        bool(values[0] >= half),
        bool(values[-1] >= half),
    )


def _draws(covers: Sequence[Estimate]) -> Floats:
    """Covers with errors of which half of the variance is shared by all dates, shape (DRAWS, n)."""
    rng = np.random.default_rng(20260516)
    shared = np.sqrt(SHARED_VARIANCE) * rng.standard_normal((DRAWS, 1))
    errors = shared + np.sqrt(1 - SHARED_VARIANCE) * rng.standard_normal((DRAWS, len(covers)))
    value, low, high = (np.array([getattr(c, name) for c in covers]) for name in ("value", "low", "high"))
    moved = value + errors / Z_90 * np.where(errors < 0, value - low, high - value)
    return np.asarray(np.clip(moved, 0.0, None), dtype=np.float64)


def _time_above_half(days: Floats, covers: Floats) -> Floats:
    """Days at or above half of each row's own maximum, shape (rows,)."""
    above = covers - covers.max(axis=1, keepdims=True) / 2
    left, right = above[:, :-1], above[:, 1:]
    top, bottom = np.maximum(left, right), np.minimum(left, right)
    rise = np.where(top > bottom, top - bottom, 1.0)
    share = np.where(bottom >= 0, 1.0, np.where(top <= 0, 0.0, top / rise))
    return np.asarray(share @ np.diff(days), dtype=np.float64)


def _spans_above(days: Floats, values: Floats, level: float) -> list[tuple[float, float]]:
    """Stretches of time with the straight-line curve at or above ``level``, joined where they touch."""
    spans: list[tuple[float, float]] = []
    for i in range(days.size - 1):
        a, b = float(values[i] - level), float(values[i + 1] - level)
        if max(a, b) < 0:
            continue
        start, end = float(days[i]), float(days[i + 1])
        crossing = start + (end - start) * a / (a - b) if a != b else start
        piece = (start if a >= 0 else crossing, end if b >= 0 else crossing)
        if spans and spans[-1][1] == piece[0]:
            spans[-1] = (spans[-1][0], piece[1])
        else:
            spans.append(piece)
    return [span for span in spans if span[1] > span[0]]
