"""Comparing on the screen: two dates with their slider, cultivars with their ranking."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from browser.records import make, make_planting, photo_named, records
from browser.serving import DESKTOP, PHONE, Served
from made_photos import jpeg
from made_season import measured_season
from playwright.sync_api import Page, expect

from journal_server.services.apply_changes import apply_changes
from journal_server.services.take_in_photo import take_in_photo


def line_at(page: Page) -> float:
    """Where the line between the two photos stands, in percent of the width."""
    return float(page.locator(".sliding").evaluate("node => parseFloat(node.style.getPropertyValue('--at'))"))


def wait_until_laid_over(page: Page) -> None:
    """The first time a pair is asked for, the server has to find out how the photos lie."""
    expect(page.locator(".says")).to_contain_text("Laid over each other", timeout=30_000)


@pytest.fixture
def two_dates(season: Served) -> str:
    first, second = (photo_named(season.journal, f"p3_2026-{day}.jpg") for day in ("06-17", "07-27"))
    planting_id = first.fields["planting_id"]
    return f"{season.address}/#/compare/dates/{planting_id}?first={first.id}&second={second.id}"


def test_a_photo_leads_to_two_dates_laid_over_each_other(season: Served, open_page: Callable[..., Page]) -> None:
    photo = photo_named(season.journal, "p3_2026-07-27.jpg")
    page = open_page(f"{season.address}/#/photos/{photo.id}")
    page.get_by_role("link", name="Compare with another date").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Quarry Lamp")
    expect(page.get_by_label("Later photo")).to_have_value(photo.id)
    wait_until_laid_over(page)
    for image in page.locator(".sliding img").all():
        image.evaluate("image => image.decode()")
    widths = {image.evaluate("image => image.naturalWidth") for image in page.locator(".sliding img").all()}
    assert len(widths) == 1, "both pictures are of one size and place"


def test_the_line_is_moved_by_keys_and_by_hand(open_page: Callable[..., Page], two_dates: str) -> None:
    page = open_page(two_dates, DESKTOP)
    wait_until_laid_over(page)
    slider = page.get_by_role("slider")
    expect(slider).to_have_attribute("aria-valuetext", "50 % earlier, 50 % later")
    slider.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert line_at(page) == 52
    expect(slider).to_have_attribute("aria-valuetext", "52 % earlier, 48 % later")
    page.keyboard.press("Home")
    assert line_at(page) == 0
    box = page.locator(".sliding").bounding_box()
    assert box is not None
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] * 0.3, middle)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.8, middle, steps=4)
    page.mouse.up()
    assert line_at(page) == pytest.approx(80, abs=1)
    expect(slider).to_have_value(str(round(line_at(page))))
    clip = page.locator(".sliding .later").evaluate("node => getComputedStyle(node).clipPath")
    assert clip.startswith("inset(0px 0px 0px 80%")

    page.get_by_role("button", name="Side by side").click()
    expect(page.locator(".beside img")).to_have_count(2)
    expect(page.get_by_role("slider")).to_have_count(0)
    page.get_by_role("button", name="Over each other").click()
    expect(page.get_by_role("slider")).to_be_visible()


def test_every_change_has_its_interval_and_a_plain_verdict(open_page: Callable[..., Page], two_dates: str) -> None:
    page = open_page(two_dates)
    rows = page.locator(".differences tbody tr")
    expect(rows).to_have_count(7)
    for words in rows.all_inner_texts():
        assert " to " in words
        assert "more than measuring error" in words or "within measuring error" in words
        assert "undefined" not in words
    expect(rows.filter(has_text="Canopy fill")).to_contain_text("more than measuring error")

    later = page.get_by_label("Later photo")
    later.select_option(page.get_by_label("Earlier photo").input_value())
    expect(page.get_by_text("These are the same photo; choose two different ones.")).to_be_visible()


def test_a_reason_that_holds_for_several_numbers_is_said_once(season: Served, open_page: Callable[..., Page]) -> None:
    first, second = (photo_named(season.journal, f"p3_2026-{day}.jpg") for day in ("05-22", "07-27"))
    dates = f"compare/dates/{first.fields['planting_id']}?first={first.id}&second={second.id}"
    page = open_page(f"{season.address}/#/{dates}")
    rows = page.locator(".differences tbody tr")
    expect(rows).to_have_count(7)
    reason = page.get_by_role("cell", name="a photo shows too little open bloom for a colour")
    expect(reason).to_have_count(1)
    expect(reason).to_have_attribute("rowspan", "4")
    expect(rows.last.locator("th")).to_contain_text("CIEDE2000")


def test_photos_that_cannot_be_laid_over_stand_side_by_side(open_page: Callable[..., Page], two_dates: str) -> None:
    page = open_page(two_dates)
    said = {"how": "failed", "matrix": None, "words": "The photos could not be laid over each other: too little."}
    page.route("**/api/compare/registration*", lambda route: route.fulfill(json=said))
    page.reload()
    expect(page.locator(".says")).to_contain_text("could not be laid over")
    expect(page.locator(".beside img")).to_have_count(2)
    expect(page.get_by_role("button", name="Over each other")).to_have_count(0)


@pytest.mark.parametrize("viewport", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_cultivars_are_compared_at_a_week_and_at_a_date(
    season: Served, open_page: Callable[..., Page], viewport: dict[str, int]
) -> None:
    page = open_page(f"{season.address}/#/compare", viewport)
    trial = records(season.journal, "trial")[0]
    page.get_by_role("link", name=trial.fields["title"]).click()
    expect(page.get_by_role("heading", name="Cultivars side by side")).to_be_visible()
    page.get_by_label("Number").select_option("canopy_fill")
    page.get_by_label("When").select_option("2026-07-01")
    expect(page.locator("figcaption").first).to_contain_text("Canopy fill on 1 July 2026")
    expect(page.locator(".fig-rank").first).to_be_visible()
    page.get_by_text("The numbers as a table").first.click()
    expect(page.locator(".behind table").first.get_by_role("columnheader", name="tied with")).to_be_visible()
    assert "on=2026-07-01" in page.url
    page.reload()
    expect(page.get_by_label("When")).to_have_value("2026-07-01")
    page.get_by_label("Number").select_option("days_to_50")
    expect(page.get_by_label("When")).to_have_count(0)
    expect(page.locator("figcaption").first).to_contain_text("over the season")


def test_of_many_cultivars_a_person_chooses_whose_curves_are_drawn(
    empty: Served, open_page: Callable[..., Page]
) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    for at in range(10):
        planting_id = make_planting(empty.journal, trial_id, f"Number {at}", planted_on="2026-05-16")
        days = {"2026-06-13": (0.4, 0.05 + 0.05 * at), "2026-07-04": (0.6, 0.05 + 0.06 * at)}
        measured_season(empty.journal, planting_id, days)
    page = open_page(f"{empty.address}/#/compare/cultivar/{trial_id}")
    names = page.locator(".fig-line")
    expect(names).to_have_count(8)
    page.get_by_text("Choose whose curves are drawn (8 of 10)").click()
    expect(page.get_by_text("8 are chosen; more lines cannot be told apart.")).to_be_visible()
    left_out = page.get_by_role("checkbox", name="‘Number 0’")
    expect(left_out).to_be_disabled()
    for number in range(4, 10):
        page.get_by_role("checkbox", name=f"‘Number {number}’").uncheck()
    left_out.check()
    page.get_by_role("button", name="Draw these").click()
    expect(names).to_have_count(3)
    expect(page.locator(".fig-rank")).to_have_count(10)
    page.reload()
    expect(names).to_have_count(3)
    page.get_by_label("Number", exact=True).select_option("canopy_fill")
    expect(page.locator("figcaption").first).to_contain_text("Canopy fill")
    expect(names).to_have_count(3)
    page.locator("#whose-curves summary").click()
    page.get_by_role("button", name="The first by value").click()
    expect(names).to_have_count(8)


def test_two_photos_of_one_day_are_told_apart_by_the_clock(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Plum", planted_on="2026-05-16")
    for day, hour in ((10, 9), (10, 18), (24, 10)):
        content = jpeg(f"2026:06:{day} {hour:02}:00:00", seed=day + hour)
        photo = take_in_photo(empty.journal, content, f"{day}-{hour}.jpg").photo
        apply_changes(empty.journal, [{"kind": "photo", "id": photo.id, "fields": {"planting_id": planting_id}}])
    page = open_page(f"{empty.address}/#/compare/dates/{planting_id}")
    options = page.get_by_label("Earlier photo").locator("option").all_inner_texts()
    assert [" ".join(words.split()) for words in options] == [
        "10 Jun, 09:00, week 4", "10 Jun, 18:00, week 4", "24 Jun, week 6",
    ]  # fmt: skip


def test_there_is_always_a_way_on(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/compare/cultivar/none")
    page.get_by_role("link", name="What can be compared").click()
    expect(page.get_by_role("heading", name="Tried again after a failure")).to_be_visible()
    expect(page.get_by_text("No cultivar that failed was planted a second time.")).to_be_visible()
