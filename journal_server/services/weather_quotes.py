"""Quotes of what a trial's weather comes to, in the person's units."""

from __future__ import annotations

from datetime import date

from journal_server.analysis.weather import BASE_C, DegreeDays
from journal_server.domain.units import FAHRENHEIT, Units
from journal_server.domain.words import counted
from journal_server.services.quotes import Named, Quoted, quote

Span = tuple[date, date]
"""The first and the last day that count."""


def heat_quote(trial: str, units: Units, span: Span, days: int, threshold_c: float) -> dict[str, str]:
    words = f"heat days, from {units.temperature_words(threshold_c, exact=True)}"
    return quote(Quoted(words, f"{days}", days=span, of=Named(place=trial)))


def degree_days_quote(trial: str, units: Units, span: Span, found: DegreeDays) -> dict[str, str]:
    total, unit = (found.total * 9 / 5, "°F days") if units.temperature == FAHRENHEIT else (found.total, "°C days")
    missing = f"{counted(found.days_missing, 'day')} missing"
    notes = (missing,) if found.days_missing else ()
    words = f"growing degree days above {units.temperature_words(BASE_C, exact=True)}"
    return quote(Quoted(words, f"{total:.0f} {unit}", days=span, of=Named(place=trial), notes=notes))


def rain_quote(trial: str, units: Units, span: Span, rain_mm: float) -> dict[str, str]:
    return quote(Quoted("rain", units.rain_words(rain_mm), days=span, of=Named(place=trial)))
