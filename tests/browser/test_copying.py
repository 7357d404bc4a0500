"""Numbers, tables and figures taken out by hand: what lands in the clipboard, what the saved files are."""

from __future__ import annotations

import io
import json
import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from browser.phone import Phone
from browser.records import make, make_planting, photo_named, records
from browser.serving import DESKTOP, Served
from made_season import keep_numbers, numbers, photo_without_numbers
from PIL import Image
from playwright.sync_api import Locator, Page, expect

from journal_server.services.photo_quotes import quotes_of_photo
from journal_server.services.planting_summary import planting_summary

CLIPBOARD = {"permissions": ["clipboard-read", "clipboard-write"]}
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '<img src=x onerror="window.brokenIn=1"> *a* شتلة 🌼'
WORDS_CASES = Path(__file__).parents[1] / "figures" / "number_words_cases.json"
UNBROKEN_CASES = Path(__file__).parents[1] / "domain" / "unbroken_cases.json"

READ = """async () => {
    const [item] = await navigator.clipboard.read();
    const read = async (type) => [type, await (await item.getType(type)).text()];
    return Object.fromEntries(await Promise.all(item.types.filter((type) => type.startsWith("text/")).map(read)));
}"""


def clipboard(page: Page) -> dict[str, str]:
    """What the clipboard holds as text, by type."""
    held: dict[str, str] = page.evaluate(READ)
    return held


def copied(page: Page, label: str, says: str) -> dict[str, str]:
    page.get_by_role("dialog").get_by_role("button", name=label, exact=True).click()
    expect(page.get_by_role("dialog").get_by_role("status")).to_have_text(says)
    return clipboard(page)


def opened(page: Page, number: Locator) -> Locator:
    number.click()
    sheet = page.get_by_role("dialog")
    expect(sheet.get_by_role("button", name="Copy as text")).to_be_focused()
    return sheet


def saved(page: Page, label: str) -> tuple[str, bytes]:
    with page.expect_download() as download:
        page.get_by_role("dialog").get_by_role("button", name=label).click()
    return download.value.suggested_filename, Path(download.value.path()).read_bytes()


def picture_of(content: bytes) -> Image.Image:
    """The picture, which must be whole and carry nothing but its description."""
    picture = Image.open(io.BytesIO(content))
    picture.load()
    assert not picture.getexif()
    assert set(picture.info) <= {"Description"}
    return picture


@pytest.fixture
def quoted(season: Served, open_page: Callable[..., Page]) -> tuple[Page, dict[str, Any]]:
    """The page of a photo, and what the server says is copied there."""
    photo = photo_named(season.journal, "p3_2026-07-14.jpg")
    page = open_page(f"{season.address}/#/photos/{photo.id}", **CLIPBOARD)
    return page, quotes_of_photo(season.journal, photo.id)["photos"][photo.id]


def test_a_number_is_copied_in_three_formats(quoted: tuple[Page, dict[str, Any]]) -> None:
    page, made = quoted
    fill = made["quotes"]["canopy_fill"]
    sheet = opened(page, page.locator("#copy-leading-canopy_fill"))
    expect(sheet.get_by_text(fill["text"])).to_be_visible()
    assert copied(page, "Copy as text", "Copied as text.") == {"text/plain": fill["text"]}
    assert copied(page, "Copy as Markdown", "Copied as Markdown.") == {"text/plain": fill["markdown"]}
    as_html = copied(page, "Copy as HTML", "Copied as HTML.")
    # The browser cleans HTML that is copied; what is pasted as plain text is the source itself.
    assert as_html["text/plain"] == fill["html"]
    for part in ("<strong>", "<i><bdi>Bidens</bdi></i>", 'datetime="2026-07-14"'):
        assert part in as_html["text/html"]
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(page.locator("#copy-leading-canopy_fill")).to_be_focused()


