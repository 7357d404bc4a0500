"""The season on the screen: timeline, curves and the way from a picture to its photo."""

from __future__ import annotations

import re
from collections.abc import Callable

from browser.records import make, make_planting, photo_named, records
from browser.serving import DESKTOP, Served
from playwright.sync_api import Page, expect


def test_a_date_of_the_timeline_leads_to_its_photo_and_back(season: Served, open_page: Callable[..., Page]) -> None:
    photo = photo_named(season.journal, "p3_2026-07-14.jpg")
    page = open_page(f"{season.address}/#/season")
    date = page.locator(f".fig-date[data-photo='{photo.id}']")
    date.click()
    expect(page.get_by_role("heading", name="Quarry Lamp")).to_be_visible()
    assert page.url.endswith(f"#/photos/{photo.id}")
    page.go_back()
    expect(page.get_by_role("heading", name="Season")).to_be_visible()


def test_a_trial_without_plantings_says_what_to_do_first(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    page = open_page(f"{empty.address}/#/season/{trial_id}")
    expect(page.get_by_text("Nothing is planted in this trial yet.")).to_be_visible()
    expect(page.locator(".figure")).to_have_count(0)
    make_planting(empty.journal, trial_id, "Plum")
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator(".fig-name")).to_have_count(1)
    expect(page.get_by_text("Nothing is planted")).to_have_count(0)


