"""What surrounds the plants, above the ribbons: heat days, rain, and care, each in a lane with its word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import sqrt

from journal_server.analysis.weather import DayWeather, heat_days
from journal_server.domain.dates import day_words
from journal_server.domain.units import Units
from journal_server.domain.words import counted
from journal_server.figures.season_axis import SeasonScale
from journal_server.figures.svg import INK, MUTED, SMALL_PX, Svg, haloed, join, shorten, tag


@dataclass(frozen=True)
class CareMark:
    """Something done on a day: ``words`` such as "fed"; the plantings it was done to; a remark."""

    day: date
    words: str
    planting_ids: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class LaneSpace:
    """Where lanes go: words in a column left of the marks (``words_px`` > 0) or on a line above them."""

    words_left_px: float
    words_px: float

    @property
    def beside(self) -> bool:
        return self.words_px > 0


_MARK_PX = 9
_HEAVIEST_RAIN_MM = 50.0
_LEAST_RAIN_MM = 0.5


def lane_height(space: LaneSpace) -> float:
    return 18 if space.beside else 27


def weather_lanes(
    weather: Sequence[DayWeather], scale: SeasonScale, space: LaneSpace, top: float, threshold_c: float, units: Units
) -> tuple[Svg, int]:
    """Heat and rain lanes from ``top`` down, and how many there are (none without weather).

    Days of a forecast are drawn hollow, said to be one, and not counted among the measured.
    """
    inside = [day for day in weather if scale.holds(day.day)]
    if not inside:
        return Svg(""), 0
    lanes = [("fig-heat", *_heat(inside, scale, threshold_c, units)), ("fig-rain", *_rain(inside, scale, units))]
    return _stack(lanes, scale, space, top), len(lanes)


def _heat(weather: Sequence[DayWeather], scale: SeasonScale, threshold_c: float, units: Units) -> tuple[str, list[Svg]]:
    highest = {day.day: day for day in weather if day.tmax_c is not None}
    words = f"heat, {units.temperature_words(threshold_c, exact=True)} or more: "
    if not highest:
        return words + "not recorded", []
    hot = [highest[day] for day in heat_days(highest.values(), threshold_c=threshold_c)]
    bars = [_bar(scale, day, 1.0, 0.9, units.temperature_words(day.tmax_c or 0)) for day in hot]
    ahead = sum(day.forecast for day in hot)
    return words + counted(len(hot) - ahead, "day") + (f", {ahead} more forecast" if ahead else ""), bars


def _rain(weather: Sequence[DayWeather], scale: SeasonScale, units: Units) -> tuple[str, list[Svg]]:
    """Bars on a square-root scale, so that a shower is still seen beside a cloudburst."""
    fallen = [(day, day.rain_mm) for day in weather if day.rain_mm is not None]
    if not fallen:
        return "rain: not recorded", []
    bars = [
        _bar(scale, day, sqrt(min(1.0, mm / _HEAVIEST_RAIN_MM)), 0.5, f"{units.rain_words(mm)} rain")
        for day, mm in fallen
        if mm >= _LEAST_RAIN_MM
    ]
    return f"rain: {units.rain_words(sum(mm for day, mm in fallen if not day.forecast))}", bars


def care_lanes(care: Sequence[CareMark], scale: SeasonScale, space: LaneSpace, top: float) -> tuple[Svg, int]:
    """One lane for each kind of care, in the order of its first day."""
    kinds: dict[str, dict[date, list[CareMark]]] = {}
    for mark in sorted(care, key=lambda mark: (mark.day, mark.words, mark.planting_ids, mark.note)):
        if scale.holds(mark.day):
            kinds.setdefault(mark.words, {}).setdefault(mark.day, []).append(mark)
    lanes = [
        (
            "fig-care",
            f"{words}: {counted(len(days), 'day')}",
            [_dot(scale, day, _care_words(day, marks)) for day, marks in days.items()],
        )
        for words, days in kinds.items()
    ]
    return _stack(lanes, scale, space, top), len(lanes)


def _stack(lanes: Sequence[tuple[str, str, list[Svg]]], scale: SeasonScale, space: LaneSpace, top: float) -> Svg:
    drawn = []
    for i, (kind, words, marks) in enumerate(lanes):
        y = top + i * lane_height(space)
        room = space.words_px - 10 if space.beside else scale.right_px - space.words_left_px
        label = shorten(words, SMALL_PX, room)
        words_y, marks_y = (y + 12, y + 4) if space.beside else (y + 11, y + 15)
        drawn += [
            haloed(space.words_left_px, words_y, label, fill_opacity=MUTED),
            tag("g", *marks, class_=kind, transform=f"translate(0 {marks_y:g})"),
        ]
    return join(*drawn)


def _bar(scale: SeasonScale, day: DayWeather, share: float, opacity: float, words: str) -> Svg:
    width = max(1.5, scale.px_per_day * 0.8)
    height = max(1.5, _MARK_PX * share)
    left = scale.x(day.day) - width / 2
    title = tag("title", f"{day_words(day.day)}: {words}" + (", forecast" if day.forecast else ""))
    box = {"x": left, "y": _MARK_PX - height, "width": width, "height": height}
    if day.forecast:
        return tag("rect", title, **box, fill="none", stroke=INK, stroke_width=0.75)
    return tag("rect", title, **box, fill=INK, fill_opacity=opacity)


def _dot(scale: SeasonScale, day: date, words: str) -> Svg:
    title = tag("title", words)
    return tag(
        "circle",
        title,
        cx=scale.x(day),
        cy=_MARK_PX / 2,
        r=2.5,
        fill=INK,
        fill_opacity=0.75,
        data_date=day.isoformat(),
    )


def _care_words(day: date, marks: Sequence[CareMark]) -> str:
    plantings = sorted({planting for mark in marks for planting in mark.planting_ids})
    notes = sorted({mark.note for mark in marks if mark.note})
    to = f" {counted(len(plantings), 'planting')}" if plantings else ""
    return f"{day_words(day)}: {marks[0].words}{to}" + (f" ({'; '.join(notes)})" if notes else "")