def test_every_number_of_a_photo_is_copied_by_keyboard(quoted: tuple[Page, dict[str, Any]]) -> None:
    page, made = quoted
    page.get_by_text("Every number with its interval").click()
    for key, name in (("bloom_cover", "bloom_cover"), ("slots", "slots"), ("bloom_colour", "colour")):
        number = page.locator(f"#copy-{name}")
        expect(number).to_have_accessible_name(re.compile(" copy$"))
        number.focus()
        page.keyboard.press("Enter")
        expect(page.get_by_role("button", name="Copy as text")).to_be_focused()
        page.keyboard.press("Enter")
        expect(page.get_by_role("dialog").get_by_role("status")).to_have_text("Copied as text.")
        assert clipboard(page)["text/plain"] == made["quotes"][key]["text"]
        page.keyboard.press("Escape")
    page.locator("#copy-numbers").click()
    assert copied(page, "Copy as text", "Copied as text.")["text/plain"] == made["copies"]["text"]


def test_numbers_of_a_season_a_comparison_and_two_dates_are_copied(
    season: Served, open_page: Callable[..., Page]
) -> None:
    planting = photo_named(season.journal, "p3_2026-07-14.jpg").fields["planting_id"]
    page = open_page(f"{season.address}/#/plantings/{planting}", **CLIPBOARD)
    answer = planting_summary(season.journal, planting)
    half = next(row for row in answer["rows"] if row["name"] == "half full after")
    opened(page, page.get_by_role("row", name="half full after").get_by_role("button"))
    assert copied(page, "Copy as text", "Copied as text.")["text/plain"] == half["quote"]["text"]
    page.keyboard.press("Escape")
    page.locator("#copy-season").click()
    assert copied(page, "Copy as Markdown", "Copied as Markdown.")["text/plain"] == answer["copies"]["markdown"]
    page.goto(f"{season.address}/#/compare/dates/{planting}")
    opened(page, page.locator("#copy-canopy_fill"))
    text = copied(page, "Copy as text", "Copied as text.")["text/plain"]
    assert text.startswith("Change of canopy fill, ")
    assert text.endswith("more than measuring error")
    page.goto(f"{season.address}/#/compare/cultivar/{records(season.journal, 'trial')[0].id}")
    page.locator(".compared .copyable").first.click()
    text = copied(page, "Copy as text", "Copied as text.")["text/plain"]
    assert text.startswith("Bloom cover 6 weeks after planting: ")
    assert "Bidens ‘Quarry Lamp’ in Wall rack 3, 8 photos, 22 May to 22 August 2026, measured by" in text


def test_without_the_server_what_was_brought_ahead_is_copied(untouched_season: Served, phone: Phone) -> None:
    photo = photo_named(untouched_season.journal, "p3_2026-07-14.jpg")
    phone.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page = phone.ready_for_the_walk(untouched_season.address)
    address = f"/api/plantings/{photo.fields['planting_id']}/quotes"
    until = time.monotonic() + 120
    kept = """async (address) => {
        const keys = await (await caches.open("figures and numbers")).keys();
        return keys.some(({ url }) => url.endsWith(address));
    }"""
    while not page.evaluate(kept, address):
        assert time.monotonic() < until, "the quotes were not brought ahead"
        page.wait_for_timeout(200)
    untouched_season.stop()
    try:
        page.goto(f"{untouched_season.address}/#/photos/{photo.id}")
        opened(page, page.locator("#copy-leading-bloom_cover"))
        made = quotes_of_photo(untouched_season.journal, photo.id)["photos"][photo.id]
        assert copied(page, "Copy as text", "Copied as text.")["text/plain"] == made["quotes"]["bloom_cover"]["text"]
    finally:
        untouched_season.start()


def test_what_was_not_brought_is_said(season: Served, open_page: Callable[..., Page]) -> None:
    photo = photo_named(season.journal, "p3_2026-07-14.jpg")
    page = open_page("about:blank", heading=None)
    # A service worker's own requests cannot be held back here.
    page.add_init_script("Object.defineProperty(Navigator.prototype, 'serviceWorker', { value: undefined })")
    page.goto(f"{season.address}/#/photos/{photo.id}")
    page.route("**/quotes", lambda route: route.abort())
    page.locator("#copy-leading-canopy_fill").click()
    alert = page.get_by_role("dialog").get_by_role("alert")
    expect(alert).to_contain_text("it has not been brought to this device yet")
    page.unroute("**/quotes")
    alert.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("button", name="Copy as text")).to_be_visible()


