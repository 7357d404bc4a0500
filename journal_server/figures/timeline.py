"""The whole trial in one picture: a ribbon for each planting over the season, weather and care above."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from journal_server.analysis.series import PlantingSeason
from journal_server.analysis.weather import HEAT_THRESHOLD_C, DayWeather
from journal_server.domain.dates import day_words
from journal_server.domain.units import METRIC, Units
from journal_server.domain.words import counted
from journal_server.figures.key import KEY_PX, draw_key
from journal_server.figures.lanes import CareMark, LaneSpace, care_lanes, lane_height, weather_lanes
from journal_server.figures.ribbon import hatch
from journal_server.figures.season_axis import LONGEST_GAP_DAYS, SeasonScale, month_lines, month_names, week_ticks
from journal_server.figures.svg import MUTED, TEXT_PX, Svg, document, line, shorten, tag, text
from journal_server.figures.timeline_row import RowDrawer, TimelineLayout, draw_row, flowers_missing
from journal_server.figures.words import season_name

#: From this width on the names stand in a column of their own; below it they stand above each ribbon.
WIDE_PX = 720
SHORTEST_SEASON_DAYS = 14
HEADING_PX = 34
#: What the numbers beside a ribbon take, without and with one more.
NUMBERS_PX, ALSO_PX = 120.0, 164.0


def draw_timeline(
    rows: Sequence[PlantingSeason],
    *,
    width_px: int = 390,
    weather: Sequence[DayWeather] = (),
    care: Sequence[CareMark] = (),
    heat_threshold_c: float = HEAT_THRESHOLD_C,
    units: Units = METRIC,
    gap_days: int = LONGEST_GAP_DAYS,
    first_day: date | None = None,
    last_day: date | None = None,
    title: str = "The trial over the season",
    name: str = "timeline",
    headings: Mapping[int, str] | None = None,
    also: Mapping[str, str] | None = None,
    row_drawer: RowDrawer = draw_row,
) -> str:
    """SVG text of the timeline; each measured day is a group ``fig-date`` with data-photo, -date and -planting.

    ``name`` begins every id, so that several figures can stand in one page. ``first_day`` and ``last_day``
    default to the first planting and the last photo, removal or care. Days more than ``gap_days`` apart are not joined.
    ``headings`` stand before the row of that number. ``also`` are words to say with a planting's numbers, by its id.
    ``row_drawer`` may hand out rows that `draw_row` has drawn before.
    """
    headings, also = headings or {}, also or {}
    first, last = _season_of(rows, weather, care, first_day, last_day)
    layout = _layout(first, last, float(width_px), numbers_px=ALSO_PX if also else NUMBERS_PX)
    left, hatch_id = layout.space.words_left_px, f"{name}-hatch"
    weather_drawn, weather_count = weather_lanes(weather, layout.scale, layout.space, 18, heat_threshold_c, units)
    care_top = 18 + weather_count * lane_height(layout.space)
    care_drawn, care_count = care_lanes(care, layout.scale, layout.space, care_top)
    top = care_top + care_count * lane_height(layout.space) + 8
    tops = _tops(len(rows), headings, layout, top)
    base = tops[-1] + layout.row_px if tops else top + layout.row_px
    start = min((row.planted_on for row in rows), default=first)
    body = [
        tag("defs", hatch(hatch_id)),
        month_lines(layout.scale, 16, base),
        month_names(layout.scale, 12),
        weather_drawn,
        care_drawn,
        *(_heading(words, layout, tops[i]) for i, words in headings.items()),
        *(
            row_drawer(
                f"{name}-{i}",
                row,
                layout,
                tops[i],
                gap_days=gap_days,
                hatch_id=hatch_id,
                also=also.get(row.planting_id),
            )
            for i, row in enumerate(rows)
        ),
        None if rows else text(left, top + 30, "Nothing is planted yet.", size=TEXT_PX),
        week_ticks(layout.scale, base, start),
        text(left, base + 32, f"weeks after {day_words(start)}", opacity=MUTED),
        draw_key(left, base + 44, hatch_id, grey_used=any(map(flowers_missing, rows))),
    ]
    return document(name, layout.width, base + 44 + KEY_PX, title, _describe(rows, first, last), *body)


def _tops(count: int, headings: Mapping[int, str], layout: TimelineLayout, top: float) -> list[float]:
    """Where each row begins, with room for the headings."""
    tops = []
    for i in range(count):
        top += HEADING_PX if i in headings else 0
        tops.append(top + i * layout.row_px)
    return tops


def _heading(words: str, layout: TimelineLayout, row_top: float) -> Svg:
    left, right = layout.space.words_left_px, layout.width - layout.space.words_left_px
    written = shorten(words[:1].upper() + words[1:], TEXT_PX, right - left, bold=True)
    y = row_top - HEADING_PX
    return tag(
        "g",
        text(left, y + 20, written, size=TEXT_PX, font_weight=600),
        line(left, y + 27, right, y + 27, opacity=0.75),
        class_="fig-group",
    )


def _season_of(
    rows: Sequence[PlantingSeason],
    weather: Sequence[DayWeather],
    care: Sequence[CareMark],
    first_day: date | None,
    last_day: date | None,
) -> tuple[date, date]:
    planted = [row.planted_on for row in rows]
    photos = [point.taken_on for row in rows for point in row.points]
    ends = photos + [row.removed_on for row in rows if row.removed_on] + [mark.day for mark in care]
    around = [day.day for day in weather] + [mark.day for mark in care] or [date(2000, 1, 1)]
    first = first_day or min(planted + photos, default=min(around))
    last = last_day or max(ends or around if not planted else ends, default=first)
    return first, max(last, first + timedelta(days=SHORTEST_SEASON_DAYS))


def _layout(first: date, last: date, width: float, numbers_px: float) -> TimelineLayout:
    if width >= WIDE_PX:
        column = 196.0
        scale = SeasonScale(first, last, column, width - numbers_px)
        return TimelineLayout(scale, LaneSpace(8, column), width, label_px=0, ribbon_px=72, row_px=90)
    scale = SeasonScale(first, last, 14, width - 14)
    return TimelineLayout(scale, LaneSpace(14, 0), width, label_px=20, ribbon_px=56, row_px=94)


def _describe(rows: Sequence[PlantingSeason], first: date, last: date) -> str:
    count = counted(len(rows), "planting")
    names = ", ".join(season_name(row) for row in rows)
    span = f"from {day_words(first)} to {day_words(last)}"
    return f"{count} {span}{': ' if names else ''}{names}. The table beside the figure holds the same numbers."
