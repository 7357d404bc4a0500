"""The weather of a trial: what it comes to, and files of it."""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import Blueprint, Response, jsonify, request

from journal_server.api.answers import body, checked, chosen_columns, file_text, flag, journal, trial_of
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
    dry_run = flag(given, "dry_run", default=True)
    text = file_text(given, LONGEST_FILE)
    outcome = import_weather(journal(), trial_of(given), text, _choices(given), dry_run=dry_run)
    return jsonify(outcome.as_dict()), 422 if outcome.has_errors and not dry_run else 200


def _choices(given: dict[str, Any]) -> ImportChoices:
    return ImportChoices(
        columns=chosen_columns(given, COLUMNS, WIDEST_FILE),
        date_order=_one_of(given, "date_order", DATE_ORDERS),
        temperature_unit=_one_of(given, "temperature_unit", TEMPERATURE_UNITS),
        rain_unit=_one_of(given, "rain_unit", RAIN_UNITS),
        station=_words(given, "station"),
        first_day=_day(given, "first_day"),
        last_day=_day(given, "last_day"),
        forecast=flag(given, "forecast", default=False),
        replace=flag(given, "replace", default=False),
    )


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
