"""Weather: typed day by day, taken in from files, in the person's units, and deleted days put back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from browser.records import make, records
from browser.serving import Served
from browser.test_walk import eventually
from playwright.sync_api import Page, expect

FILE = "date,low,high,rain\n2026-05-16,10,33,0\n2026-05-17,12,29,5.5\n"


@pytest.fixture
def trial(empty: Served) -> str:
    return make(empty.journal, "trial", title="Terrace", year=2026)


def weather(page: Page, empty: Served) -> list[tuple[object, ...]]:
    """What the server holds, once all was sent."""
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()
    names = ("day", "tmin_c", "tmax_c", "rain_mm", "forecast")
    return sorted(tuple(record.fields[name] for name in names) for record in records(empty.journal, "weather"))


def look_at(page: Page, text: str) -> None:
    page.get_by_text("Or paste the days").click()
    page.get_by_label("The days").fill(text)
    page.click("#look-at-days")


def test_a_day_is_typed_changed_and_put_back(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/weather")
    page.get_by_label("Day", exact=True).fill("2026-05-16")
    page.get_by_label("Lowest, °C").fill("9,5")
    page.get_by_label("Highest, °C").fill("33")
    page.get_by_role("button", name="Add the day").click()
    expect(page.get_by_role("row", name="16 May 2026")).to_contain_text("9.5")
    expect(page.get_by_role("row", name="Heat days")).to_contain_text("1")
    assert eventually(lambda: weather(page, empty) == [("2026-05-16", 9.5, 33, None, False)])
    page.get_by_role("button", name="Close").click()
    page.get_by_role("button", name="Change 16 May 2026").click()
    page.get_by_label("Highest, °C").fill("8")
    page.get_by_role("button", name="Save the day").click()
    expect(page.locator("[data-field=tmin_c] .field-problem")).to_contain_text("above the highest")
    page.get_by_label("Highest, °C").fill("30")
    page.get_by_role("button", name="Save the day").click()
    expect(page.get_by_role("row", name="16 May 2026")).to_contain_text("30")
    expect(page.get_by_text("16 May 2026: saved.")).to_be_visible()
    page.get_by_role("button", name="Delete 16 May 2026").click()
    expect(page.get_by_role("button", name="Add the day")).to_be_visible()
    expect(page.get_by_text("No day yet.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("row", name="16 May 2026")).to_be_visible()


def test_what_is_no_number_of_the_weather_is_said_at_its_field(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/weather")
    page.get_by_label("Day", exact=True).fill("2026-05-16")
    said = {name: page.locator(f"[data-field={name}] .field-problem") for name in ("tmin_c", "tmax_c", "rain_mm")}
    for name, typed in (("Lowest, °C", "cold"), ("Highest, °C", "9" * 400), ("Rain, mm", "-3")):
        page.get_by_label(name).fill(typed)
    page.get_by_role("button", name="Add the day").click()
    expect(said["tmin_c"]).to_have_text("This must be a number, not 'cold'.")
    expect(said["tmax_c"]).to_contain_text("This must be from -60 to 60 °C, not '999")
    expect(said["rain_mm"]).to_have_text("This must be from 0 to 2000 mm, not -3 mm.")
    expect(page.get_by_label("Lowest, °C")).to_have_value("cold")
    expect(page.get_by_text("No day yet.")).to_be_visible()
    assert weather(page, empty) == []


def test_another_file_takes_the_place_of_the_one_before(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/weather/file")
    opened = page.locator("input[type=file]")
    opened.set_input_files({"name": "days.csv", "mimeType": "text/csv", "buffer": FILE.encode()})
    expect(page.get_by_role("button", name="Take 2 days in")).to_be_enabled()
    opened.set_input_files({"name": "photo.csv", "mimeType": "text/csv", "buffer": b"\x89PNG\0\0"})
    expect(page.get_by_role("alert")).to_contain_text("photo.csv is not a text file")
    expect(page.locator("#take-days-in")).to_have_count(0)
    wrong = "date,low,high,rain\n2026-05-16,30,10,0\n2026-05-17,12,29,5.5\n"
    opened.set_input_files({"name": "days.csv", "mimeType": "text/csv", "buffer": wrong.encode()})
    expect(page.get_by_text("1 day would be written.")).to_be_visible()
    expect(page.get_by_text("1 line cannot be read as it is")).to_be_visible()
    assert weather(page, empty) == []


def test_a_day_deleted_before_is_typed_again(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/weather")
    for high in ("31", "29"):
        page.get_by_label("Day", exact=True).fill("2026-05-16")
        page.get_by_label("Highest, °C").fill(high)
        page.get_by_role("button", name="Add the day").click()
        expect(page.get_by_role("row", name="16 May 2026")).to_contain_text(high)
        if high == "31":
            page.get_by_role("button", name="Delete 16 May 2026").click()
            expect(page.get_by_text("No day yet.")).to_be_visible()
            page.get_by_label("Day", exact=True).fill("2026-05-15")
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()
    assert eventually(lambda: weather(page, empty) == [("2026-05-16", None, 29, None, False)])


def test_deleting_and_undoing_without_the_server_changes_nothing_in_the_end(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    make(empty.journal, "weather", trial_id=trial, day="2026-05-16", tmax_c=31)
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/weather")
    page.route("**/api/changes*", lambda route: route.abort())
    page.get_by_role("button", name="Change 16 May 2026").click()
    page.get_by_role("button", name="Delete 16 May 2026").click()
    expect(page.get_by_text("No day yet.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("row", name="16 May 2026")).to_contain_text("31")
    page.unroute("**/api/changes*")
    page.evaluate("dispatchEvent(new Event('online'))")
    assert eventually(lambda: weather(page, empty) == [("2026-05-16", None, 31, None, False)])


def test_days_ahead_are_taken_for_a_forecast(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/weather")
    page.get_by_label("Day", exact=True).fill((date.today() + timedelta(days=3)).isoformat())  # noqa: DTZ011
    expect(page.get_by_label("This is a forecast")).to_be_checked()
    page.get_by_label("Highest, °C").fill("36")
    page.get_by_label("This is a forecast").uncheck()
    page.get_by_role("button", name="Add the day").click()
    expect(page.locator("[data-field=forecast] .field-problem")).to_contain_text(
        "has not been yet: mark it as a forecast"
    )
    assert weather(page, empty) == []
    page.get_by_label("This is a forecast").check()
    page.get_by_role("button", name="Add the day").click()
    expect(page.locator(".days .mark")).to_have_text("forecast")
    expect(page.get_by_role("row", name="Heat days")).to_contain_text("0, and 1 forecast")


def test_units_are_chosen_once_and_hold_everywhere(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    planter = make(empty.journal, "planter", trial_id=trial, name="Trough", planter_kind="trough", length_cm=90)
    page = open_page(f"{empty.address}/#/set-up/settings")
    page.get_by_text("Units", exact=True).click()
    page.get_by_label("Temperatures in").select_option("°F")
    page.get_by_label("Lengths and rain in").select_option("inches")
    page.get_by_role("button", name="Save: units").click()
    expect(page.get_by_text("Settings saved.")).to_be_visible()
    page.goto(f"{empty.address}/#/set-up/trials/{trial}/weather")
    page.get_by_label("Day", exact=True).fill("2026-05-16")
    page.get_by_label("Highest, °F").fill("86")
    page.get_by_label("Rain, in").fill("0.5")
    page.get_by_role("button", name="Add the day").click()
    expect(page.get_by_role("row", name="16 May 2026")).to_contain_text("86")
    assert eventually(lambda: weather(page, empty) == [("2026-05-16", None, 30, 12.7, False)])
    page.goto(f"{empty.address}/#/set-up/settings")
    expect(page.get_by_label("Heat day from (°F)")).to_have_value("89.6")
    page.get_by_label("Heat day from (°F)").fill("86")
    page.get_by_role("button", name="Save the settings").click()
    expect(page.get_by_text("Settings saved.")).to_be_visible()
    assert empty.journal.setting("heat_day_c") == 30
    page.goto(f"{empty.address}/#/set-up/planters/{planter}")
    expect(page.get_by_label("Length in in")).to_have_value("35.4")
    page.get_by_label("Name").fill("Long trough")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("35.4 in")).to_be_visible()
    assert records(empty.journal, "planter")[0].fields["length_cm"] == 90, "what was not touched is not rounded"


def test_a_file_is_looked_at_then_taken_in(
    empty: Served, trial: str, tmp_path: Path, open_page: Callable[..., Page]
) -> None:
    file = tmp_path / "weather.csv"
    file.write_text(FILE, encoding="utf-8")
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/weather")
    page.get_by_role("link", name="Take a weather file in").click()
    page.locator("input[type=file]").set_input_files(file)
    expect(page.get_by_text("2 days would be written.")).to_be_visible()
    assert weather(page, empty) == []
    page.get_by_role("button", name="Take 2 days in").click()
    expect(page.get_by_text("2 days taken in.")).to_be_visible()
    expect(page.get_by_role("row", name="17 May 2026")).to_contain_text("5.5")
    assert eventually(
        lambda: weather(page, empty) == [("2026-05-16", 10, 33, 0, False), ("2026-05-17", 12, 29, 5.5, False)]
    )


def test_what_is_wrong_is_said_line_by_line_and_can_be_chosen_right(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/weather/file")
    look_at(page, "when;warmest;coldest\n5/6/2026;95;60\n5/7/2026;96;61\n")
    expect(page.get_by_text("Say which column holds the day.")).to_be_visible()
    page.get_by_label("Day", exact=True).select_option("0")
    page.get_by_label("Highest temperature").select_option("1")
    expect(page.get_by_text("day first or month first; say which")).to_be_visible()
    page.get_by_label("Dates are").select_option("month first")
    expect(page.get_by_text("2 lines cannot be read")).to_be_visible()
    expect(page.get_by_role("row", name="6 May 2026")).to_contain_text("Is the file in another unit (°F)?")
    expect(page.get_by_role("button", name="Take them in")).to_be_disabled()
    page.get_by_label("Temperatures are in").select_option("°F")
    page.get_by_label("Lowest temperature").select_option("2")
    page.get_by_role("button", name="Take 2 days in").click()
    expect(page.get_by_text("2 days taken in.")).to_be_visible()
    expect(page.get_by_role("row", name="7 May 2026")).to_be_visible()
    assert [day[:3] for day in weather(page, empty)] == [("2026-05-06", 15.56, 35), ("2026-05-07", 16.11, 35.56)]


def test_a_station_file_says_what_it_is(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/weather/file")
    look_at(page, "XX000000001,20260516,TMAX,217,,,7,0700\nXX000000001,20260516,PRCP,53,,I,7,0700\n")
    expect(page.get_by_text("left out: values that failed the station's own checks (1)")).to_be_visible()
    page.get_by_role("button", name="Take 1 day in").click()
    expect(page.get_by_text("1 day taken in.")).to_be_visible()
    expect(page.get_by_role("row", name="16 May 2026")).to_contain_text("21.7")
