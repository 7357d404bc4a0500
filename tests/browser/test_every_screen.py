"""What holds for every screen: it fits the phone, breaks no policy, and shows what people typed as text."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest
from browser.records import make, make_planting, photo_named, records
from browser.serving import DESKTOP, PHONE, Served
from playwright.sync_api import Page, expect

from journal_server.services.apply_changes import apply_changes

HOSTILE = '<img src=x onerror="window.brokenIn=1">\'"&amp; شتلة 🌼 ' + "w" * 18

SCREENS = {
    "today": "#/",
    "taking in": "#/photos/in",
    "waiting": "#/waiting",
    "tray": "#/photos/unsettled",
    "set aside": "#/photos/set-aside",
    "photo": "#/photos/{photo}",
    "frame": "#/photos/{photo}/frame",
    "point count": "#/photos/{photo}/count",
    "how sure": "#/review/how-sure/{trial}",
    "correcting by hand": "#/photos/{photo}/correct",
    "care": "#/care",
    "walk": "#/walk",
    "visit": "#/walk/{planting}",
    "search": "#/search?for=petunia",
    "plantings": "#/plantings",
    "planting": "#/plantings/{planting}",
    "season": "#/season",
    "numbers out": "#/season/{trial}/numbers",
    "earlier walks": "#/season/{trial}/walks",
    "compare": "#/compare",
    "two dates": "#/compare/dates/{planting}",
    "cultivars side by side": "#/compare/cultivar/{trial}",
    "review": "#/review",
    "verdict": "#/review/verdict/{trial}/{cultivar}/container",
    "reports": "#/review/reports/{trial}",
    "report on a cultivar": "#/review/reports/{trial}?of=cultivar",
    "share a report": "#/review/reports/{trial}/share?report=trial",
    "no such verdict": "#/review/verdict/{trial}/{cultivar}/ground",
    "set-up": "#/set-up",
    "trial": "#/set-up/trials/{trial}",
    "planters": "#/set-up/trials/{trial}/planters",
    "list": "#/set-up/trials/{trial}/list",
    "list file": "#/set-up/trials/{trial}/list/file",
    "taking the trial out": "#/set-up/trials/{trial}/export",
    "cards": "#/set-up/trials/{trial}/cards",
    "planned care": "#/set-up/trials/{trial}/care",
    "planning care": "#/set-up/trials/{trial}/care/new",
    "weather": "#/set-up/trials/{trial}/weather",
    "weather file": "#/set-up/trials/{trial}/weather/file",
    "new season": "#/set-up/trials/{trial}/new-season",
    "end of the season": "#/set-up/trials/{trial}/end",
    "calendar": "#/set-up/calendar",
    "cultivars": "#/set-up/cultivars",
    "cultivar": "#/set-up/cultivars/{cultivar}",
    "planter": "#/set-up/planters/{planter}",
    "changing a planting": "#/set-up/plantings/{planting}",
    "backup": "#/set-up/backup",
    "settings": "#/set-up/settings",
    "phones": "#/set-up/phones",
    "pairing": "#/pair",
    "no such address": "#/nowhere/at/all",
    "no such photo": "#/photos/none",
}


def address_of(served: Served, screen: str) -> str:
    photo = photo_named(served.journal, "p3_2026-07-14.jpg")
    planting = next(p for p in records(served.journal, "planting") if p.id == photo.fields["planting_id"])
    ids = {
        "photo": photo.id,
        "planting": planting.id,
        "trial": planting.fields["trial_id"],
        "cultivar": planting.fields["cultivar_id"],
        "planter": planting.fields["planter_id"],
    }
    return f"{served.address}/{SCREENS[screen].format(**ids)}"


def sideways(page: Page) -> list[str]:
    """What reaches over the right edge of the window, if anything makes the page scroll sideways."""
    found: list[str] = page.evaluate(
        """() => document.documentElement.scrollWidth <= innerWidth ? [] :
            [...document.querySelectorAll("body *")]
                .filter((node) => node.getBoundingClientRect().right > innerWidth + 1)
                .map((node) => `${node.tagName}.${node.className}`)"""
    )
    return found


def walk_through(page: Page, served: Served) -> Iterator[str]:
    """Shows every screen in turn; yields its name once it stands still."""
    for screen in SCREENS:
        page.goto(address_of(served, screen))
        page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        page.wait_for_load_state("networkidle")
        expect(page.get_by_text(re.compile("^(Drawing|Reading) …$"))).to_have_count(0)
        yield screen


@pytest.mark.parametrize("viewport", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_every_screen_fits_and_has_one_heading(
    season: Served, open_page: Callable[..., Page], viewport: dict[str, int]
) -> None:
    page = open_page(season.address, viewport)
    for screen in walk_through(page, season):
        assert sideways(page) == [], screen
        assert page.locator("h1").count() == 1, screen
        assert page.locator(":text-matches('undefined|object Object|NaN')").count() == 0, screen


def test_text_of_twice_the_size_still_fits_the_phone(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(season.address)
    page.add_init_script("addEventListener('load', () => (document.documentElement.style.fontSize = '200%'))")
    page.reload()
    for screen in walk_through(page, season):
        assert sideways(page) == [], screen


def test_whatever_can_be_tapped_is_large_enough_and_has_a_name(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(season.address)
    for screen in walk_through(page, season):
        small = page.evaluate(
            """() => [...document.querySelectorAll("button, select, input, summary, .row")]
                .filter((node) => !["file", "checkbox", "radio"].includes(node.type))
                .filter((node) => node.checkVisibility() && node.getBoundingClientRect().height < 44)
                .map((node) => node.outerHTML.slice(0, 120))"""
        )
        assert small == [], screen
        nameless = page.evaluate(
            """() => [...document.querySelectorAll("button, select, input, textarea")]
                .filter((node) => node.checkVisibility())
                .filter((node) => !(node.ariaLabel || node.labels?.length || node.textContent.trim()))
                .map((node) => node.outerHTML.slice(0, 120))"""
        )
        assert nameless == [], screen


def test_hostile_names_are_shown_as_text_everywhere(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title=HOSTILE, year=2026, site=HOSTILE, note=HOSTILE)
    planting_id = make_planting(empty.journal, trial_id, HOSTILE[:80], note=HOSTILE, identity="doubtful")
    page = open_page(empty.address)
    for address in (
        "#/", "#/plantings", f"#/plantings/{planting_id}", "#/season", "#/set-up", "#/set-up/cultivars",
        f"#/set-up/trials/{trial_id}", f"#/set-up/trials/{trial_id}/planters", f"#/set-up/trials/{trial_id}/cards",
        f"#/set-up/plantings/{planting_id}",
    ):  # fmt: skip
        page.goto(f"{empty.address}/{address}")
        page.wait_for_load_state("networkidle")
        assert page.locator("img[src=x]").count() == 0, address
        assert page.evaluate("() => window.brokenIn === undefined"), address
        assert sideways(page) == [], address
    page.goto(f"{empty.address}/#/plantings")
    expect(page.locator("main")).to_contain_text(HOSTILE[:40])


def test_an_address_opens_the_same_screen_again(season: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address_of(season, "planting"))
    heading = page.locator("h1").inner_text()
    page.reload()
    expect(page.locator("h1")).to_have_text(heading)


def test_a_journal_never_opened_here_that_cannot_be_reached_is_said_and_tried_again(
    season: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page("about:blank", heading=None)
    page.route("**/api/changes*", lambda route: route.abort())
    page.goto(season.address)
    expect(page.get_by_role("alert")).to_contain_text("cannot be reached")
    page.unroute("**/api/changes*")
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("heading", name="Today")).to_be_visible()


def test_an_edit_of_the_same_field_elsewhere_is_shown_not_overwritten(
    empty: Served, open_page: Callable[..., Page]
) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    page = open_page(f"{empty.address}/#/set-up/trials/{trial_id}")
    apply_changes(empty.journal, [{"kind": "trial", "id": trial_id, "fields": {"title": "Theirs", "site": "North"}}])
    page.get_by_label("Title").fill("Mine")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("[data-field=title] .field-problem")).to_contain_text("“Theirs”")
    assert records(empty.journal, "trial")[0].fields["title"] == "Theirs"
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("heading", name="Mine")).to_be_visible()
    assert records(empty.journal, "trial")[0].fields["site"] == "North"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_its_ground(season: Served, open_page: Callable[..., Page], scheme: str) -> None:
    page = open_page(address_of(season, "photo"), color_scheme=scheme)
    ratios = page.evaluate(
        """() => {
            const style = getComputedStyle(document.documentElement);
            const light = (name) => {
                const hex = style.getPropertyValue(name).trim().slice(1);
                const [r, g, b] = [0, 2, 4].map((at) => parseInt(hex.slice(at, at + 2), 16) / 255)
                    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
                return 0.2126 * r + 0.7152 * g + 0.0722 * b;
            };
            const ratio = (a, b) => (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
            return ["--ink", "--quiet", "--signal"].map((name) => ratio(light(name), light("--paper")));
        }"""
    )
    # 7:1 is the enhanced contrast of WCAG 2.2, success criterion 1.4.6: readable in sun.
    assert min(ratios) >= 7