def test_the_timeline_is_reached_by_keyboard_too(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/season", DESKTOP)
    date = page.locator(".fig-date").first
    date.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/#/photos/*")
    page.go_back()
    page.locator(".fig-name").first.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/#/plantings/*")


def test_the_table_behind_the_timeline_names_every_planting(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/season")
    page.get_by_text("The numbers as a table").click()
    table = page.locator(".behind table")
    for cultivar in records(season.journal, "cultivar"):
        expect(table.get_by_text(cultivar.fields["name"]).first).to_be_visible()


def test_a_planting_shows_its_photos_by_date_its_curves_and_its_season_in_numbers(
    season: Served, open_page: Callable[..., Page]
) -> None:
    planting_id = photo_named(season.journal, "p3_2026-07-14.jpg").fields["planting_id"]
    page = open_page(f"{season.address}/#/plantings/{planting_id}")
    dates = page.locator(".dates button")
    expect(dates).to_have_count(8)
    expect(dates.last).to_have_attribute("aria-pressed", "true")
    dates.first.click()
    expect(page.get_by_role("heading", name="22 May 2026, week 1")).to_be_visible()
    expect(page.locator(".figure svg")).to_have_count(6)
    expect(page.get_by_role("row", name="half full after")).to_be_visible()


def test_of_what_is_grown_for_its_leaves_no_flowers_are_drawn(season: Served, open_page: Callable[..., Page]) -> None:
    (leaves,) = [c.id for c in records(season.journal, "cultivar") if c.fields["foliage_only"]]
    (planting,) = [p for p in records(season.journal, "planting") if p.fields["cultivar_id"] == leaves]
    page = open_page(f"{season.address}/#/plantings/{planting.id}")
    expect(page.locator(".figure svg")).to_have_count(2)
    expect(page.locator(".curves figcaption")).to_have_text(["Canopy fill", "Evenness"])


def test_an_interval_in_a_table_is_not_torn_apart(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/season")
    page.get_by_text("The numbers as a table").click()
    cell = page.locator(".behind td", has_text=re.compile(r"^\d+ % \(")).first
    cell.wait_for()
    lines = cell.evaluate(
        "td => { const all = document.createRange(); all.selectNodeContents(td); return all.getClientRects().length; }"
    )
    assert lines == 1


def test_plantings_are_searched_and_grouped(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/plantings")
    expect(page.locator(".planting")).to_have_count(8)
    page.get_by_label("Find in this list").fill("bidens")
    expect(page.locator(".planting")).to_have_count(1)
    page.get_by_label("Find in this list").fill("")
    page.get_by_label("Order").select_option("genus")
    expect(page.get_by_role("heading", level=2).first).to_contain_text("Bidens")


def test_a_photo_leads_to_the_one_before_and_after(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/photos/{photo_named(season.journal, 'p3_2026-07-14.jpg').id}")
    page.get_by_role("link", name="Later photo").click()
    expect(page.get_by_text("27 July 2026").first).to_be_visible()
    page.get_by_role("link", name="Earlier photo").click()
    expect(page.get_by_text("14 July 2026").first).to_be_visible()


def test_today_says_what_wants_doing_and_shows_the_last_walk(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(season.address)
    expect(page.get_by_role("link", name="2 photos want settling")).to_be_visible()
    expect(page.get_by_text("22 August 2026: 1 photo of 1 planting.")).to_be_visible()
    expect(page.get_by_text("Never backed up.")).to_be_visible()


def test_going_back_returns_to_the_same_place_in_the_list(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/plantings")
    page.locator(".planting").last.scroll_into_view_if_needed()
    place = page.evaluate("() => scrollY")
    assert place > 100
    page.locator(".planting").last.click()
    expect(page.get_by_role("heading", name="About this planting")).to_be_visible()
    assert page.evaluate("() => scrollY") == 0
    page.go_back()
    expect(page.get_by_role("heading", name="Plantings")).to_be_focused()
    assert page.evaluate("() => scrollY") == place


def rows_in_order(page: Page) -> list[str]:
    ids: list[str] = page.evaluate(
        "() => [...document.querySelectorAll('.fig-row')].map((row) => row.dataset.planting)"
    )
    return ids


def test_the_timeline_is_sorted_and_grouped_and_the_device_remembers(
    season: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{season.address}/#/season")
    expect(page.locator(".fig-row")).to_have_count(8)
    walking = rows_in_order(page)
    for sort in page.get_by_label("Order").locator("option").evaluate_all("(all) => all.map(({ value }) => value)"):
        with page.expect_response(lambda answer: "/api/timeline.svg" in answer.url and answer.ok):
            page.get_by_label("Order").select_option(sort)
            page.get_by_label("Groups").select_option("genus")
    page.get_by_label("Order").select_option("canopy_fill")
    expect(page.locator(".fig-group").first).to_be_visible()
    page.get_by_label("Groups").select_option("none")
    expect(page.locator(".fig-group")).to_have_count(0)
    expect(page.locator(".fig-row")).to_have_count(8)
    sorted_rows = rows_in_order(page)
    assert sorted(sorted_rows) == sorted(walking)
    assert sorted_rows != walking
    page.goto(f"{season.address}/#/plantings")
    expect(page.get_by_role("heading", name="Plantings")).to_be_visible()
    page.goto(f"{season.address}/#/season")
    expect(page.get_by_label("Order")).to_have_value("canopy_fill")
    expect(page.locator(".fig-row")).to_have_count(8)
    assert rows_in_order(page) == sorted_rows


def test_each_row_is_one_tab_stop_and_arrows_go_along_its_dates(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/season", DESKTOP)
    expect(page.locator(".fig-row")).to_have_count(8)
    assert page.locator(".fig [tabindex='0']").count() == 8
    row = page.locator(".fig-row").filter(has=page.locator(".fig-date:nth-of-type(3)")).first
    dates = row.locator(".fig-date")
    row.locator(".fig-name").focus()
    page.keyboard.press("ArrowRight")
    expect(dates.nth(0)).to_be_focused()
    page.keyboard.press("ArrowRight")
    expect(dates.nth(1)).to_be_focused()
    expect(dates.nth(1)).to_have_accessible_name(re.compile(r"^\d+ [A-Z][a-z]+: fill \d+ %"))
    assert row.get_attribute("aria-label") == row.locator(".fig-name").get_attribute("aria-label")
    page.keyboard.press("End")
    expect(dates.last).to_be_focused()
    page.keyboard.press("ArrowRight")
    expect(dates.last).to_be_focused()
    page.keyboard.press("ArrowDown")
    assert page.evaluate("() => document.activeElement.closest('.fig-row').dataset.planting") != row.get_attribute(
        "data-planting"
    )
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Home")
    expect(row.locator(".fig-name")).to_be_focused()
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.closest('.fig-row')?.dataset.planting") != row.get_attribute(
        "data-planting"
    )
    assert page.locator(".fig [tabindex='0']").count() == 8
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("ArrowRight")
    photo = dates.first.get_attribute("data-photo")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/#/photos/{photo}")


def test_intervals_are_shown_and_hidden_on_demand(season: Served, open_page: Callable[..., Page]) -> None:
    planting_id = photo_named(season.journal, "p3_2026-07-14.jpg").fields["planting_id"]
    seen = "(node) => getComputedStyle(node).opacity"
    page = open_page(f"{season.address}/#/season")
    interval = page.locator(".fig-interval").first
    assert interval.evaluate(seen) == "0"
    page.get_by_role("button", name="Show intervals").click()
    assert interval.evaluate(seen) == "1"
    page.get_by_role("button", name="Hide intervals").click()
    assert interval.evaluate(seen) == "0"
    page.emulate_media(media="print")
    assert interval.evaluate(seen) == "1"
    page.emulate_media(media="screen")
    page.goto(f"{season.address}/#/plantings/{planting_id}")
    curve = page.locator("figure", has_text="Canopy fill").first
    whisker = curve.locator(".fig-interval").first
    assert whisker.evaluate(seen) == "1"
    curve.get_by_role("button", name="Hide intervals").click()
    assert whisker.evaluate(seen) == "0"
