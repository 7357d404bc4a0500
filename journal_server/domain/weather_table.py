"""A weather file as a table of days: which column says what, row by row, with what cannot be read in words. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from journal_server.domain.text_table import TextTable, read_cells
from journal_server.domain.weather_values import in_celsius, in_millimetres, read_number, read_rain
from journal_server.domain.written_days import needs_an_order, read_day
from journal_server.errors import InputRefused

DAY, LOW, HIGH, RAIN = COLUMNS = ("day", "tmin_c", "tmax_c", "rain_mm")

_HEADINGS = (
    (DAY, r"date|day|datum|obs_?date|time"),
    (LOW, r"(t_?|temp\w*_?)?(min(imum)?|low(est)?)(_?t(emp\w*)?)?"),
    (HIGH, r"(t_?|temp\w*_?)?(max(imum)?|high(est)?)(_?t(emp\w*)?)?"),
    (RAIN, r"rain(fall)?|precip\w*|prcp|pcp|rr"),
)
_UNIT_WORDS = r"_(c|f|deg_?c|deg_?f|celsius|fahrenheit|mm|in|inch|inches)"


@dataclass
class WeatherRow:
    """One day as a file tells it, in °C and mm; ``errors`` say what could not be read."""

    line: int
    day: date | None = None
    values: dict[str, float | None] = field(default_factory=dict)
    errors: list[InputRefused] = field(default_factory=list)

    @property
    def is_empty(self) -> bool:
        return not self.errors and all(value is None for value in self.values.values())


def read_table(text: str) -> TextTable:
    """The text as cells; a line of headings is one in which nothing is a day or a number."""
    rows = read_cells(text, comments="#")
    headings: tuple[str, ...] = ()
    if rows and not any(_is_value(cell) for cell in rows[0][1] if cell):
        headings = rows.pop(0)[1]
    if not rows:
        raise InputRefused("The file has a heading but no day below it.", "text")
    return TextTable(headings, tuple(rows))


def guess_columns(table: TextTable) -> dict[str, int | None]:
    """Which column holds what, by its heading; without headings in the order day, lowest, highest, rain."""
    if not table.headings:
        return {name: at if at < table.width else None for at, name in enumerate(COLUMNS)}
    names = [re.sub(_UNIT_WORDS + "$", "", _plain(heading)) for heading in table.headings]
    guess: dict[str, int | None] = {}
    for column, pattern in _HEADINGS:
        guess[column] = next((at for at, name in enumerate(names) if re.fullmatch(pattern, name)), None)
    return guess


def guess_units(table: TextTable, columns: Mapping[str, int | None]) -> dict[str, str]:
    """Units that the headings name, by ``temperature`` and ``rain``; empty where they name none."""
    named = {name: _plain(table.headings[at]) for name, at in columns.items() if at is not None and table.headings}
    units = {}
    for name in (HIGH, LOW):
        if found := re.search(r"_(?:deg_?)?(c|f)(?:elsius|ahrenheit)?$", named.get(name, "")):
            units["temperature"] = f"°{found[1].upper()}"
    if found := re.search(r"_(mm|in)(ch|ches)?$", named.get(RAIN, "")):
        units["rain"] = "mm" if found[1] == "mm" else "inches"
    return units


def cells_of(table: TextTable, column: int | None) -> list[str]:
    return [cells[column] for _, cells in table.rows if column is not None and column < len(cells)]


def read_rows(
    table: TextTable, columns: Mapping[str, int | None], order: str | None, temperature_unit: str, rain_unit: str
) -> list[WeatherRow]:
    """One row for each line, its values in °C and mm."""
    readers: dict[str, Callable[[str], float | None]] = {
        LOW: lambda cell: _converted(read_number(cell), temperature_unit, in_celsius),
        HIGH: lambda cell: _converted(read_number(cell), temperature_unit, in_celsius),
        RAIN: lambda cell: _converted(read_rain(cell), rain_unit, in_millimetres),
    }
    return [_row(line, cells, columns, order, readers) for line, cells in table.rows]


def _row(
    line: int,
    cells: Sequence[str],
    columns: Mapping[str, int | None],
    order: str | None,
    readers: Mapping[str, Callable[[str], float | None]],
) -> WeatherRow:
    row = WeatherRow(line)

    def cell(name: str) -> str:
        at = columns.get(name)
        return cells[at] if at is not None and at < len(cells) else ""

    try:
        row.day = read_day(cell(DAY), order)
    except InputRefused as error:
        row.errors.append(InputRefused(str(error), DAY))
    for name, read in readers.items():
        try:
            row.values[name] = read(cell(name))
        except InputRefused as error:
            row.values[name] = None
            row.errors.append(InputRefused(str(error), name))
    return row


def _converted(value: float | None, unit: str, convert: Callable[[float, str], float]) -> float | None:
    return None if value is None else convert(value, unit)


def _plain(heading: str) -> str:
    """ "Max. temp (°F)" as "max_temp_f"."""
    return re.sub(r"[^a-z]+", "_", heading.lower().replace("°", " ")).strip("_")


def _is_value(cell: str) -> bool:
    """A day or a number: what a heading is not."""
    if needs_an_order([cell]):
        return True
    for read in (read_day, read_number):
        try:
            return read(cell) is not None
        except InputRefused:
            continue
    return False
