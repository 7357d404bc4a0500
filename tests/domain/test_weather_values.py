"""Temperatures and rain as people write them: a table of what is read how, and what is refused."""

from __future__ import annotations

import pytest

from journal_server.domain.weather_values import in_celsius, in_millimetres, read_number, read_rain
from journal_server.errors import InputRefused


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
