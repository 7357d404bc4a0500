"""The weather of a trial: one entry a day, heat days and growing degree days, measured and forecast told apart."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from journal_server.analysis.weather import BASE_C, DayWeather, growing_degree_days, heat_days, one_a_day
from journal_server.services.existing import existing
from journal_server.services.journal import Journal
from journal_server.services.weather_quotes import degree_days_quote, heat_quote, rain_quote
from journal_server.settings import units_of
from journal_server.storage.records import Record, load_records

NUMBERS = ("tmin_c", "tmax_c", "rain_mm")


def load_weather(session: Session, trial_id: str) -> tuple[DayWeather, ...]:
    """One entry for each day of which anything is known, in order of days."""
    return one_a_day(_day_weather(record) for record in load_records(session, "weather", equals={"trial_id": trial_id}))


def weather_of_trial(journal: Journal, trial_id: str) -> dict[str, Any]:
    """Counts and sums of the measured days, those of the forecast beside them."""
    threshold_c = journal.setting("heat_day_c")
    with journal.database.reading() as session:
        trial = existing(session, "trial", trial_id)
        weather = load_weather(session, trial_id)
        planted = [r.fields["planted_on"] for r in load_records(session, "planting", equals={"trial_id": trial_id})]
    measured = [day for day in weather if not day.forecast]
    first = date.fromisoformat(min(planted)) if planted else None
    last = max((day.day for day in measured), default=None)
    begins = first or min((day.day for day in measured), default=None)
    degree_days = growing_degree_days(measured, first=begins, last=last) if begins and last else None
    known = degree_days if degree_days and degree_days.days_counted else None
    hot = heat_days(measured, threshold_c=threshold_c)
    rain_mm = sum(d.rain_mm for d in measured if d.rain_mm is not None) if _has_rain(measured) else None
    title, units = trial.fields["title"], units_of(journal.settings())
    quotes = {}
    if measured:
        span = measured[0].day, measured[-1].day
        quotes["heat_days"] = heat_quote(title, units, span, len(hot), threshold_c)
        if rain_mm is not None:
            quotes["rain"] = rain_quote(title, units, span, rain_mm)
    if known and begins and last:
        quotes["degree_days"] = degree_days_quote(title, units, (begins, last), known)
    return {
        "trial_id": trial_id,
        "heat_day_c": threshold_c,
        "base_c": BASE_C,
        "heat_days": [day.isoformat() for day in hot],
        "heat_days_forecast": [
            day.isoformat() for day in heat_days((d for d in weather if d.forecast), threshold_c=threshold_c)
        ],
        "from": begins.isoformat() if begins else None,
        "to": last.isoformat() if last else None,
        "degree_days": asdict(known) if known else None,
        "reasons": {} if known else {"degree_days": _no_degree_days(measured)},
        "rain_mm": rain_mm,
        "quotes": quotes,
    }


def _no_degree_days(measured: list[DayWeather]) -> str:
    if not measured:
        return "No day has been measured yet."
    return "No measured day since planting has both a lowest and a highest temperature."


def _has_rain(days: list[DayWeather]) -> bool:
    return any(day.rain_mm is not None for day in days)


def _day_weather(record: Record) -> DayWeather:
    numbers = {name: record.fields.get(name) for name in NUMBERS}
    return DayWeather(date.fromisoformat(record.fields["day"]), forecast=bool(record.fields.get("forecast")), **numbers)
