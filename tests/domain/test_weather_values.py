"""Dates, temperatures and rain as people write them: a table of what is read how, and what is refused."""

from __future__ import annotations

from datetime import date

import pytest

from journal_server.domain.weather_values import (
    DAY_FIRST,
    MONTH_FIRST,
    date_orders,
    in_celsius,
    in_millimetres,
    read_day,
    read_number,
    read_rain,
)
from journal_server.errors import InputRefused

MAY_16 = date(2026, 5, 16)


@pytest.mark.parametrize(
    "words",
    [
        "2026-05-16", "2026/5/16", "20260516", "2026-05-16T00:00", "2026-05-16 12:00:00Z", "16.5.2026", "16/05/2026",
        "5/16/2026", "16.05.26", "16 May 2026", "16-May-2026", "16. May 2026", "May 16, 2026", "may 16 2026",
    ],
)  # fmt: skip
def test_dates_of_many_forms_are_read(words: str) -> None:
    assert read_day(words) == MAY_16


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("5/6/2026", "day first or month first"), ("31/2/2026", "no such day"), ("2026-13-01", "no such day"),
        ("yesterday", "not a date"), ("", "not a date"), ("16 Brumaire 2026", "no month"),
    ],
)  # fmt: skip
def test_what_is_no_date_is_refused_in_words(words: str, says: str) -> None:
    with pytest.raises(InputRefused, match=says):
        read_day(words)


def test_the_order_settles_what_can_be_read_two_ways() -> None:
    assert read_day("5/6/2026", DAY_FIRST) == date(2026, 6, 5)
    assert read_day("5/6/2026", MONTH_FIRST) == date(2026, 5, 6)
    assert date_orders(["5/6/2026", "7/6/2026"]) == {DAY_FIRST, MONTH_FIRST}
    assert date_orders(["5/6/2026", "13/6/2026"]) == {DAY_FIRST}
    assert date_orders(["5/6/2026", "6/13/2026"]) == {MONTH_FIRST}
    assert date_orders(["13/6/2026", "6/13/2026"]) == frozenset()


@pytest.mark.parametrize(
    ("words", "value"),
    [("12.5", 12.5), ("12,5", 12.5), ("−3", -3), ("+4", 4), ("", None), ("NA", None), ("-9999", None)],
)
def test_numbers_with_point_or_comma_and_what_says_there_is_none(words: str, value: float | None) -> None:
    assert read_number(words) == value


@pytest.mark.parametrize("words", ["warm", "1,234.5", "12..5", "1e5", "12 C"])
def test_what_is_no_number_is_refused(words: str) -> None:
    with pytest.raises(InputRefused, match="not a number"):
        read_number(words)


def test_a_trace_of_rain_is_none_to_measure() -> None:
    assert read_rain("T") == 0
    assert read_rain("0.4") == 0.4


def test_units_become_celsius_and_millimetres() -> None:
    """Fixed points of the Fahrenheit scale: 32 is 0 °C, 212 is 100 °C, -40 is -40; an inch is 25.4 mm by definition."""
    assert [in_celsius(f, "°F") for f in (32, 212, -40)] == [0, 100, -40]
    assert [round(in_celsius(f, "°F") * 9 / 5 + 32) for f in range(-40, 130)] == list(range(-40, 130))
    assert (in_celsius(217, "tenths of °C"), in_celsius(21.7, "°C")) == (21.7, 21.7)
    assert (in_millimetres(1, "inches"), in_millimetres(53, "tenths of mm"), in_millimetres(5.3, "mm")) == (
        25.4,
        5.3,
        5.3,
    )
