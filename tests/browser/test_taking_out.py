"""Taking a trial out through the screen: what is chosen is what comes, and who may not is told before."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable

from browser.records import make, photo_named, records
from browser.serving import DESKTOP, Served
from playwright.sync_api import Page, expect


def trial_of(season: Served) -> str:
    (trial,) = records(season.journal, "trial")
    return trial.id


def saved(page: Page, button: str) -> zipfile.ZipFile:
    with page.expect_download() as download:
        page.locator(button).click()
    return zipfile.ZipFile(io.BytesIO(download.value.path().read_bytes()))


def test_the_photos_chosen_are_the_photos_that_come(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/set-up")
    page.get_by_role("link", name="Take the trial out").click()
    planting = photo_named(season.journal, "p3_2026-07-14.jpg").fields["planting_id"]
    page.get_by_label("Plantings").select_option(planting)
    page.get_by_label("From").fill("2026-07-01")
    page.get_by_label("Until").fill("2026-07-31")
    wanted = [
        photo.fields["file_name"]
        for photo in records(season.journal, "photo")
        if photo.fields["planting_id"] == planting and (photo.fields["taken_at"] or "").startswith("2026-07")
    ]
    expect(page.get_by_text(f"{len(wanted)} photos, about")).to_be_visible()
    with saved(page, "#take-photos-out") as archive:
        names = archive.namelist()
        table = archive.read("photos.csv").decode("utf-8-sig")
    assert len(names) == len(wanted) + 1
    assert all(name in table for name in wanted)
    page.get_by_label("Until").fill("2026-05-01")
    expect(page.get_by_text("No photo of that choice.")).to_be_visible()
    expect(page.locator("#take-photos-out")).to_be_hidden()


def test_place_and_owner_go_along_only_when_ticked(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/set-up/trials/{trial_of(season)}/export")
    take = page.locator("#take-photos-out")
    assert "place" not in str(take.get_attribute("href"))
    page.get_by_label("the place goes along").check()
    page.get_by_label("owner, copyright").check()
    assert str(take.get_attribute("href")).endswith("&place=yes&owner=yes")


def test_the_tables_come_with_their_readme(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/set-up/trials/{trial_of(season)}/export", DESKTOP)
    with saved(page, "#take-tables-out") as archive:
        assert "README.md" in archive.namelist()
        assert b"canopy_fill" in archive.read("observation.csv")
        assert b"invented terrace" not in archive.read("study.csv")
    page.get_by_label("The site goes along").check()
    with saved(page, "#take-tables-out") as archive:
        assert b"an invented terrace" in archive.read("study.csv")


def test_without_plantings_or_the_server_it_says_so(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    page = open_page(f"{empty.address}/#/set-up/trials/{trial_id}/export")
    expect(page.get_by_role("link", name="Enter the plantings")).to_be_visible()


def test_who_may_not_take_out_is_told_before(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/")
    reader = {
        "device": {"id": "x", "name": "Tablet", "role": "reader"},
        "role": "reader",
        "paired": True,
        "local": False,
    }
    page.route("**/api/me", lambda route: route.fulfill(json=reader))
    page.goto(f"{season.address}/#/set-up/trials/{trial_of(season)}/export")
    expect(page.get_by_text("Only the journal’s owner takes a trial out")).to_be_visible()
    expect(page.locator("#take-photos-out")).to_have_count(0)
