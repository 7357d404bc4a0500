"""The whole trial in one picture: a ribbon for each planting over the season, weather and care above."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from journal_server.analysis.series import PlantingSeason, SeasonPoint, points_by_day
from journal_server.analysis.weather import HEAT_THRESHOLD_C, DayWeather
from journal_server.figures.lanes import CareMark, LaneSpace, care_lanes, lane_height, weather_lanes
from journal_server.figures.ribbon import RibbonDay, draw_ribbon, hatch
from journal_server.figures.season_axis import SeasonScale, month_lines, month_names, week_ticks
from journal_server.figures.svg import (
    INK,
    MUTED,
    SMALL_PX,
    TEXT_PX,
    Svg,
    document,
    join,
    line,
    shorten,
    tag,
    text,
    text_width,
    wrap,
)
from journal_server.figures.words import day_words, per_cent, point_words, season_name

#: From this width on the names stand in a column of their own; below it they stand above each ribbon.
WIDE_PX = 720
LONGEST_GAP_DAYS = 21
LEAST_TAP_PX = 24

KEY = (
    "Height: canopy fill, the hairline is 100 %. Upper part: in flower, in the colour measured that day. "
    "Hatched: spent bloom. Lower part: leaves. Grey: flowers not measured."
)


@dataclass(frozen=True)
class _Layout:
    scale: SeasonScale
    space: LaneSpace
    width: float
    label_px: float
    ribbon_px: float
    row_px: float
    numbers_px: float


def draw_timeline(
    rows: Sequence[PlantingSeason],
    *,
    width_px: int = 390,
    weather: Sequence[DayWeather] = (),
    care: Sequence[CareMark] = (),
    heat_threshold_c: float = HEAT_THRESHOLD_C,
    gap_days: int = LONGEST_GAP_DAYS,
    first_day: date | None = None,
    last_day: date | None = None,
    title: str = "The trial over the season",
    name: str = "timeline",
) -> str:
    """SVG text of the timeline; each measured day is a group ``fig-date`` with data-photo, -date and -planting.

    ``name`` begins every id, so that several figures can stand in one page. ``first_day`` and ``last_day``
    default to the first planting and the last photo, care or weather day.
    """
    first, last = _season_of(rows, weather, care, first_day, last_day)
    layout = _layout(first, last, float(width_px))
    y = 18.0
    lanes, count = weather_lanes(weather, layout.scale, layout.space, y, heat_threshold_c)
    y += count * lane_height(layout.space)
    tended, count = care_lanes(care, layout.scale, layout.space, y)
    y += count * lane_height(layout.space) + 8
    top = y
    drawn = []
    for i, row in enumerate(rows):
        drawn.append(_row(f"{name}-row{i}", row, layout, y, gap_days))
        y += layout.row_px
    start = min((row.planted_on for row in rows), default=first)
    body = [
        tag("defs", hatch(name)),
        month_names(layout.scale, 12),
        lanes,
        tended,
        month_lines(layout.scale, 16, y),
        *drawn,
        week_ticks(layout.scale, y, start),
        text(layout.space.words_left_px, y + 32, f"weeks after {day_words(start)}", opacity=MUTED),
    ]
    y += 52
    for words in wrap(KEY, SMALL_PX, layout.width - 2 * layout.space.words_left_px):
        body.append(text(layout.space.words_left_px, y, words, opacity=MUTED))
        y += 15
    if not rows:
        body.append(text(layout.space.words_left_px, top, "Nothing is planted yet.", size=TEXT_PX))
    return document(name, layout.width, y, title, _describe(rows, first, last), *body)


def _season_of(
    rows: Sequence[PlantingSeason],
    weather: Sequence[DayWeather],
    care: Sequence[CareMark],
    first_day: date | None,
    last_day: date | None,
) -> tuple[date, date]:
    planted = [row.planted_on for row in rows]
    photos = [point.taken_on for row in rows for point in row.points]
    removed = [row.removed_on for row in rows if row.removed_on]
    around = [day.day for day in weather] + [mark.day for mark in care]
    first = first_day or min(planted + photos, default=None) or min(around, default=date(2000, 1, 1))
    last = last_day or max(photos + removed + around, default=first)
    return first, max(last, first + timedelta(days=14))


def _layout(first: date, last: date, width: float) -> _Layout:
    if width >= WIDE_PX:
        column, numbers = 196.0, 92.0
        scale = SeasonScale(first, last, column, width - numbers - 12)
        return _Layout(scale, LaneSpace(8, column), width, 0, 62, 78, numbers)
    scale = SeasonScale(first, last, 14, width - 14)
    return _Layout(scale, LaneSpace(10, 0), width, 19, 50, 86, 0)


def _row(name: str, row: PlantingSeason, layout: _Layout, top: float, gap_days: int) -> Svg:
    scale = layout.scale
    base = top + layout.label_px + layout.ribbon_px
    points = [p for p in points_by_day(row) if p.canopy_fill is not None and scale.holds(p.taken_on)]
    days = [_ribbon_day(row, point, scale) for point in points]
    end = min(row.removed_on or scale.last, scale.last)
    ribbon = draw_ribbon(
        name,
        days,
        base_px=base,
        height_px=layout.ribbon_px,
        widest_gap_px=gap_days * scale.px_per_day,
    )
    full = base - layout.ribbon_px
    return tag(
        "g",
        _label(row, points, layout, top),
        line(
            scale.x(max(row.planted_on, scale.first)),
            full,
            scale.x(end),
            full,
            opacity=0.22,
            stroke_dasharray="1 3",
        ),
        ribbon,
        line(scale.x(max(row.planted_on, scale.first)), base, scale.x(end), base, opacity=0.75),
        *_taps(row, points, layout, top, base),
        class_="fig-row",
        data_planting=row.planting_id,
    )


def _ribbon_day(row: PlantingSeason, point: SeasonPoint, scale: SeasonScale) -> RibbonDay:
    fill, bloom, spent = point.canopy_fill, point.bloom_cover, point.spent_share
    return RibbonDay(
        x_px=scale.x(point.taken_on),
        fill=fill.value if fill else 0.0,
        bloom=0.0 if row.foliage_only else bloom.value if bloom else None,
        spent=spent.value if spent and not row.foliage_only else None,
        bloom_hex=point.bloom_hex,
        foliage_hex=point.foliage_hex,
    )


def _label(row: PlantingSeason, points: Sequence[SeasonPoint], layout: _Layout, top: float) -> Svg:
    left = layout.space.words_left_px
    last = points[-1] if points else None
    numbers = []
    if last and last.canopy_fill:
        numbers.append(f"fill {per_cent(last.canopy_fill.value)}")
    if last and last.bloom_cover and not row.foliage_only:
        numbers.append(f"bloom {per_cent(last.bloom_cover.value)}")
    cultivar = f"‘{row.cultivar}’"
    if layout.space.beside:
        room = layout.space.words_px - 20
        right = layout.scale.right_px + 12
        names = [
            text(left, top + 28, shorten(cultivar, TEXT_PX, room, bold=True), size=TEXT_PX, font_weight=600),
            text(left, top + 43, shorten(row.genus, SMALL_PX, room), opacity=MUTED),
            text(left, top + 57, shorten(row.place, SMALL_PX, room), opacity=MUTED),
        ]
        shown = numbers or ["no photo yet"]
        return join(*names, *(text(right, top + 43 + 14 * i, words) for i, words in enumerate(shown)))
    words = ", ".join(numbers) or "no photo yet"
    room = layout.width - 2 * left - text_width(words, SMALL_PX) - 10
    bold = shorten(cultivar, TEXT_PX, room, bold=True)
    rest = room - text_width(bold, TEXT_PX, bold=True)
    more = shorten(" · ".join(part for part in (row.genus, row.place) if part), SMALL_PX, rest - 4)
    named = tag("tspan", bold, font_weight=600, font_size=TEXT_PX)
    also = tag("tspan", f" {more}", font_size=SMALL_PX, fill_opacity=MUTED) if more else None
    return join(
        tag("text", named, also, x=left, y=top + 12, fill=INK),
        text(layout.width - left, top + 12, words, text_anchor="end"),
    )


def _taps(row: PlantingSeason, points: Sequence[SeasonPoint], layout: _Layout, top: float, base: float) -> list[Svg]:
    xs = [layout.scale.x(point.taken_on) for point in points]
    taps = []
    for i, (x, point) in enumerate(zip(xs, points, strict=True)):
        left = (xs[i - 1] + x) / 2 if i else x - LEAST_TAP_PX
        right = (x + xs[i + 1]) / 2 if i + 1 < len(xs) else x + LEAST_TAP_PX
        left, right = min(left, x - 2), max(right, x + 2)
        taps.append(
            tag(
                "g",
                tag("title", point_words(row, point)),
                tag("rect", x=left, y=top, width=right - left, height=base - top + 8, fill="transparent"),
                line(x, base, x, base + 4, opacity=0.75),
                _whisker(x, point, base, layout.ribbon_px),
                class_="fig-date",
                data_planting=row.planting_id,
                data_photo=point.photo_id,
                data_date=point.taken_on.isoformat(),
            )
        )
    return taps


def _whisker(x: float, point: SeasonPoint, base: float, height: float) -> Svg | None:
    if point.canopy_fill is None:
        return None
    low, high = (base - height * min(max(v, 0.0), 1.0) for v in (point.canopy_fill.low, point.canopy_fill.high))
    path = f"M{x - 3:.2f} {low:.2f}h6M{x - 3:.2f} {high:.2f}h6M{x:.2f} {low:.2f}V{high:.2f}"
    return tag("path", d=path, stroke=INK, stroke_width=1.25, fill="none", class_="fig-interval", opacity=0)


def _describe(rows: Sequence[PlantingSeason], first: date, last: date) -> str:
    count = f"{len(rows)} planting{'' if len(rows) == 1 else 's'}"
    names = ", ".join(season_name(row) for row in rows)
    span = f"from {day_words(first)} to {day_words(last)}"
    return f"{count} {span}{': ' if names else ''}{names}. The table beside the figure holds the same numbers."
