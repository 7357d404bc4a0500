"""Taking in a weather file: looked at first, row by row, then written whole or not at all."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from journal_server.domain.dates import full_day_words
from journal_server.domain.derived_ids import derived_id
from journal_server.domain.ghcn_daily import layout_of, read_station_days, stations_in
from journal_server.domain.text_table import TextTable
from journal_server.domain.weather_table import (
    DAY,
    HIGH,
    LOW,
    RAIN,
    WeatherRow,
    cells_of,
    guess_columns,
    guess_units,
    read_rows,
    read_table,
)
from journal_server.domain.written_days import date_orders, needs_an_order
from journal_server.errors import InputRefused
from journal_server.services.apply_changes import Change, apply_change
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.services.weather import NUMBERS
from journal_server.storage.records import Record, load_records

COLUMNS_LAYOUT = "columns"
OUTSIDE = "days outside the time asked for"
MOST_DAYS = 1500

NEW, FILLS_FORECAST, CHANGES, SAME, KEPT = (
    "new",
    "replaces the forecast",
    "changes",
    "the same already",
    "kept as it is",
)
"""What becomes of a day of the file in the journal."""


@dataclass(frozen=True)
class ImportChoices:
    """How a person says that the file is to be read; what is None is guessed."""

    columns: dict[str, int | None] | None = None
    date_order: str | None = None
    temperature_unit: str | None = None
    rain_unit: str | None = None
    station: str | None = None
    first_day: date | None = None
    last_day: date | None = None
    forecast: bool = False
    replace: bool = False
    """Whether days that were measured already, with other values, are overwritten."""


@dataclass
class ImportOutcome:
    layout: str
    choices: dict[str, Any]
    headings: tuple[str, ...] = ()
    sample: list[tuple[str, ...]] = field(default_factory=list)
    stations: list[str] = field(default_factory=list)
    date_orders: list[str] = field(default_factory=list)
    rows: list[WeatherRow] = field(default_factory=list)
    becomes: dict[int, str] = field(default_factory=dict)
    left_out: Counter[str] = field(default_factory=Counter)
    problems: list[InputRefused] = field(default_factory=list)
    """What is wrong with the file as a whole: a choice is missing."""
    written: int = 0

    @property
    def has_errors(self) -> bool:
        return bool(self.problems) or any(row.errors for row in self.rows)

    def as_dict(self) -> dict[str, Any]:
        return {
            "layout": self.layout,
            "choices": self.choices,
            "headings": self.headings,
            "sample": self.sample,
            "stations": self.stations,
            "date_orders": self.date_orders,
            "rows": [self._row(row) for row in self.rows],
            "counts": dict(Counter(self.becomes.values())) | {"wrong": sum(bool(row.errors) for row in self.rows)},
            "left_out": dict(self.left_out),
            "problems": [_told(error) for error in self.problems],
            "written": self.written,
        }

    def _row(self, row: WeatherRow) -> dict[str, Any]:
        return {
            "line": row.line,
            "day": row.day.isoformat() if row.day else None,
            **{name: row.values.get(name) for name in NUMBERS},
            "becomes": self.becomes.get(row.line),
            "errors": [_told(error) for error in row.errors],
        }


class _Undo(Exception):
    """Leaves the transaction without keeping anything."""


def import_weather(
    journal: Journal, trial_id: str, text: str, choices: ImportChoices, *, dry_run: bool
) -> ImportOutcome:
    """Read the file, check every day by really writing it, and keep the result only if all is well."""
    outcome = _read(read_table(text), choices)
    _drop_what_is_not_wanted(outcome, choices)
    _say_days_told_twice(outcome)
    if not choices.forecast:
        _say_days_to_come(outcome, journal.today())
    try:
        with journal.database.writing() as session:
            existing(session, "trial", trial_id)
            written = _write(session, trial_id, outcome, choices)
            if dry_run or outcome.has_errors:
                raise _Undo
    except _Undo:
        return outcome
    outcome.written = written
    return outcome


def _read(table: TextTable, choices: ImportChoices) -> ImportOutcome:
    layout = None if choices.columns else layout_of(table)
    sample = table.sample
    if layout is None:
        return _read_columns(table, choices, ImportOutcome(COLUMNS_LAYOUT, {}, table.headings, sample))
    stations = stations_in(table, layout)
    outcome = ImportOutcome(layout, {"station": choices.station}, table.headings, sample, stations)
    station = choices.station or (stations[0] if len(stations) == 1 else None)
    if station not in stations:
        outcome.problems.append(InputRefused("The file holds several stations; choose one.", "station"))
        return outcome
    days = read_station_days(table, layout, station, choices.first_day or date.min, choices.last_day or date.max)
    outcome.choices["station"] = station
    outcome.rows = days.rows
    if days.outside:
        outcome.left_out[OUTSIDE] = days.outside
    if days.failed:
        outcome.left_out["values that failed the station's own checks"] = days.failed
    return outcome


def _read_columns(table: TextTable, choices: ImportChoices, outcome: ImportOutcome) -> ImportOutcome:
    columns = choices.columns or guess_columns(table)
    units = guess_units(table, columns)
    temperature_unit = choices.temperature_unit or units.get("temperature", "°C")
    rain_unit = choices.rain_unit or units.get("rain", "mm")
    days = cells_of(table, columns.get(DAY))
    outcome.date_orders = sorted(date_orders(days)) if needs_an_order(days) else []
    order = choices.date_order or (outcome.date_orders[0] if len(outcome.date_orders) == 1 else None)
    outcome.choices = {
        "columns": columns,
        "date_order": order,
        "temperature_unit": temperature_unit,
        "rain_unit": rain_unit,
    }
    if columns.get(DAY) is None:
        outcome.problems.append(InputRefused("Say which column holds the day.", "day"))
    elif all(columns.get(name) is None for name in (LOW, HIGH, RAIN)):
        outcome.problems.append(
            InputRefused("Say which column holds the lowest or highest temperature, or the rain.", "tmax_c")
        )
    elif order is None and len(outcome.date_orders) == 2:
        outcome.problems.append(
            InputRefused("The dates can be read day first or month first; say which.", "date_order")
        )
    else:
        outcome.rows = read_rows(table, columns, order, temperature_unit, rain_unit)
    return outcome


def _drop_what_is_not_wanted(outcome: ImportOutcome, choices: ImportChoices) -> None:
    first, last = choices.first_day or date.min, choices.last_day or date.max
    wanted = []
    for row in outcome.rows:
        if row.day and not first <= row.day <= last:
            outcome.left_out[OUTSIDE] += 1
        elif row.is_empty:
            outcome.left_out["days without any value"] += 1
        else:
            wanted.append(row)
    outcome.rows = wanted
    if len(wanted) > MOST_DAYS:
        outcome.rows = []
        outcome.problems.append(
            InputRefused(
                f"These are {len(wanted)} days; at most {MOST_DAYS} go in at once. Choose a shorter time.", "first_day"
            )
        )


def _say_days_told_twice(outcome: ImportOutcome) -> None:
    first_line: dict[date, int] = {}
    for row in outcome.rows:
        if row.day is None:
            continue
        if row.day in first_line:
            says = f"{full_day_words(row.day)} stands in line {first_line[row.day]} already: take one of them out."
            row.errors.append(InputRefused(says, DAY))
        first_line.setdefault(row.day, row.line)


def _say_days_to_come(outcome: ImportOutcome, today: date) -> None:
    for row in outcome.rows:
        if row.day is not None and row.day > today:
            says = f"{full_day_words(row.day)} has not been yet: say that the file is a forecast, or end it earlier."
            row.errors.append(InputRefused(says, DAY))


def _write(session: Session, trial_id: str, outcome: ImportOutcome, choices: ImportChoices) -> int:
    known = _known_days(session, trial_id)
    written = 0
    for row in outcome.rows:
        if row.day is None or row.errors:
            continue
        here = known.get(row.day.isoformat())
        becomes = _becomes(row, here, choices)
        if becomes in (SAME, KEPT):
            outcome.becomes[row.line] = becomes
            continue
        fields = {"trial_id": trial_id, "day": row.day.isoformat(), "forecast": choices.forecast, **_given(row, here)}
        identity = here.id if here else derived_id("weather", trial_id, row.day.isoformat())
        result = apply_change(session, _change(session, identity, fields))
        row.errors += [_with_a_hint(error) for error in result.errors]
        if not row.errors:
            outcome.becomes[row.line] = becomes
            written += 1
    return written


def _change(session: Session, identity: str, fields: dict[str, Any]) -> Change:
    """A day that was deleted is put back first: its id follows from the day, so that there is no other."""
    apply_change(session, Change("weather", identity, restore=True))
    return Change("weather", identity, fields)


def _given(row: WeatherRow, here: Record | None) -> dict[str, float | None]:
    """Over a forecast the whole day is written; over a measured day only what the file tells."""
    if here is None or here.fields.get("forecast"):
        return {name: row.values.get(name) for name in NUMBERS}
    return {name: value for name, value in row.values.items() if value is not None}


def _becomes(row: WeatherRow, here: Record | None, choices: ImportChoices) -> str:
    if here is None:
        return NEW
    was_forecast = bool(here.fields.get("forecast"))
    given = _given(row, here)
    same = all(here.fields.get(name) == value for name, value in given.items())
    if same and was_forecast == choices.forecast:
        return SAME
    if was_forecast:
        return CHANGES if choices.forecast else FILLS_FORECAST
    fills_gaps_only = all(here.fields.get(name) in (None, value) for name, value in given.items())
    if choices.forecast or not (choices.replace or fills_gaps_only):
        return KEPT
    return CHANGES


def _known_days(session: Session, trial_id: str) -> dict[str, Record]:
    """The record that counts for each day: the measured one, of two alike the later."""
    known: dict[str, Record] = {}
    for record in load_records(session, "weather", equals={"trial_id": trial_id}):
        before = known.get(record.fields["day"])
        if before is None or before.fields.get("forecast") or not record.fields.get("forecast"):
            known[record.fields["day"]] = record
    return known


def _with_a_hint(error: InputRefused) -> InputRefused:
    unit = {LOW: "°F", HIGH: "°F", RAIN: "inches"}.get(error.field or "")
    hint = f" Is the file in another unit ({unit})?" if unit and "must be from" in str(error) else ""
    return InputRefused(f"{error}{hint}", error.field)


def _told(error: InputRefused) -> dict[str, Any]:
    return {"field": error.field, "message": str(error)}
