"""Reports from the screen to the reader: chosen, opened, saved, and read as a file of its own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from browser.records import photo_named, records
from browser.serving import DESKTOP, PHONE, Served
from browser.test_accessibility import AXE_SCRIPT, violations
from browser.test_every_screen import address_of, sideways
from playwright.sync_api import Page, Request, expect

from journal_server.services.reports.make_report import Asked, make_report
from journal_server.services.reports.options import Options


def test_a_report_is_opened_in_a_tab_of_its_own_without_script(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address_of(season, "reports"))
    with page.expect_popup() as opening:
        page.get_by_role("link", name="Open the report").click()
    report = opening.value
    expect(report.locator("h1")).to_have_text("Terrace trough trial, town library, 2026")
    assert report.evaluate("() => origin") == "null"
    assert report.locator("script").count() == 0
    assert report.evaluate("() => [...document.images].every((image) => image.naturalWidth > 100)")


def test_each_report_and_form_is_offered_as_a_file(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address_of(season, "report on a cultivar"))
    for form, suffix in (("html", ".html"), ("pdf", ".pdf"), ("markdown", ".zip")):
        page.get_by_label("As").select_option(form)
        expect(page.get_by_label("Paper")).to_be_visible(visible=form == "pdf")
        expect(page.get_by_role("link", name="Open the report")).to_be_visible(visible=form != "markdown")
        with page.expect_download() as saving:
            page.get_by_role("link", name="Save it").click()
        assert saving.value.suggested_filename.endswith(suffix)
        assert Path(saving.value.path()).stat().st_size > 10_000
    for kind in ("trial", "order-list"):
        page.get_by_label("Report").select_option(kind)
        expect(page.get_by_label("Cultivar")).to_be_hidden()
        assert f"/api/reports/{kind}?" in str(page.get_by_role("link", name="Save it").get_attribute("href"))


def test_what_is_chosen_stands_in_the_address_of_the_report(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address_of(season, "reports"))
    page.get_by_label("Cut each photo to its frame").check()
    page.get_by_label("Show photos").uncheck()
    page.get_by_label("Name the site").check()
    href = str(page.get_by_role("link", name="Open the report").get_attribute("href"))
    assert {"crop=yes", "photos=no", "place=yes", "format=html", "view=yes"} <= set(href.partition("?")[2].split("&"))


def test_two_trials_need_a_second_one(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address_of(season, "reports"))
    page.get_by_label("Report").select_option("two-trials")
    expect(page.get_by_text("There is only one trial in this journal")).to_be_visible()
    expect(page.get_by_role("link", name="Save it")).to_be_hidden()


@pytest.fixture(scope="module")
def saved(season: Served, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Saved HTML reports of the sample season, by kind."""
    trial = records(season.journal, "trial")[0].id
    planting = photo_named(season.journal, "p3_2026-07-14.jpg").fields["planting_id"]
    cultivar = next(p.fields["cultivar_id"] for p in records(season.journal, "planting") if p.id == planting)
    folder = tmp_path_factory.mktemp("reports")
    for kind in ("cultivar", "trial", "order-list"):
        asked = Asked(kind, trial, Options(season.journal.today()), cultivar_id=cultivar)
        (folder / f"{kind}.html").write_bytes(make_report(season.journal, asked).content)
    return {path.stem: path for path in folder.iterdir()}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [PHONE, DESKTOP], ids=["phone", "desktop"])
@pytest.mark.parametrize("kind", ["cultivar", "trial", "order-list"])
def test_a_saved_report_is_read_from_its_file_alone(
    saved: dict[str, Path], open_page: Callable[..., Page], kind: str, viewport: dict[str, int], scheme: str
) -> None:
    asked_for: list[str] = []
    page = open_page("about:blank", viewport, heading=None, color_scheme=scheme)

    def note(request: Request) -> None:
        asked_for.append(request.url)

    page.on("request", note)
    page.goto(saved[kind].as_uri())
    assert sideways(page) == []
    assert [url for url in asked_for if not url.startswith(("file:", "data:"))] == []
    assert page.evaluate("() => [...document.images].every((image) => image.naturalWidth > 100)")
    page.evaluate(AXE_SCRIPT)
    assert violations(page, kind) == []


def test_a_report_is_shared_by_a_link_renewed_and_closed(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address_of(season, "reports"))
    page.get_by_label("Show photos").uncheck()
    page.get_by_role("link", name="Share it by a link").click()
    expect(page.locator("#what-is-shared")).to_contain_text("the whole trial; with no photos, not the site’s name.")
    page.get_by_role("button", name="Make the link").click()
    expect(page.get_by_text("This needs a few words.")).to_be_visible()
    page.get_by_label("For whom").fill("The neighbour")
    page.get_by_role("button", name="Make the link").click()
    addresses = page.locator(".address-to-copy code")
    expect(addresses).to_have_count(2)
    screen, paper = addresses.all_inner_texts()
    with page.context.new_page() as reader:
        reader.goto(screen)
        expect(reader.locator("h1")).to_have_text("Terrace trough trial, town library, 2026")
        assert reader.evaluate("() => [origin, document.images.length]") == ["null", 0]
    assert page.request.get(paper).body().startswith(b"%PDF-")
    page.get_by_role("button", name="Bring the report of The neighbour up to date").click()
    expect(page.get_by_text("last opened on")).to_be_visible()
    page.get_by_role("button", name="Close the link of The neighbour").click()
    page.get_by_role("dialog").get_by_role("button", name="Close it").click()
    expect(page.get_by_text("None is shared.")).to_be_visible()
    for address in (screen, paper):
        assert page.request.get(address).status == 401
