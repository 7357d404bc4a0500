"""Heat days and growing degree days from daily weather."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

HEAT_THRESHOLD_C = 32.0
BASE_C = 10.0


@dataclass(frozen=True)
class DayWeather:
    """One day's weather; what was not recorded is None."""

    day: date
    tmin_c: float | None = None
    tmax_c: float | None = None
    rain_mm: float | None = None


@dataclass(frozen=True)
class DegreeDays:
    """Growing degree days in kelvin days, with how many days counted and how many lacked a temperature."""

    total: float
    days_counted: int
    days_missing: int


def heat_days(weather: Iterable[DayWeather], *, threshold_c: float = HEAT_THRESHOLD_C) -> tuple[date, ...]:
    """Days whose maximum is at or above ``threshold_c``, in order; days without a maximum are left out."""
    return tuple(sorted(w.day for w in weather if w.tmax_c is not None and w.tmax_c >= threshold_c))


def growing_degree_days(weather: Iterable[DayWeather], *, base_c: float = BASE_C) -> DegreeDays:
    """Sum of daily means, (minimum + maximum) / 2, above ``base_c``; no day counts below 0.

    References
    ----------
    McMaster, G. S. and Wilhelm, W. W. (1997), Growing degree-days: one equation, two interpretations,
    Agricultural and Forest Meteorology 87, 291-300, method 1.
    """
    total, counted, missing = 0.0, 0, 0
    for day in weather:
        if day.tmin_c is None or day.tmax_c is None:
            missing += 1
        else:
            counted += 1
            total += max((day.tmin_c + day.tmax_c) / 2 - base_c, 0.0)
    return DegreeDays(total, counted, missing)
