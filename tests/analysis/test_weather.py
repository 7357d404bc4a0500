"""Heat days and growing degree days against hand-worked numbers."""

from __future__ import annotations

from datetime import date

import pytest
from analysis.sample_season import weather

from journal_server.analysis.weather import DayWeather, growing_degree_days, heat_days, one_a_day


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


@pytest.mark.parametrize(
    ("low", "high", "base", "degree_days"),
    [
        # Extension handbooks' usual example, in Fahrenheit with base 50: (70 + 50) / 2 - 50 = 10 (from memory).
        (50, 70, 50, 10),
        # In Celsius with base 10: 23 and 12 give 7.5; 13 and 5 give 0 by method 1 (encyclopedic example, from memory).
        (12, 23, 10, 7.5),
        (5, 13, 10, 0),
    ],
)
def test_degree_days_of_handbook_examples(low: float, high: float, base: float, degree_days: float) -> None:
    assert growing_degree_days([DayWeather(date(2026, 6, 1), low, high)], base_c=base).total == degree_days


def test_the_fahrenheit_example_in_celsius_is_five_ninths_of_it() -> None:
    day = DayWeather(date(2026, 6, 1), (50 - 32) / 1.8, (70 - 32) / 1.8)
    assert growing_degree_days([day]).total == pytest.approx(10 / 1.8)


def test_days_without_an_entry_are_missing_and_a_forecast_is_not_counted() -> None:
    days = [DayWeather(date(2026, 6, 1), 12, 28), DayWeather(date(2026, 6, 3), 12, 28, forecast=True)]
    found = growing_degree_days(days, first=date(2026, 6, 1), last=date(2026, 6, 4))
    assert (found.total, found.days_counted, found.days_missing) == (10, 1, 3)
    assert growing_degree_days(days, first=date(2026, 6, 2)).total == 0


def test_a_measured_day_takes_the_place_of_its_forecast_whichever_came_first() -> None:
    expected = DayWeather(date(2026, 6, 1), tmax_c=35, forecast=True)
    measured = DayWeather(date(2026, 6, 1), tmax_c=29)
    again = DayWeather(date(2026, 6, 1), tmax_c=30)
    assert one_a_day([expected, measured]) == one_a_day([measured, expected]) == (measured,)
    assert one_a_day([measured, again, expected]) == (again,)