def test_where_the_clipboard_is_not_lent_the_words_can_be_selected(
    season: Served, open_page: Callable[..., Page]
) -> None:
    """A page over plain http in the home network has no clipboard at all."""
    photo = photo_named(season.journal, "p3_2026-07-14.jpg")
    page = open_page("about:blank", heading=None)
    page.add_init_script("Object.defineProperty(Navigator.prototype, 'clipboard', { value: undefined })")
    page.goto(f"{season.address}/#/photos/{photo.id}")
    page.locator("#copy-leading-canopy_fill").click()
    field = page.get_by_role("dialog").get_by_label("As Markdown")
    made = quotes_of_photo(season.journal, photo.id)["photos"][photo.id]["quotes"]["canopy_fill"]
    expect(field).to_have_value(made["markdown"])
    field.focus()
    assert page.evaluate("() => getSelection().toString()") == made["markdown"]
    expect(page.get_by_text("Select the words and copy them yourself.")).to_be_visible()


def test_a_hostile_name_is_copied_as_typed_and_runs_nowhere(empty: Served, open_page: Callable[..., Page]) -> None:
    trial = make(empty.journal, "trial", title=HOSTILE, year=2026)
    planting = make_planting(empty.journal, trial, HOSTILE)
    photo = photo_without_numbers(empty.journal, planting, "2026-07-14")
    keep_numbers(empty.journal, photo, planting, numbers(0.5, 0.3, method="made up, 1", reasons={}))
    page = open_page(f"{empty.address}/#/photos/{photo}", **CLIPBOARD)
    sheet = opened(page, page.locator("#copy-leading-canopy_fill"))
    expect(sheet.get_by_text(f"‘{HOSTILE}’")).to_be_visible()
    assert f"Petunia ‘{HOSTILE}’" in copied(page, "Copy as text", "Copied as text.")["text/plain"]
    assert "&lt;img" in copied(page, "Copy as HTML", "Copied as HTML.")["text/plain"]
    assert page.evaluate("() => window.brokenIn === undefined && !document.querySelector('img[src=x]')")
    page.keyboard.press("Escape")
    page.goto(f"{empty.address}/#/plantings/{planting}")
    page.locator("#copy-figure-canopy_fill").click()
    name, svg = saved(page, "Save as SVG")
    assert name == "petunia-img-src-x-onerror-window-brokenin-1-a-canopy-fill.svg"
    assert HOSTILE in (ElementTree.fromstring(svg).findtext(f"{SVG}title") or "")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_figure_is_saved_as_a_file_of_its_own(season: Served, open_page: Callable[..., Page], scheme: str) -> None:
    page = open_page(f"{season.address}/#/season", DESKTOP, color_scheme=scheme, **CLIPBOARD)
    page.locator("#copy-figure-timeline").click()
    name, content = saved(page, "Save as SVG")
    assert name == "the-trial-over-the-season.svg"
    root = ElementTree.fromstring(content)
    title, description = root.findtext(f"{SVG}title"), root.findtext(f"{SVG}desc")
    assert title == "The trial over the season"
    assert "Petunia ‘Plum Gaslight’" in (description or "")
    text = content.decode()
    assert not any(sign in text for sign in ("currentColor", "var(", "data-", "href", "script", 'class="', "tabindex"))
    name, content = saved(page, "Save as PNG")
    assert name == "the-trial-over-the-season.png"
    picture = picture_of(content)
    width, height = float(root.get("width") or 0), float(root.get("height") or 0)
    assert picture.size == (round(2 * width), round(2 * height))
    assert picture.info["Description"] == f"{title}. {description}"
    assert picture.convert("RGB").getpixel((0, 0)) == (255, 255, 255)
    darkest, _ = picture.convert("L").getextrema()
    assert darkest < 60, "ink is dark, whatever the page's colours are"
    assert copied(page, "Copy its description", "Copied.")["text/plain"] == picture.info["Description"]
    assert copied(page, "Copy the picture", "Picture copied.") == {}
    assert page.evaluate("async () => (await navigator.clipboard.read())[0].types") == ["image/png"]
    page.goto("about:blank")
    shown = page.evaluate(
        """async (text) => {
            const image = new Image();
            image.src = URL.createObjectURL(new Blob([text], { type: "image/svg+xml" }));
            await image.decode();
            return [image.naturalWidth, image.naturalHeight];
        }""",
        text,
    )
    assert shown == [round(width), round(height)]


