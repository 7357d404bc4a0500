"""Heat days and growing degree days from daily weather; forecast days are kept apart from measured ones."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

HEAT_THRESHOLD_C = 32.0
BASE_C = 10.0


@dataclass(frozen=True)
class DayWeather:
    """One day's weather; what was not recorded is None. ``forecast``: expected, not measured."""

    day: date
    tmin_c: float | None = None
    tmax_c: float | None = None
    rain_mm: float | None = None
    forecast: bool = False


@dataclass(frozen=True)
class DegreeDays:
    """Growing degree days in kelvin days, with how many days counted and how many lacked a temperature."""

    total: float
    days_counted: int
    days_missing: int


def one_a_day(weather: Iterable[DayWeather]) -> tuple[DayWeather, ...]:
    """One entry for each day, in order of days: a measured one before a forecast, of two alike the later given."""
    chosen: dict[date, DayWeather] = {}
    for entry in weather:
        known = chosen.get(entry.day)
        if known is None or known.forecast or not entry.forecast:
            chosen[entry.day] = entry
    return tuple(chosen[day] for day in sorted(chosen))


def heat_days(weather: Iterable[DayWeather], *, threshold_c: float = HEAT_THRESHOLD_C) -> tuple[date, ...]:
    """Days whose maximum is at or above ``threshold_c``, in order; days without a maximum are left out."""
    return tuple(sorted(w.day for w in weather if w.tmax_c is not None and w.tmax_c >= threshold_c))


def growing_degree_days(
    weather: Iterable[DayWeather], *, base_c: float = BASE_C, first: date | None = None, last: date | None = None
) -> DegreeDays:
    """Sum of daily means, (minimum + maximum) / 2, above ``base_c``; no day counts below 0.

    Parameters
    ----------
    weather : one entry a day; a forecast is not counted
    first, last : the days to sum, both included; days among them without an entry are counted as missing. Without
        them all given days are summed

    References
    ----------
    McMaster, G. S. and Wilhelm, W. W. (1997), Growing degree-days: one equation, two interpretations,
    Agricultural and Forest Meteorology 87, 291-300, method 1.
    """
    total, counted, given = 0.0, 0, 0
    for day in weather:
        if day.forecast or (first and day.day < first) or (last and day.day > last):
            continue
        given += 1
        if day.tmin_c is not None and day.tmax_c is not None:
            counted += 1
            total += max((day.tmin_c + day.tmax_c) / 2 - base_c, 0.0)
    asked = max(0, (last - first).days + 1) if first and last else given
    return DegreeDays(total, counted, asked - counted)
