"""The public GHCN-Daily files of weather stations, in the two CSV layouts in which they are given out. Pure.

Source: Menne, M. J., Durre, I., Vose, R. S., Gleason, B. E. and Houston, T. G. (2012), An overview of the Global
Historical Climatology Network-Daily database, Journal of Atmospheric and Oceanic Technology 29, 897-910; data from
NOAA's National Centers for Environmental Information. The layouts are given here from memory of the files' own notes:

- by station ("access" files): a line of headings with STATION, DATE (2026-05-16) and one column for each element,
  TMAX and TMIN in tenths of °C, PRCP in tenths of mm; beside each a column such as TMAX_ATTRIBUTES with
  "measurement flag,quality flag,source flag", sometimes with the time of observation behind them.
- by element (the older layout): no headings; station, day (20260516), element, value in the same tenths,
  measurement flag, quality flag, source flag, time of observation.

A quality flag that is not empty says that the value failed a check: it is left out and counted.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from journal_server.domain.text_table import TextTable
from journal_server.domain.weather_table import HIGH, LOW, RAIN, WeatherRow
from journal_server.domain.weather_values import read_number
from journal_server.domain.written_days import read_day
from journal_server.errors import InputRefused

BY_STATION, BY_ELEMENT = "GHCN-Daily, by station", "GHCN-Daily, by element"

_ELEMENTS = {"TMIN": LOW, "TMAX": HIGH, "PRCP": RAIN}
_STATION = re.compile(r"[A-Z]{2}[A-Z0-9_\-]{9}")


@dataclass
class StationDays:
    """Days of one station in the time asked for.

    ``failed`` counts the values whose quality flag says that they failed a check, ``outside`` the days of other times.
    """

    station: str
    rows: list[WeatherRow] = field(default_factory=list)
    failed: int = 0
    outside: int = 0


@dataclass(frozen=True)
class _Value:
    line: int
    station: str
    day: str
    element: str
    value: str
    quality: str


def layout_of(table: TextTable) -> str | None:
    """Which of the two layouts a table has, if either."""
    headings = set(_headings(table))
    if {"STATION", "DATE"} <= headings and headings & set(_ELEMENTS):
        return BY_STATION
    if not table.headings and all(
        len(cells) >= 6 and _STATION.fullmatch(cells[0]) and re.fullmatch(r"\d{8}", cells[1])
        for _, cells in table.rows[:20]
    ):
        return BY_ELEMENT
    return None


def stations_in(table: TextTable, layout: str) -> list[str]:
    at = _headings(table).index("STATION") if layout == BY_STATION else 0
    return sorted({cells[at] for _, cells in table.rows if len(cells) > at and cells[at]})


def read_station_days(
    table: TextTable, layout: str, station: str, first: date = date.min, last: date = date.max
) -> StationDays:
    """Minimum, maximum and rain of the station's days; all else in the file is passed over.

    Such a file may hold a hundred years: what is outside the time asked for is told by its text, before it is read.
    """
    found = StationDays(station)
    outside: set[str] = set()
    earliest, latest = (day.isoformat().replace("-", "") for day in (first, last))
    days: dict[tuple[str, int], WeatherRow] = {}
    times_told: Counter[tuple[str, str]] = Counter()
    for value in _values(table, layout):
        if value.station != station or value.element not in _ELEMENTS or not value.value:
            continue
        day = value.day.replace("-", "")
        if len(day) == 8 and day.isdigit() and not earliest <= day <= latest:
            outside.add(value.day)
            continue
        times_told[value.day, value.element] += 1
        key = (value.day, times_told[value.day, value.element])
        row = days[key] = days.get(key) or _begun(value)
        if value.quality:
            found.failed += 1
            continue
        try:
            number = read_number(value.value)
            row.values[_ELEMENTS[value.element]] = None if number is None else number / 10
        except InputRefused as error:
            row.errors.append(InputRefused(str(error), _ELEMENTS[value.element]))
    found.outside = len(outside)
    found.rows = sorted(days.values(), key=lambda row: (row.day or date.min, row.line))
    return found


def _begun(value: _Value) -> WeatherRow:
    row = WeatherRow(value.line, values=dict.fromkeys((LOW, HIGH, RAIN)))
    try:
        row.day = read_day(value.day)
    except InputRefused as error:
        row.errors.append(InputRefused(str(error), "day"))
    return row


def _values(table: TextTable, layout: str) -> Iterator[_Value]:
    if layout == BY_ELEMENT:
        for line, cells in table.rows:
            station, day, element, value, _, quality = (*cells, *[""] * 6)[:6]
            yield _Value(line, station, day, element, value, quality)
        return
    headings = _headings(table)
    for line, cells in table.rows:
        row = dict(zip(headings, cells, strict=False))
        for element in _ELEMENTS:
            flags = [flag.strip() for flag in row.get(f"{element}_ATTRIBUTES", "").split(",")]
            quality = flags[1] if len(flags) > 1 else ""
            yield _Value(line, row.get("STATION", ""), row.get("DATE", ""), element, row.get(element, ""), quality)


def _headings(table: TextTable) -> list[str]:
    return [heading.upper() for heading in table.headings]
