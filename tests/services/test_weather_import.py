"""Weather files: looked at before anything is written, row by row in words, then whole or not at all."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from conftest import SetUp

from journal_server.errors import InputRefused, NotFound
from journal_server.services.apply_changes import apply_changes
from journal_server.services.journal import Journal
from journal_server.services.weather import load_weather, weather_of_trial
from journal_server.services.weather_import import ImportChoices, ImportOutcome, import_weather

FILE = "Date;Max temp (°F);Min temp (°F);Rain (in)\n16.05.2026;86;50;0,5\n17.05.2026;77;;T\n18.05.2026;;;\n"


def take_in(set_up: SetUp, text: str, dry_run: bool = False, **choices: Any) -> ImportOutcome:
    return import_weather(set_up.journal, set_up.trial_id, text, ImportChoices(**choices), dry_run=dry_run)


def days(set_up: SetUp) -> list[tuple[str, float | None, float | None, float | None, bool]]:
    with set_up.journal.database.reading() as session:
        weather = load_weather(session, set_up.trial_id)
    return [(f"{w.day:%d.%m}", w.tmin_c, w.tmax_c, w.rain_mm, w.forecast) for w in weather]


def test_columns_and_units_are_recognised_and_kept_in_metric(set_up: SetUp) -> None:
    preview = take_in(set_up, FILE, dry_run=True)
    assert preview.choices == {
        "columns": {"day": 0, "tmin_c": 2, "tmax_c": 1, "rain_mm": 3},
        "date_order": "day first",
        "temperature_unit": "°F",
        "rain_unit": "inches",
    }
    assert (days(set_up), preview.written) == ([], 0), "looking writes nothing"
    outcome = take_in(set_up, FILE)
    assert outcome.written == 2
    assert days(set_up) == [("16.05", 10, 30, 12.7, False), ("17.05", None, 25, 0, False)]
    assert outcome.left_out == {"days without any value": 1}


def test_other_columns_and_units_can_be_said(set_up: SetUp) -> None:
    text = "station 7,5/6/2026,1.2,31,12\nstation 7,5/7/2026,0,28,11\n"
    columns = {"day": 1, "tmin_c": 4, "tmax_c": 3, "rain_mm": 2}
    asked = take_in(set_up, text, dry_run=True, columns=columns)
    assert [e.field for e in asked.problems] == ["date_order"]
    assert asked.date_orders == ["day first", "month first"]
    take_in(set_up, text, columns=columns, date_order="month first")
    assert days(set_up) == [("06.05", 12, 31, 1.2, False), ("07.05", 11, 28, 0, False)]


def test_a_day_to_come_is_measured_by_nobody(set_up: SetUp) -> None:
    to_come = set_up.journal.today() + timedelta(days=1)
    text = f"date,tmax,tmin\n2026-05-16,30,12\n{to_come.isoformat()},31,14\n"
    outcome = take_in(set_up, text)
    (error,) = outcome.rows[1].errors
    assert (error.field, "has not been yet: say that the file is a forecast" in str(error)) == ("day", True)
    assert days(set_up) == []
    take_in(set_up, text, forecast=True)
    assert [forecast for *_, forecast in days(set_up)] == [True, True]


def test_every_row_that_is_wrong_is_said_and_then_nothing_is_written(set_up: SetUp) -> None:
    text = "date,tmax,tmin\n2026-05-16,30,12\nsoon,30,12\n2026-05-18,warm,12\n2026-05-19,95,60\n2026-05-20,10,20\n"
    outcome = take_in(set_up, text)
    said = {row.line: [(e.field, str(e)) for e in row.errors] for row in outcome.rows}
    assert said[2] == []
    assert said[3][0][0] == "day"
    assert said[4] == [("tmax_c", "'warm' is not a number.")]
    assert "another unit (°F)?" in said[5][0][1]
    assert said[6][0][0] == "tmin_c"
    assert (outcome.has_errors, outcome.written, days(set_up)) == (True, 0, [])
    assert outcome.as_dict()["counts"] == {"new": 1, "wrong": 4}, "a day that is wrong is no new day"


def test_the_same_day_twice_is_said_with_the_line_where_it_stood_first(set_up: SetUp) -> None:
    outcome = take_in(set_up, "date,tmax\n2026-05-16,30\n2026-05-17,31\n2026-05-16,30\n")
    (error,) = outcome.rows[2].errors
    assert "16 May 2026 stands in line 2 already" in str(error)
    assert days(set_up) == []


def test_measured_days_replace_a_forecast_and_are_not_replaced_by_one(set_up: SetUp) -> None:
    set_up.make("weather", trial_id=set_up.trial_id, day="2026-05-16", tmax_c=35, tmin_c=20, forecast=True)
    measured = take_in(set_up, "date,tmax\n2026-05-16,29\n")
    assert list(measured.becomes.values()) == ["replaces the forecast"]
    assert days(set_up) == [("16.05", None, 29, None, False)]
    late = take_in(set_up, "date,tmax\n2026-05-16,36\n2026-05-17,36\n", forecast=True)
    assert list(late.becomes.values()) == ["kept as it is", "new"]
    assert days(set_up) == [("16.05", None, 29, None, False), ("17.05", None, 36, None, True)]


def test_measured_days_are_overwritten_only_when_asked_but_gaps_are_filled(set_up: SetUp) -> None:
    take_in(set_up, "date,tmax\n2026-05-16,29\n2026-05-17,30\n")
    again = "date,tmax,tmin\n2026-05-16,28,10\n2026-05-17,30,11\n"
    assert list(take_in(set_up, again).becomes.values()) == ["kept as it is", "changes"]
    assert days(set_up) == [("16.05", None, 29, None, False), ("17.05", 11, 30, None, False)]
    assert list(take_in(set_up, again, replace=True).becomes.values()) == ["changes", "the same already"]
    assert days(set_up)[0] == ("16.05", 10, 28, None, False)


def test_a_day_that_was_deleted_comes_in_again(set_up: SetUp) -> None:
    text = "date,tmax\n2026-05-16,29\n"
    take_in(set_up, text)
    with set_up.journal.database.reading() as session:
        from journal_server.storage.records import load_records

        (record,) = load_records(session, "weather")
    apply_changes(set_up.journal, [{"kind": "weather", "id": record.id, "delete": True}])
    assert days(set_up) == []
    assert take_in(set_up, text).written == 1
    assert days(set_up) == [("16.05", None, 29, None, False)]


def test_a_station_file_goes_in_for_the_time_asked_for(set_up: SetUp) -> None:
    text = (
        "XX000000001,20260515,TMAX,200,,,7,0700\nXX000000001,20260516,TMAX,217,,,7,0700\n"
        "XX000000001,20260516,PRCP,53,,I,7,0700\n"
    )
    outcome = take_in(set_up, text, first_day=date(2026, 5, 16))
    assert days(set_up) == [("16.05", None, 21.7, None, False)]
    assert outcome.left_out == {
        "days outside the time asked for": 1,
        "values that failed the station's own checks": 1,
    }


def test_of_several_stations_one_is_chosen(set_up: SetUp) -> None:
    text = "XX000000001,20260516,TMAX,217,,,7,\nXX000000002,20260516,TMAX,300,,,7,\n"
    asked = take_in(set_up, text)
    assert ([e.field for e in asked.problems], asked.stations) == (["station"], ["XX000000001", "XX000000002"])
    take_in(set_up, text, station="XX000000002")
    assert days(set_up) == [("16.05", None, 30, None, False)]


@pytest.mark.parametrize("text", ["", "\n\n", "date,tmax\n"])
def test_a_file_without_days_is_refused(set_up: SetUp, text: str) -> None:
    with pytest.raises(InputRefused):
        take_in(set_up, text)


def test_too_many_days_want_a_shorter_time(set_up: SetUp) -> None:
    text = "".join(f"{date.fromordinal(date(2015, 1, 1).toordinal() + n)},20\n" for n in range(1600))
    outcome = take_in(set_up, text, columns={"day": 0, "tmax_c": 1})
    assert "1600 days" in str(outcome.problems[0])
    assert days(set_up) == []


def test_weather_of_no_trial_is_refused(journal: Journal) -> None:
    with pytest.raises(NotFound):
        import_weather(journal, "nowhere", "2026-05-16,20\n", ImportChoices(), dry_run=True)


def test_the_season_so_far_in_heat_days_and_degree_days(set_up: SetUp) -> None:
    assert weather_of_trial(set_up.journal, set_up.trial_id)["reasons"] == {
        "degree_days": "No day has been measured yet."
    }
    set_up.planting(planted_on="2026-05-16")
    take_in(set_up, "date,tmin,tmax,rain\n2026-05-15,10,30,5\n2026-05-16,12,28,1\n2026-05-18,20,34,\n")
    take_in(set_up, "date,tmin,tmax\n2026-05-19,20,36\n", forecast=True)
    told = weather_of_trial(set_up.journal, set_up.trial_id)
    assert told["heat_days"] == ["2026-05-18"]
    assert told["heat_days_forecast"] == ["2026-05-19"]
    assert told["degree_days"] == {"total": 10 + 17, "days_counted": 2, "days_missing": 1}
    assert (told["from"], told["to"], told["rain_mm"]) == ("2026-05-16", "2026-05-18", 6)
