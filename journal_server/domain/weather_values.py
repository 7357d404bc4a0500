"""Temperatures and rain as files and people write them, in one form: °C, mm. Pure."""

from __future__ import annotations

import re

from journal_server.domain.field_checks import shown
from journal_server.errors import InputRefused

TEMPERATURE_UNITS = ("°C", "°F", "tenths of °C")
RAIN_UNITS = ("mm", "inches", "tenths of mm")

_MISSING = ("", "-", "--", "m", "na", "n/a", "nan", "null", "none", "-9999", "-999", "9999")
_TRACE = ("t", "trace")
_MM_AN_INCH = 25.4


def read_number(words: str) -> float | None:
    """The number, with a point or a comma; None where the words say that there is none."""
    text = words.strip().replace("−", "-").replace("\u00a0", "")
    if text.lower() in _MISSING:
        return None
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    if not re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)", text):
        raise InputRefused(f"{shown(words)} is not a number.")
    return float(text)


def read_rain(words: str) -> float | None:
    """As ``read_number``; a trace (T) is rain too little to measure: 0."""
    return 0.0 if words.strip().lower() in _TRACE else read_number(words)


def in_celsius(value: float, unit: str) -> float:
    """To the hundredth, so that whole degrees Fahrenheit come back as they were."""
    if unit == "°F":
        return round((value - 32) * 5 / 9, 2)
    return round(value / 10 if unit.startswith("tenths") else value, 2)


def in_millimetres(value: float, unit: str) -> float:
    if unit == "inches":
        return round(value * _MM_AN_INCH, 2)
    return round(value / 10 if unit.startswith("tenths") else value, 2)
