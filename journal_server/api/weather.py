"""The weather of a trial: what it comes to, and files of it."""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import body, checked, flag, journal
from journal_server.domain.field_checks import day, one_of
from journal_server.domain.weather_table import COLUMNS
from journal_server.domain.weather_values import RAIN_UNITS, TEMPERATURE_UNITS
from journal_server.domain.written_days import DATE_ORDERS
from journal_server.errors import InputRefused
from journal_server.services.weather import weather_of_trial
from journal_server.services.weather_import import ImportChoices, import_weather

blueprint = Blueprint("weather", __name__)

LONGEST_FILE = 20_000_000
WIDEST_FILE = 500


@blueprint.get("/weather")
def weather() -> Response:
    return jsonify(weather_of_trial(journal(), request.args.get("trial", "")))


@blueprint.post("/weather/import")
def import_file() -> tuple[Response, int]:
    given = body()
    trial_id, text = given.get("trial_id"), given.get("text")
    if not isinstance(trial_id, str):
        raise InputRefused("Choose the trial first.", "trial_id")
    if not isinstance(text, str) or len(text) > LONGEST_FILE:
        raise InputRefused(f"The file must be text of at most {LONGEST_FILE // 1_000_000} MB.", "text")
    dry_run = flag(given, "dry_run", default=True)
    outcome = import_weather(journal(), trial_id, text, _choices(given), dry_run=dry_run)
    return jsonify(outcome.as_dict()), 422 if outcome.has_errors and not dry_run else 200


def _choices(given: dict[str, Any]) -> ImportChoices:
    return ImportChoices(
        columns=_columns(given.get("columns")),
        date_order=_one_of(given, "date_order", DATE_ORDERS),
        temperature_unit=_one_of(given, "temperature_unit", TEMPERATURE_UNITS),
        rain_unit=_one_of(given, "rain_unit", RAIN_UNITS),
        station=_words(given, "station"),
        first_day=_day(given, "first_day"),
        last_day=_day(given, "last_day"),
        forecast=flag(given, "forecast", default=False),
        replace=flag(given, "replace", default=False),
    )


def _columns(given: Any) -> dict[str, int | None] | None:
    if given is None:
        return None
    if not isinstance(given, dict) or not set(given) <= set(COLUMNS):
        raise InputRefused(f"The columns are an object with {', '.join(COLUMNS)}.", "columns")
    for name, at in given.items():
        if at is not None and (isinstance(at, bool) or not isinstance(at, int) or not 0 <= at < WIDEST_FILE):
            raise InputRefused("A column is its number, counted from 0, or null.", name)
    return {name: given.get(name) for name in COLUMNS}


def _one_of(given: dict[str, Any], name: str, choices: tuple[str, ...]) -> str | None:
    chosen: str | None = checked(given, name, one_of(*choices))
    return chosen


def _day(given: dict[str, Any], name: str) -> date | None:
    found = checked(given, name, day())
    return date.fromisoformat(found) if found else None


def _words(given: dict[str, Any], name: str) -> str | None:
    value = given.get(name)
    if value is not None and not isinstance(value, str):
        raise InputRefused("This must be text.", name)
    return value or None
