"""Evenness: on each date the parts of the planter from left to right, as the planter is seen."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

from journal_server.analysis.series import PlantingSeason, SeasonPoint, points_by_day
from journal_server.analysis.summary import PlantingSummary
from journal_server.domain.dates import day_words
from journal_server.figures.captions import caption
from journal_server.figures.season_axis import SeasonScale, month_lines, month_names, week_ticks
from journal_server.figures.svg import (
    INK,
    MUTED,
    SMALL_PX,
    UNKNOWN,
    Svg,
    colour,
    document,
    line,
    tag,
    text,
    wrap,
)
from journal_server.figures.words import per_cent, season_name, week_words

_TOP_PX = 26.0
_BASE_PX = 106.0
_NARROWEST_PX = 3.0
_BETWEEN_PX = 6.0


def draw_slots(season: PlantingSeason, *, summary: PlantingSummary, width_px: int = 390, name: str = "slots") -> str:
    """SVG text: a small group of bars for each date, one bar a slot, as high as its canopy fill.

    Where dates stand too close, some are left out, the last one never; the table has them all.
    """
    days = [point for point in points_by_day(season) if point.slots]
    first = season.planted_on
    last = max([first + timedelta(days=14), *(point.taken_on for point in days)])
    first = min([first, *(point.taken_on for point in days)])
    scale = SeasonScale(first, last, 56, width_px - 36)
    shown = _shown(days, scale)
    words = caption(season, summary, "evenness")
    lines = wrap(f"{words} Each group of bars is the planter from left to right.", SMALL_PX, width_px - 16)
    body = [
        month_names(scale, 14),
        month_lines(scale, 18, _BASE_PX),
        line(8, _TOP_PX, width_px - 8, _TOP_PX),
        text(8, _TOP_PX + 12, "100 %", opacity=MUTED),
        *(_group(season, point, scale, _bar_px(shown, scale)) for point in shown),
        line(8, _BASE_PX, width_px - 8, _BASE_PX, opacity=0.75),
        week_ticks(scale, _BASE_PX, season.planted_on),
        text(8, _BASE_PX + 16, "week", opacity=MUTED),
        *(text(8, _BASE_PX + 40 + 16 * i, words) for i, words in enumerate(lines)),
    ]
    title = f"{season_name(season)}: evenness along the planter"
    return document(name, width_px, _BASE_PX + 40 + 16 * len(lines), title, words, *body)


def _shown(days: list[SeasonPoint], scale: SeasonScale) -> list[SeasonPoint]:
    shown: list[SeasonPoint] = []
    for point in reversed(days):
        room = scale.x(shown[-1].taken_on) - scale.x(point.taken_on) if shown else 1e9
        if room >= _NARROWEST_PX * len(point.slots or ()) + _BETWEEN_PX:
            shown.append(point)
    return shown[::-1]


def _bar_px(shown: list[SeasonPoint], scale: SeasonScale) -> float:
    """Bars as wide as the closest two dates leave room for."""
    most = max((len(point.slots or ()) for point in shown), default=1)
    rooms = [scale.x(after.taken_on) - scale.x(before.taken_on) for before, after in pairwise(shown)]
    return min(7.0, max(_NARROWEST_PX, (min([40.0, *rooms]) - _BETWEEN_PX) / most))


def _group(season: PlantingSeason, point: SeasonPoint, scale: SeasonScale, step: float) -> Svg:
    slots = point.slots or ()
    left = scale.x(point.taken_on) - step * len(slots) / 2
    bars = []
    for i, share in enumerate(slots):
        height = (_BASE_PX - _TOP_PX) * min(max(share, 0.0), 1.0)
        bars.append(
            tag(
                "rect",
                x=left + i * step,
                y=_BASE_PX - height,
                width=step - 1,
                height=height,
                fill=colour(point.foliage_hex) or UNKNOWN,
                stroke=INK,
                stroke_width=0.75,
                stroke_opacity=0.6,
            )
        )
    when = f"{day_words(point.taken_on)}, {week_words(season.planted_on, point.taken_on)}"
    words = f"{when}, from left to right: {', '.join(per_cent(share) for share in slots)}"
    return tag(
        "g",
        tag("title", words),
        tag("rect", x=left, y=_TOP_PX, width=step * len(slots), height=_BASE_PX - _TOP_PX, fill="transparent"),
        *bars,
        class_="fig-date",
        data_planting=season.planting_id,
        data_photo=point.photo_id,
        data_date=point.taken_on.isoformat(),
    )
