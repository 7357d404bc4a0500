"""Heat days and growing degree days against hand-worked numbers."""

from __future__ import annotations

from datetime import date

import pytest
from analysis.sample_season import weather

from journal_server.analysis.weather import DayWeather, growing_degree_days, heat_days


def test_degree_days_by_method_one() -> None:
    """McMaster and Wilhelm 1997, method 1, base 10: means 20, 9 and 15.5 give 10 + 0 + 5.5 (worked by hand).

    Method 2 of the same paper would raise the minimum of the second day to the base and give 1.5 for it.
    """
    days = [
        DayWeather(date(2026, 6, 1), 12, 28),
        DayWeather(date(2026, 6, 2), 5, 13),
        DayWeather(date(2026, 6, 3), 9, 22),
        DayWeather(date(2026, 6, 4), None, 22),
    ]
    found = growing_degree_days(days)
    assert found.total == pytest.approx(15.5)
    assert (found.days_counted, found.days_missing) == (3, 1)
    assert growing_degree_days(days, base_c=5).total == pytest.approx(15 + 4 + 10.5)


def test_a_day_at_the_threshold_is_a_heat_day() -> None:
    days = [DayWeather(date(2026, 7, i), None, t) for i, t in ((3, 32.0), (1, 31.9), (2, 35.0))]
    days.append(DayWeather(date(2026, 7, 4)))
    assert heat_days(days) == (date(2026, 7, 2), date(2026, 7, 3))
    assert heat_days(days, threshold_c=31) == (date(2026, 7, 1), date(2026, 7, 2), date(2026, 7, 3))


def test_the_sample_season_has_its_hot_spell_in_july() -> None:
    assert heat_days(weather()) == (date(2026, 7, 25), date(2026, 7, 26))
