"""Several plantings' curves of one number on one picture, by age or by date, each with its name at its end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from journal_server.analysis.comparison import Group
from journal_server.analysis.series import SHARE_WORDS, PlantingSeason, SeasonPoint, points_by_day
from journal_server.domain.dates import day_words
from journal_server.figures.line_patterns import dash, mark
from journal_server.figures.season_axis import SeasonScale, month_lines, month_names
from journal_server.figures.svg import (
    MUTED,
    SMALL_PX,
    Svg,
    document,
    haloed,
    join,
    line,
    shorten,
    tag,
    text,
    text_width,
    wrap,
)
from journal_server.figures.tables import FigureTable
from journal_server.figures.words import estimate_words, season_name, week_words
from journal_server.measurement.result import Estimate

MOST_CURVES = 8
"""More lines than this cannot be told apart on a phone."""

_LEFT_PX, _TOP_PX, _BASE_PX, _LABEL_LINE_PX = 48.0, 24.0, 264.0, 14.0


@dataclass(frozen=True)
class _Curve:
    """One planting of one group: pixels of its measured days."""

    position: int
    label: str
    season: PlantingSeason
    days: tuple[tuple[float, float, SeasonPoint, Estimate], ...]


def draw_comparison(
    groups: Sequence[Group],
    of: str,
    *,
    by_age: bool,
    gap_days: int,
    marked_day: int | date | None = None,
    width_px: int = 390,
) -> str:
    """SVG text; measured days carry data-photo and data-planting, names data-planting.

    Parameters
    ----------
    groups : at most `MOST_CURVES`, each drawn with a line pattern of its own
    by_age : weeks after planting from left to right, else the calendar
    gap_days : days further apart than this are not joined
    marked_day : days after planting, or a date, at which a line stands

    Raises
    ------
    ValueError : there are more groups than can be told apart
    """
    if len(groups) > MOST_CURVES:
        raise ValueError(f"at most {MOST_CURVES} curves can be told apart, got {len(groups)}")
    seasons = [(position, group, season) for position, group in enumerate(groups) for season in group.seasons]
    names_px = min(150.0, 0.32 * width_px)
    scale = _scale(seasons, of, by_age, width_px - names_px)
    highest = _highest(seasons, of)
    curves = [_curve(position, group, season, of, scale, highest, by_age) for position, group, season in seasons]
    curves = [curve for curve in curves if curve.days]
    title = f"{SHARE_WORDS[of][:1].upper()}{SHARE_WORDS[of][1:]} by {'weeks after planting' if by_age else 'date'}"
    words = _description(groups, curves)
    lines = wrap(words, SMALL_PX, width_px - 16)
    body = [
        _axis(scale, by_age, of, highest),
        _marked(scale, marked_day, by_age),
        *(_drawn(curve, of, gap_days) for curve in curves),
        _names(curves, scale.right_px + 8, names_px - 12),
        *(text(8, _BASE_PX + 40 + 16 * i, words) for i, words in enumerate(lines)),
    ]
    return document("comparison", width_px, _BASE_PX + 34 + 16 * len(lines), title, words, *body)


def comparison_table(groups: Sequence[Group], of: str) -> FigureTable:
    """One row for each planting and measured date."""
    headers = ("compared", "planting", "date", "week", SHARE_WORDS[of])
    rows = []
    for group in groups:
        for season in group.seasons:
            for point, estimate in _measured(season, of):
                when = day_words(point.taken_on), week_words(season.planted_on, point.taken_on)
                rows.append((group.label, _planting_name(season), *when, estimate_words(of, estimate)))
    return FigureTable(f"{SHARE_WORDS[of]}, compared", headers, tuple(rows))


def _planting_name(season: PlantingSeason) -> str:
    return f"{season_name(season)}, {season.place}"


def _measured(season: PlantingSeason, of: str) -> list[tuple[SeasonPoint, Estimate]]:
    """Days with the number; of a plant grown for its leaves, canopy fill only."""
    if season.foliage_only and of != "canopy_fill":
        return []
    pairs = [(point, getattr(point, of)) for point in points_by_day(season)]
    return [(point, estimate) for point, estimate in pairs if estimate is not None]


#: By age every planting begins on this day.
_AGE_ZERO = date(2000, 1, 1)


def _day(season: PlantingSeason, day: date, by_age: bool) -> date:
    return _AGE_ZERO + (day - season.planted_on) if by_age else day


def _scale(seasons: Sequence[tuple[int, Group, PlantingSeason]], of: str, by_age: bool, right_px: float) -> SeasonScale:
    days = [_day(season, point.taken_on, by_age) for _, _, season in seasons for point, _ in _measured(season, of)]
    starts = [_day(season, season.planted_on, by_age) for _, _, season in seasons]
    first = min(starts, default=_AGE_ZERO)
    return SeasonScale(first, max([*days, first + timedelta(days=28)]), _LEFT_PX, right_px)


def _highest(seasons: Sequence[tuple[int, Group, PlantingSeason]], of: str) -> float:
    if of == "canopy_fill":
        return 1.0
    top = max((estimate.value for _, _, season in seasons for _, estimate in _measured(season, of)), default=0.0)
    return next((step for step in (0.1, 0.2, 0.4, 0.6, 1.0, 2.0, 4.0, 8.0) if step >= top), top)


def _curve(
    position: int, group: Group, season: PlantingSeason, of: str, scale: SeasonScale, highest: float, by_age: bool
) -> _Curve:
    days = tuple(
        (
            scale.x(_day(season, point.taken_on, by_age)),
            _BASE_PX - min(estimate.value / highest, 1.0) * (_BASE_PX - _TOP_PX),
            point,
            estimate,
        )
        for point, estimate in _measured(season, of)
    )
    return _Curve(position, group.label, season, days)


def _axis(scale: SeasonScale, by_age: bool, of: str, highest: float) -> Svg:
    parts = []
    for share in (0.0, 0.5, 1.0):
        y = _BASE_PX - share * (_BASE_PX - _TOP_PX)
        words = f"{share * highest:.2g}" if of == "flower_to_leaf" else f"{share * highest * 100:.0f} %"
        parts.append(line(scale.left_px, y, scale.right_px, y, opacity=0.75 if not share else 0.18))
        parts.append(text(scale.left_px - 6, y + 4, words, text_anchor="end", opacity=MUTED))
    if not by_age:
        return join(month_names(scale, 14), month_lines(scale, 18, _BASE_PX), *parts)
    weeks = (scale.last - scale.first).days // 7
    step = next((s for s in (1, 2, 4, 8) if s * 7 * scale.px_per_day >= 24), 13)
    for week in range(0, weeks + 1, step):
        x = scale.left_px + 7 * week * scale.px_per_day
        parts.append(line(x, _BASE_PX, x, _BASE_PX + 5, opacity=0.5))
        parts.append(text(x, _BASE_PX + 17, str(week), text_anchor="middle", opacity=MUTED))
    parts.append(text(8, _BASE_PX + 17, "week", opacity=MUTED))
    return join(*parts)


def _marked(scale: SeasonScale, marked_day: int | date | None, by_age: bool) -> Svg:
    if marked_day is None or by_age == isinstance(marked_day, date):
        return Svg("")
    day = marked_day if isinstance(marked_day, date) else _AGE_ZERO + timedelta(days=marked_day)
    if not scale.holds(day):
        return Svg("")
    return line(scale.x(day), _TOP_PX - 4, scale.x(day), _BASE_PX, opacity=0.75, class_="fig-moment")


def _drawn(curve: _Curve, of: str, gap_days: int) -> Svg:
    parts = []
    for (x1, y1, before, _), (x2, y2, after, _) in pairwise(curve.days):
        if (after.taken_on - before.taken_on).days <= gap_days:
            stroke = {"stroke_dasharray": dash(curve.position), "stroke_width": 1.5, "class_": "fig-line"}
            parts.append(line(x1, y1, x2, y2, opacity=0.85, **stroke))
    for x, y, point, estimate in curve.days:
        when = f"{day_words(point.taken_on)}, {week_words(curve.season.planted_on, point.taken_on)}"
        parts.append(
            tag(
                "g",
                tag("title", f"{_planting_name(curve.season)}, {when}: {estimate_words(of, estimate)}"),
                tag("circle", cx=x, cy=y, r=9, fill="transparent"),
                mark(curve.position, x, y),
                class_="fig-date",
                data_planting=curve.season.planting_id,
                data_photo=point.photo_id,
                data_date=point.taken_on.isoformat(),
            )
        )
    return join(*parts)


def _names(curves: Sequence[_Curve], x: float, room_px: float) -> Svg:
    """Each name at the height of its curve's end, moved apart where they would touch, joined to it by a thin line."""
    named: dict[int, _Curve] = {}
    for curve in curves:
        named.setdefault(curve.position, curve)
    ordered = sorted(named.values(), key=lambda curve: (curve.days[-1][1], curve.position))
    heights = spread([curve.days[-1][1] for curve in ordered], _LABEL_LINE_PX, _TOP_PX, _BASE_PX)
    parts = []
    for curve, y in zip(ordered, heights, strict=True):
        end_x, end_y = curve.days[-1][0], curve.days[-1][1]
        parts.append(line(end_x + 5, end_y, x - 2, y, opacity=0.35))
        parts.append(
            tag(
                "g",
                tag("title", curve.label),
                mark(curve.position, x + 4, y),
                haloed(x + 13, y + 4, _fitting(curve.label, room_px - 10)),
                class_="fig-name",
                data_planting=curve.season.planting_id,
            )
        )
    return join(*parts)


def _fitting(label: str, room_px: float) -> str:
    """A name that does not fit goes without its genus first: the title and the table hold it whole."""
    _, quote, name = label.partition("‘")
    is_whole = not quote or text_width(label, SMALL_PX) <= room_px
    return shorten(label if is_whole else f"‘{name}", SMALL_PX, room_px)


def spread(heights: Sequence[float], apart: float, top: float, base: float) -> list[float]:
    """Increasing heights moved as little as is easy so that neighbours are ``apart``, within ``top`` and ``base``
    as far as there is room."""
    moved: list[float] = []
    for height in heights:
        moved.append(max(height, moved[-1] + apart) if moved else max(height, top))
    over = moved[-1] - base if moved else 0.0
    if over > 0:
        limit = base
        for at in range(len(moved) - 1, -1, -1):
            moved[at] = min(moved[at], limit)
            limit = moved[at] - apart
    return moved


def _description(groups: Sequence[Group], curves: Sequence[_Curve]) -> str:
    missing = [group.label for i, group in enumerate(groups) if i not in {curve.position for curve in curves}]
    joined = "Joined by straight lines between measured days; gaps are left open."
    return joined + (f" Nothing measured: {'; '.join(missing)}." if missing else "")