def test_intervals_are_in_the_file_as_they_are_on_the_page(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/season", DESKTOP)
    page.locator("#copy-figure-timeline").click()
    _, without = saved(page, "Save as SVG")
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Show intervals").click()
    page.locator("#copy-figure-timeline").click()
    _, with_intervals = saved(page, "Save as SVG")
    plain = [path.get("d") for path in ElementTree.fromstring(without).iter(f"{SVG}path")]
    more = [path for path in ElementTree.fromstring(with_intervals).iter(f"{SVG}path") if path.get("d") not in plain]
    assert len(more) >= 7
    assert {path.get("opacity") for path in more} == {"1"}


def test_a_figures_table_is_copied_for_a_spreadsheet(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/season", DESKTOP, **CLIPBOARD)
    page.get_by_text("The numbers as a table").click()
    page.locator("#copy-table-timeline").click()
    lines = copied(page, "Copy as text", "Copied as text.")["text/plain"].rstrip("\n").split("\n")
    title, header, *rows, source = (line.split("\t") for line in lines)
    assert title == ["The trial over the season"]
    assert header[:2] == ["planting", "place"]
    assert {len(row) for row in rows} == {len(header)}
    assert "measured by learned 3" in source[0]


def test_the_pair_of_two_dates_is_saved_with_its_line(season: Served, open_page: Callable[..., Page]) -> None:
    first, second = (photo_named(season.journal, f"p3_2026-0{day}.jpg") for day in ("6-17", "7-14"))
    planting = first.fields["planting_id"]
    page = open_page(
        f"{season.address}/#/compare/dates/{planting}?first={first.id}&second={second.id}", DESKTOP, **CLIPBOARD
    )
    line = page.get_by_label("Earlier to the left, later to the right")
    expect(line).to_be_visible(timeout=30_000)
    pictures = []
    for at in (100, 25, 0):
        line.fill(str(at))
        page.locator("#copy-pair").click()
        name, content = saved(page, "Save as PNG")
        pictures.append(picture_of(content).convert("RGB"))
        page.keyboard.press("Escape")
    assert name == "bidens-quarry-lamp-in-wall-rack-3-17-june-2026-week-5-14-july-2026-week-8.png"
    earlier, both, later = pictures
    width, height = first.fields["width"], first.fields["height"]
    assert both.size[0] == width
    assert both.size[1] > height, "the words stand below"
    for x, same in ((width // 8, earlier), (width // 2, later), (width - 20, later)):
        assert [both.getpixel((x, y)) for y in range(20, height, 40)] == [
            same.getpixel((x, y)) for y in range(20, height, 40)
        ]
    assert both.getpixel((width // 4, height // 2)) == (255, 255, 255)
    described = Image.open(io.BytesIO(content))
    assert described.info["Description"] == (
        "Bidens ‘Quarry Lamp’ in Wall rack 3: 17 June 2026, week 5 left of the line; 14 July 2026, week 8 right of it"
    )
    page.get_by_role("button", name="Side by side").click()
    page.locator("#copy-pair").click()
    _, content = saved(page, "Save as PNG")
    assert picture_of(content).size[0] > 2 * width - 10


def test_what_was_counted_is_saved_without_metadata(season: Served, open_page: Callable[..., Page]) -> None:
    photo = photo_named(season.journal, "p3_2026-07-14.jpg")
    page = open_page(f"{season.address}/#/photos/{photo.id}", **CLIPBOARD)
    expect(page.locator("#copy-counted")).to_be_hidden()
    page.get_by_role("button", name="Show what was counted").click()
    page.locator("#copy-counted").click()
    name, content = saved(page, "Save as PNG")
    assert name == "bidens-quarry-lamp-in-wall-rack-3-14-july-2026-counted.png"
    picture = picture_of(content)
    assert picture.size[0] == photo.fields["width"]
    assert picture.info["Description"].startswith(
        "What was counted in the photo of Bidens ‘Quarry Lamp’ in Wall rack 3, 14 July"
    )
    name, content = saved(page, "Save as WebP")
    bare = Image.open(io.BytesIO(content))
    assert (bare.format, bare.size) == ("WEBP", (photo.fields["width"], photo.fields["height"]))
    assert not bare.getexif()
    assert not {"exif", "xmp", "icc_profile"} & set(bare.info)


def test_the_numbers_are_taken_out_from_the_season(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{season.address}/#/season")
    page.get_by_role("link", name="Take the numbers out").click()
    with page.expect_download() as download:
        page.get_by_role("link", name="For a spreadsheet").click()
    content = Path(download.value.path()).read_bytes()
    assert (download.value.suggested_filename, content[:3]) == ("numbers.csv", b"\xef\xbb\xbf")
    with page.expect_download() as download:
        page.get_by_role("link", name="Data package").click()
    assert Path(download.value.path()).read_bytes()[:2] == b"PK"
    page.get_by_text("What each column means", exact=True).click()
    expect(page.get_by_role("row", name="canopy_fill_low").first).to_contain_text("lower bound of the 90 % interval")
    page.get_by_label("Of").select_option("all")
    page.wait_for_url("**/#/season/all/numbers")
    expect(page.locator("#take-json")).to_have_attribute("href", "/api/numbers?format=json")


def test_a_photos_numbers_are_worded_as_the_server_words_them(empty: Served, open_page: Callable[..., Page]) -> None:
    cases = json.loads(WORDS_CASES.read_text(encoding="utf-8"))
    page = open_page(empty.address)
    found = page.evaluate(
        """async (cases) => {
            const { shareInWords, amountInWords } = await import("/words.js");
            const said = (one) => one.unit === "share" ? shareInWords(one)
                : amountInWords(one, one.unit === "cm" ? "cm" : "");
            return cases.map((one) => Object.values(said(one)).map((words) => words.replaceAll("\\u00a0", " ")));
        }""",
        cases,
    )
    assert found == [[case["words"], case["interval"]] for case in cases]


def test_a_screen_keeps_on_one_line_what_the_server_does(empty: Served, open_page: Callable[..., Page]) -> None:
    cases = json.loads(UNBROKEN_CASES.read_text(encoding="utf-8"))
    page = open_page(empty.address)
    found = page.evaluate(
        """async (texts) => {
            const { unbroken } = await import("/words.js");
            return texts.map(unbroken);
        }""",
        [case["text"] for case in cases],
    )
    for case, words in zip(cases, found, strict=True):
        assert words.replace("\u00a0", " ") == case["text"]
        assert words.count("\u00a0") == sum(kept.count(" ") for kept in case["kept"])
        assert all(kept.replace(" ", "\u00a0") in words for kept in case["kept"])


def test_a_file_is_named_so_that_every_disk_takes_it(empty: Served, open_page: Callable[..., Page]) -> None:
    names = {
        "Grüner ‘Prinz’ / ../etc": "gruner-prinz-etc",
        "شتلة 🌼": "figure",
        "x" * 200: "x" * 80,
        'CON: <a>"b"': "con-a-b",
    }
    page = open_page(empty.address)
    found = page.evaluate(
        """async (names) => {
            const { fileName } = await import("/screens/copy/save.js");
            return names.map((name) => fileName(name, "figure"));
        }""",
        list(names),
    )
    assert found == list(names.values())
