"""The two layouts of GHCN-Daily, on made stations (layouts from memory, see the module's own docstring)."""

from __future__ import annotations

from datetime import date

from journal_server.domain.ghcn_daily import BY_ELEMENT, BY_STATION, layout_of, read_station_days, stations_in
from journal_server.domain.weather_table import read_table

BY_STATION_FILE = """"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","PRCP","PRCP_ATTRIBUTES","SNWD","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"
"XX000000001","2026-05-16","10.0","20.0","30.0","MADE UP, XX","   53",",,7,0700","0","  217",",,7","   98",",,7"
"XX000000001","2026-05-17","10.0","20.0","30.0","MADE UP, XX","    0","T,,7,0700","0","  951",",X,7","  104",",,7"
"XX000000001","2026-05-18","10.0","20.0","30.0","MADE UP, XX","","","","  -12",",,7","",""
"""  # noqa: E501
BY_ELEMENT_FILE = """XX000000001,20260516,TMAX,217,,,7,0700
XX000000001,20260516,TMIN,98,,,7,0700
XX000000001,20260516,PRCP,53,,,7,0700
XX000000001,20260516,SNOW,0,,,7,
XX000000001,20260517,TMAX,951,,X,7,0700
XX000000001,20260517,TMIN,104,,,7,0700
XX000000001,20260517,PRCP,0,T,,7,0700
XX000000001,20260518,TMAX,-12,,,7,0700
XX000000002,20260516,TMAX,300,,,7,0700
"""

DAYS = [
    (date(2026, 5, 16), 9.8, 21.7, 5.3),
    (date(2026, 5, 17), 10.4, None, 0.0),
    (date(2026, 5, 18), None, -1.2, None),
]


def test_both_layouts_tell_the_same_days_in_celsius_and_millimetres() -> None:
    for text, layout in ((BY_STATION_FILE, BY_STATION), (BY_ELEMENT_FILE, BY_ELEMENT)):
        table = read_table(text)
        assert layout_of(table) == layout
        found = read_station_days(table, layout, "XX000000001")
        rows = [(row.day, row.values["tmin_c"], row.values["tmax_c"], row.values["rain_mm"]) for row in found.rows]
        assert rows == DAYS, layout
        assert found.failed == 1, "the maximum of 17 May carries a quality flag"


def test_other_stations_in_the_file_are_kept_apart() -> None:
    table = read_table(BY_ELEMENT_FILE)
    assert stations_in(table, BY_ELEMENT) == ["XX000000001", "XX000000002"]
    (row,) = read_station_days(table, BY_ELEMENT, "XX000000002").rows
    assert row.values["tmax_c"] == 30


def test_a_day_told_twice_stays_two_rows() -> None:
    twice = BY_STATION_FILE + BY_STATION_FILE.splitlines()[1] + "\n"
    found = read_station_days(read_table(twice), BY_STATION, "XX000000001")
    assert [(row.day, row.line) for row in found.rows][:2] == [(date(2026, 5, 16), 2), (date(2026, 5, 16), 5)]


def test_an_ordinary_file_is_neither() -> None:
    assert layout_of(read_table("date,tmin,tmax\n2026-05-16,10,20")) is None
    assert layout_of(read_table("2026-05-16;10;20;0")) is None


def test_a_hundred_years_are_passed_over_for_one_season() -> None:
    begins = date(1926, 1, 1).toordinal()
    days = [date.fromordinal(begins + n) for n in range(36_800)]
    text = "".join(f"XX000000001,{day:%Y%m%d},TMAX,217,,,7,0700\n" for day in days)
    found = read_station_days(read_table(text), BY_ELEMENT, "XX000000001", date(2026, 1, 1), date(2026, 12, 31))
    assert (len(found.rows), found.rows[0].day, found.rows[0].errors) == (275, date(2026, 1, 1), [])
    assert found.outside == 36_525


def test_a_day_that_cannot_be_read_is_said_not_passed_over() -> None:
    text = "XX000000001,20261399,TMAX,217,,,7,0700\nXX000000001,20260516,TMAX,217,,,7,0700\n"
    found = read_station_days(read_table(text), BY_ELEMENT, "XX000000001", date(2020, 1, 1), date(2026, 12, 31))
    assert [[str(error) for error in row.errors] for row in found.rows] == [[]], "it is after the time asked for"
    found = read_station_days(read_table(text), BY_ELEMENT, "XX000000001")
    assert [len(row.errors) for row in found.rows] == [1, 0]
