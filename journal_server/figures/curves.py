"""One number of one planting over the season: measured days with their intervals, and what was read from them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from journal_server.analysis.series import SHARE_WORDS, PlantingSeason, SeasonPoint, points_by_day
from journal_server.analysis.summary import PlantingSummary
from journal_server.domain.dates import day_words
from journal_server.figures.captions import caption
from journal_server.figures.season_axis import (
    LONGEST_GAP_DAYS,
    SeasonScale,
    beside,
    month_lines,
    month_names,
    week_ticks,
)
from journal_server.figures.svg import (
    INK,
    MUTED,
    PAPER,
    SMALL_PX,
    Svg,
    colour,
    document,
    haloed,
    join,
    line,
    number,
    tag,
    text,
    text_width,
    wrap,
)
from journal_server.figures.words import point_words, season_name
from journal_server.measurement.result import Estimate

CURVES = ("canopy_fill", "bloom_cover", "flower_to_leaf", "spent_share", "evenness", "spill_cm")
LEAST_TAP_PX = 24
_LEFT_PX = 44.0
_TOP_PX = 26.0
_CAPTION_LINE_PX = 16


@dataclass(frozen=True)
class _Plot:
    scale: SeasonScale
    top: float
    base: float
    highest: float

    def y(self, value: float) -> float:
        share = min(max(value / self.highest, 0.0), 1.0)
        return self.base - share * (self.base - self.top)


def draw_curve(
    season: PlantingSeason,
    of: str,
    *,
    summary: PlantingSummary,
    width_px: int = 390,
    height_px: int = 150,
    last_day: date | None = None,
    captioned: bool = True,
    name: str | None = None,
) -> str:
    """SVG text of the curve of the number called ``of``, one of `CURVES`.

    ``height_px`` is the height of the plotting area; axis and caption come on top. Measured days are groups
    ``fig-date`` with data-photo and data-date. Without ``captioned`` what was read from it stands in the description
    alone. ``name`` begins every id (default: ``curve-`` and the number).

    Raises ValueError for another number.
    """
    if of not in CURVES:
        raise ValueError(f"there is no curve of {of!r}; there is one of each of {', '.join(CURVES)}")
    measured = _measured(season, of)
    plot = _plot(season, of, measured, float(width_px), float(height_px), last_day)
    words = caption(season, summary, of)
    lines = wrap(words, SMALL_PX, width_px - 2 * 8) if captioned else []
    under = plot.base + 40
    body = [
        month_names(plot.scale, 14),
        month_lines(plot.scale, 18, plot.base),
        _levels(plot, of),
        _read_off(season, plot, summary, of),
        _join(plot, measured, faint=of == "canopy_fill" and summary.fill_in.fit is not None),
        *(_day(season, plot, of, i, measured) for i in range(len(measured))),
        _peak_word(plot, summary, measured, of),
        line(plot.scale.left_px, plot.base, plot.scale.right_px, plot.base, opacity=0.75),
        week_ticks(plot.scale, plot.base, season.planted_on),
        text(8, plot.base + 16, "week", opacity=MUTED),
        *(text(8, under + _CAPTION_LINE_PX * i, words) for i, words in enumerate(lines)),
    ]
    title = f"{season_name(season)}: {SHARE_WORDS[of]}"
    height = under + _CAPTION_LINE_PX * len(lines) - (0 if captioned else _CAPTION_LINE_PX)
    return document(name or f"curve-{of.replace('_', '-')}", width_px, height, title, words, *body)


def _measured(season: PlantingSeason, of: str) -> list[tuple[SeasonPoint, Estimate]]:
    found = []
    for point in points_by_day(season):
        estimate: Estimate | None = getattr(point, of)
        if estimate is not None:
            found.append((point, estimate))
    return found


def _plot(
    season: PlantingSeason,
    of: str,
    measured: list[tuple[SeasonPoint, Estimate]],
    width: float,
    height: float,
    last_day: date | None,
) -> _Plot:
    first = min([season.planted_on, *(point.taken_on for point, _ in measured)])
    last = last_day or max((point.taken_on for point, _ in measured), default=first)
    scale = SeasonScale(first, max(last, first + timedelta(days=14)), _LEFT_PX, width - 12)
    top = max((min(e.high, 4 * max(e.value, 0.01)) for _, e in measured), default=0.0)
    return _Plot(scale, _TOP_PX, _TOP_PX + height, _highest(of, top))


def _highest(of: str, top: float) -> float:
    """A round upper end of the axis; canopy fill and evenness always show the whole of it."""
    if of == "canopy_fill" or (of == "evenness" and top <= 1.2):
        return 1.0 if of == "canopy_fill" else max(1.0, 1.2 * (top > 1.0))
    steps = (5, 10, 20, 40, 80, 160, 320) if of == "spill_cm" else (0.1, 0.2, 0.4, 0.6, 1.0, 2.0, 4.0, 8.0)
    return float(next((step for step in steps if step >= top), max(top, steps[-1])))


def _levels(plot: _Plot, of: str) -> Svg:
    parts = []
    for share in (0.0, 0.5, 1.0):
        value, y = share * plot.highest, plot.base - share * (plot.base - plot.top)
        if of == "spill_cm":
            words = f"{value:g} cm"
        else:
            words = f"{value:.2g}" if of in ("flower_to_leaf", "evenness") else f"{value * 100:.0f} %"
        if share:
            parts.append(line(plot.scale.left_px, y, plot.scale.right_px, y))
        parts.append(text(plot.scale.left_px - 6, y + (4 if share else 0), words, text_anchor="end", opacity=MUTED))
    return join(*parts)


def _join(plot: _Plot, measured: list[tuple[SeasonPoint, Estimate]], *, faint: bool) -> Svg:
    """Straight lines between the days; dashed where nothing was measured for long."""
    parts = []
    for (before, was), (after, now) in pairwise(measured):
        long = (after.taken_on - before.taken_on).days > LONGEST_GAP_DAYS
        opacity, dashes = (0.25, "2 3") if faint else (0.7, "2 3" if long else None)
        ends = plot.scale.x(before.taken_on), plot.y(was.value), plot.scale.x(after.taken_on), plot.y(now.value)
        parts.append(line(*ends, opacity=opacity, stroke_dasharray=dashes))
    return join(*parts)


def _day(season: PlantingSeason, plot: _Plot, of: str, i: int, measured: list[tuple[SeasonPoint, Estimate]]) -> Svg:
    point, estimate = measured[i]
    x, y = plot.scale.x(point.taken_on), plot.y(estimate.value)
    before = (plot.scale.x(measured[i - 1][0].taken_on) + x) / 2 if i else x - LEAST_TAP_PX
    after = (plot.scale.x(measured[i + 1][0].taken_on) + x) / 2 if i + 1 < len(measured) else x + LEAST_TAP_PX
    fill = {"canopy_fill": point.foliage_hex, "bloom_cover": point.bloom_hex}.get(of)
    low, high = plot.y(estimate.low), plot.y(estimate.high)
    whisker = f"M{number(x - 3)} {number(low)}h6M{number(x - 3)} {number(high)}h6M{number(x)} {number(low)}"
    return tag(
        "g",
        tag("title", point_words(season, point)),
        tag("rect", x=before, y=plot.top, width=after - before, height=plot.base - plot.top, fill="transparent"),
        tag("path", d=f"{whisker}V{number(high)}", stroke=INK, stroke_opacity=0.7, fill="none", class_="fig-interval"),
        tag("circle", cx=x, cy=y, r=4, fill=colour(fill) or PAPER, stroke=INK, stroke_width=1.25),
        class_="fig-date",
        data_planting=season.planting_id,
        data_photo=point.photo_id,
        data_date=point.taken_on.isoformat(),
    )


def _read_off(season: PlantingSeason, plot: _Plot, summary: PlantingSummary, of: str) -> Svg:
    if of == "canopy_fill":
        return _fill_curve(season, plot, summary)
    if of == "bloom_cover":
        return _half_peak(season, plot, summary)
    return Svg("")


def _fill_curve(season: PlantingSeason, plot: _Plot, summary: PlantingSummary) -> Svg:
    """The fitted curve, and where it passes 50 % and 90 % of its upper end, each with its interval as a band."""
    fit = summary.fill_in.fit
    if fit is None:
        return Svg("")
    start = (plot.scale.first - season.planted_on).days
    days = [start + (plot.scale.last - plot.scale.first).days * i / 48 for i in range(49)]
    xs = [plot.scale.x_of_day_number(season.planted_on, day) for day in days]
    curve = "L".join(f"{number(x)} {number(plot.y(fit.value_at(day)))}" for x, day in zip(xs, days, strict=True))
    parts = []
    taken: list[tuple[float, float]] = []
    for words, when in (("50 %", summary.fill_in.days_to_50), ("90 %", summary.fill_in.days_to_90)):
        if when is not None:
            parts.append(_mark(season, plot, words, when, plot.y(fit.value_at(when.value)), taken))
    parts.append(tag("path", d=f"M{curve}", fill="none", stroke=INK, stroke_width=1.75, class_="fig-fit"))
    return join(*parts)


def _mark(
    season: PlantingSeason, plot: _Plot, words: str, when: Estimate, y: float, taken: list[tuple[float, float]]
) -> Svg:
    """A band with its word, which stands a line higher where one of ``taken`` is; its own place is added there."""
    low, x, high = (
        min(max(plot.scale.x_of_day_number(season.planted_on, day), plot.scale.left_px), plot.scale.right_px)
        for day in (when.low, when.value, when.high)
    )
    at, anchor = beside(plot.scale, high, words, 4)
    at = at if anchor == "start" else low - 4
    begin, end = _extent(at, anchor, words)
    meets = any(begin < other_end and other_begin < end for other_begin, other_end in taken)
    taken.append((begin, end))
    return join(
        tag("rect", x=low, y=y, width=high - low, height=plot.base - y, fill=INK, fill_opacity=0.1),
        line(x, y, x, plot.base, opacity=0.75),
        text(at, plot.base - (6 + SMALL_PX + 3 if meets else 6), words, text_anchor=anchor, opacity=MUTED),
    )


def _extent(at: float, anchor: str, words: str) -> tuple[float, float]:
    """From where to where words reach that begin, or end, at a place."""
    width = text_width(words, SMALL_PX)
    return (at, at + width) if anchor == "start" else (at - width, at)


def _half_peak(season: PlantingSeason, plot: _Plot, summary: PlantingSummary) -> Svg:
    """A bar at half of the peak over the time in bloom."""
    peak, span = summary.bloom.peak, summary.bloom.in_bloom
    if peak is None or summary.bloom.peak_on is None:
        return Svg("")
    level = plot.y(peak.value / 2)
    parts = []
    for start, end in span.spans_days if span else ():
        left, right = (plot.scale.x_of_day_number(season.planted_on, day) for day in (start, end))
        parts.append(
            tag("rect", x=left, y=level, width=right - left, height=plot.base - level, fill=INK, fill_opacity=0.1)
        )
        parts.append(line(left, level, right, level, opacity=0.75, stroke_width=1.75))
    if span and span.spans_days:
        left = plot.scale.x_of_day_number(season.planted_on, span.spans_days[0][0])
        parts.append(text(left + 6, plot.base - 6, "in bloom", opacity=MUTED))
    return join(*parts)


def _peak_word(plot: _Plot, summary: PlantingSummary, measured: list[tuple[SeasonPoint, Estimate]], of: str) -> Svg:
    """The word at the peak, above the intervals of the days that it stands over; a tap goes through to them."""
    peak, day = summary.bloom.peak, summary.bloom.peak_on
    if of != "bloom_cover" or peak is None or day is None:
        return Svg("")
    words = f"peak, {day_words(day)}"
    at, anchor = beside(plot.scale, plot.scale.x(day), words, 7)
    begin, end = _extent(at, anchor, words)
    under = [
        plot.y(estimate.high) for point, estimate in measured if begin - 4 <= plot.scale.x(point.taken_on) <= end + 4
    ]
    y = min([plot.y(peak.value), *under]) - 4
    return haloed(at, max(y, plot.top), words, text_anchor=anchor, pointer_events="none")
