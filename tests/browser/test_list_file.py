"""An order list taken in through the screen: any encoding, columns chosen, wrong lines said, whole or not at all."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from browser.records import make, records
from browser.serving import DESKTOP, PHONE, Served
from playwright.sync_api import Page, expect

ORDER = (
    "Art. no.;Description;Pot;Qty;Price\r\n"
    "1001;Petunia 'Grüne Laterne';11 cm;4;2,95\r\n"
    "1002;Calibrachoa 'Tin Bell';12 cm;6 x;3,10\r\n"
)


@pytest.fixture
def trial(empty: Served) -> str:
    return make(empty.journal, "trial", title="Terrace", year=2026)


def open_list(page: Page, content: bytes, name: str = "order.csv") -> None:
    page.locator("input[type=file]").set_input_files({"name": name, "mimeType": "text/csv", "buffer": content})


@pytest.mark.parametrize("viewport", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_an_order_list_becomes_plantings(
    empty: Served, trial: str, open_page: Callable[..., Page], viewport: dict[str, int]
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/list", viewport)
    page.get_by_role("link", name="Take an order list").click()
    open_list(page, ORDER.encode())
    expect(page.get_by_text("Say on which day they are planted; the list does not.")).to_be_visible()
    create = page.locator("#create-from-list")
    expect(create).to_be_disabled()
    page.get_by_label("Planted on, where a row does not say").fill("2026-05-16")
    expect(page.get_by_text("2 plantings would be created.")).to_be_visible()
    expect(page.get_by_text("Nothing is taken from: Art. no., Pot, Price.")).to_be_visible()
    page.get_by_label("New planters are called").fill("Pot")
    page.get_by_label("New planters are called").press("Tab")
    expect(page.get_by_role("row", name="Pot 1")).to_contain_text("Petunia ‘Grüne Laterne’")
    expect(page.get_by_label("They are of the kind")).to_have_value("pot")
    assert records(empty.journal, "planting") == [], "looking writes nothing"
    page.get_by_role("button", name="Create 2 plantings").click()
    expect(page.get_by_role("heading", name="Planters in walking order")).to_be_visible()
    expect(page.get_by_text("2 plantings created. Next: print the cards.")).to_be_visible()
    assert sorted(planting.fields["plants"] for planting in records(empty.journal, "planting")) == [4, 6]
    assert sorted(cultivar.fields["name"] for cultivar in records(empty.journal, "cultivar")) == [
        "Grüne Laterne",
        "Tin Bell",
    ]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_every_encoding_that_spreadsheets_write_is_read(
    empty: Served, trial: str, open_page: Callable[..., Page], encoding: str
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/list/file")
    open_list(page, ORDER.encode(encoding))
    page.get_by_label("Planted on, where a row does not say").fill("2026-05-16")
    expect(page.get_by_role("cell", name="Petunia ‘Grüne Laterne’")).to_be_visible()


def test_a_sheet_that_is_no_text_is_told_from_one_that_is(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/list/file")
    open_list(page, b"PK\x03\x04\x00\x00\x00\x08", "order.xlsx")
    expect(page.get_by_text("order.xlsx is not a text file: save the sheet as CSV and open that.")).to_be_visible()
    open_list(page, b"\n\n")
    expect(page.get_by_text("the text is empty")).to_be_visible()
    open_list(page, ORDER.encode())
    expect(page.get_by_text("is not a text file")).to_be_hidden()


def test_columns_are_chosen_and_wrong_lines_said_until_all_is_well(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/list/file", DESKTOP)
    page.get_by_text("Or paste the list").click()
    page.get_by_label("The list", exact=True).fill("a,b,c\n16.5.2026,Plum Lamp,4\n17.5.2026,Tin Bell,many\n")
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_label("The first line is a heading")).not_to_be_checked()
    page.get_by_label("The first line is a heading").check()
    expect(page.get_by_text("Say which column holds the cultivar.")).to_be_visible()
    page.get_by_label("Cultivar", exact=True).select_option(label="b: Plum Lamp")
    page.get_by_label("Planted on", exact=True).select_option(label="a: 16.5.2026")
    page.get_by_label("Plants", exact=True).select_option(label="c: 4")
    page.get_by_label("Genus, where a row does not say").fill("Petunia")
    page.get_by_label("Genus, where a row does not say").press("Tab")
    expect(page.get_by_text("1 line cannot be taken as it is")).to_be_visible()
    expect(page.get_by_role("row", name="many")).to_contain_text(
        "Plants: This must be a whole number of plants, not 'many'."
    )
    expect(page.locator("#create-from-list")).to_be_disabled()
    page.get_by_label("Plants", exact=True).select_option(label="not in the file")
    page.get_by_role("button", name="Create 2 plantings").click()
    expect(page.get_by_text("2 plantings created.")).to_be_visible()
    assert sorted(planting.fields["planted_on"] for planting in records(empty.journal, "planting")) == [
        "2026-05-16",
        "2026-05-17",
    ]


def test_a_day_in_another_year_than_the_trial_is_pointed_out(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/list/file")
    rows = "Plum Lamp;Petunia;16.5.2026\nTin Bell;Petunia;16.5.2025\n"
    open_list(page, f"Sorte;Gattung;Delivery\n{rows}".encode())
    expect(
        page.get_by_text("Planted in another year than the trial’s, 2026: line 3. Look whether that is meant.")
    ).to_be_visible()
    expect(page.get_by_role("button", name="Create 2 plantings")).to_be_enabled()
    open_list(page, b"Sorte;Gattung;Delivery\nPlum Lamp;Petunia;16.5.2026\n")
    expect(page.get_by_role("button", name="Create 1 planting")).to_be_enabled()
    expect(page.get_by_text("Planted in another year")).to_be_hidden()


def test_the_same_list_twice_is_left_out_unless_asked_for(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/list/file")
    for _ in range(2):
        page.goto(f"{empty.address}/#/set-up/trials/{trial}/list/file")
        open_list(page, ORDER.encode())
        page.get_by_label("Planted on, where a row does not say").fill("2026-05-16")
        if not records(empty.journal, "planting"):
            page.get_by_role("button", name="Create 2 plantings").click()
            expect(page.get_by_role("heading", name="Planters in walking order")).to_be_visible()
    expect(
        page.get_by_text("0 plantings would be created; 2 stand in the trial already and are left out.")
    ).to_be_visible()
    expect(page.locator("#create-from-list")).to_be_disabled()
    page.get_by_label("Plant once more what stands").check()
    expect(page.get_by_role("button", name="Create 2 plantings")).to_be_enabled()


def test_hostile_names_in_a_list_are_text(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    name = "<img src=x onerror=window.brokenIn=1>"
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/list/file")
    open_list(page, f'cultivar,genus,{name}\n"{name}",{name},x\n'.encode())
    page.get_by_label("Planted on, where a row does not say").fill("2026-05-16")
    expect(page.get_by_role("cell", name=f"{name} ‘{name}’")).to_be_visible()
    expect(page.get_by_text(f"Nothing is taken from: {name}.")).to_be_visible()
    assert page.locator("img[src=x]").count() == 0
    assert page.evaluate("() => window.brokenIn === undefined")
