"""What to look at, as a person meets it: the sentence, why, dismissing with a way back, and keeping it as a note."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from browser.phone import Phone
from browser.records import make, make_planting, records
from browser.serving import Served
from made_season import measured_season
from playwright.sync_api import Page, expect

SENTENCE = "Bloom cover fell from 30 % to 3 % while canopy fill held"


@pytest.fixture
def eaten(empty: Served) -> tuple[Served, str]:
    """A planting that lost its bloom between two photos of last summer: served, planting id."""
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Made Up")
    measured_season(empty.journal, planting_id, {"2026-07-02": (0.6, 0.3), "2026-07-14": (0.6, 0.03)}, "TAG-7K3Q9M")
    return empty, planting_id


def answers(served: Served) -> list[tuple[str | None, str | None]]:
    return [(r.fields["answer"], r.fields["note"]) for r in records(served.journal, "look_at_answer")]


def test_why_is_one_tap_away_with_numbers_photos_and_other_explanations(
    eaten: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id = eaten
    page = open_page(f"{served.address}/#/")
    section = page.locator(".look-at-things")
    expect(section.get_by_role("heading", name="Look at, as of 14 July 2026")).to_be_visible()
    expect(section.get_by_text(SENTENCE)).to_be_visible()
    table = section.get_by_role("table")
    expect(table).to_be_hidden()
    section.get_by_text("Why").click()
    expect(table.get_by_role("row").nth(1)).to_have_text(
        re.compile("^2\\sJulbloom cover30\\s% copy\\s\\(28–32\\s%\\)$")
    )
    expect(section.get_by_role("link", name="Photo of 14 July 2026")).to_be_visible()
    expect(section.get_by_text("A natural pause between two flushes.")).to_be_visible()
    expect(section.get_by_text("Mind: Spraying is a decision to take with the product label.")).to_be_visible()
    section.get_by_role("link", name="Made Up").click()
    expect(page.locator(".look-at-things").get_by_text(SENTENCE)).to_be_visible()
    assert page.url.endswith(planting_id)


def test_what_is_dismissed_goes_and_comes_back_by_undo(
    eaten: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, _ = eaten
    page = open_page(f"{served.address}/#/")
    page.get_by_role("button", name="Dismiss").click()
    expect(page.get_by_text(SENTENCE)).to_have_count(0)
    expect(page.get_by_text("Dismissed, until there is newer evidence.")).to_be_visible()
    assert answers(served) == [("dismissed", None)]
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text(SENTENCE)).to_be_visible()
    expect(page.get_by_text("Undone.")).to_be_visible()
    assert answers(served) == [(None, None)]
    page.get_by_role("button", name="Dismiss").click()
    expect(page.get_by_text(SENTENCE)).to_have_count(0)
    page.reload()
    expect(page.get_by_role("heading", name="Last walk")).to_be_visible()
    page.wait_for_load_state("networkidle")
    expect(page.get_by_text(SENTENCE)).to_have_count(0)
    assert answers(served) == [("dismissed", None)]


def test_an_earlier_walk_tells_what_there_was_and_what_became_of_it(
    eaten: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{eaten[0].address}/#/")
    page.get_by_role("button", name="Dismiss").click()
    expect(page.get_by_text("Dismissed, until there is newer evidence.")).to_be_visible()
    page.goto(f"{eaten[0].address}/#/season")
    page.reload()
    page.get_by_role("link", name="Earlier walks").click()
    expect(page.get_by_role("heading", name="Earlier walks", level=1)).to_be_visible()
    thing = page.locator(".look-at-thing").filter(has_text=SENTENCE)
    expect(thing).to_contain_text("Dismissed.")
    expect(thing.get_by_role("button", name="Dismiss")).to_have_count(0)
    page.get_by_label("Walk of").select_option("2026-07-02")
    expect(page.get_by_text("Nothing stood out.")).to_be_visible()
    expect(page.get_by_text(SENTENCE)).to_have_count(0)


def test_what_is_noted_stands_with_the_planting(eaten: tuple[Served, str], open_page: Callable[..., Page]) -> None:
    served, planting_id = eaten
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator(".look-at-things")).to_have_count(0)
    expect(page.get_by_role("heading", name="Noted of it")).to_be_visible()
    expect(page.get_by_text(SENTENCE)).to_be_visible()
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_role("heading", name="Noted of it")).to_have_count(0)
    expect(page.locator(".look-at-things").get_by_text(SENTENCE)).to_be_visible()


def test_settings_of_the_rules_are_folded_away_and_say_what_is_wrong(
    eaten: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, _ = eaten
    page = open_page(f"{served.address}/#/set-up/settings")
    field = page.get_by_label("Bloom lost while the leaves are fine, from (%)")
    expect(field).to_be_hidden()
    page.get_by_text("Things to look at", exact=True).click()
    field.fill("5")
    page.get_by_role("button", name="Save: things to look at").click()
    expect(page.get_by_text("This must be 0 (off) or from 10 to 100, not 5.")).to_be_visible()
    field.fill("0")
    page.get_by_role("button", name="Save: things to look at").click()
    expect(page.get_by_text("Settings saved.")).to_be_visible()
    page.goto(f"{served.address}/#/")
    expect(page.get_by_role("heading", name="Last walk")).to_be_visible()
    page.wait_for_load_state("networkidle")
    expect(page.get_by_text(SENTENCE)).to_have_count(0)


def test_a_rule_with_nothing_to_choose_is_a_tick(eaten: tuple[Served, str], open_page: Callable[..., Page]) -> None:
    served, _ = eaten
    page = open_page(f"{served.address}/#/set-up/settings")
    page.get_by_text("Things to look at", exact=True).click()
    told = page.get_by_label("Identity in doubt")
    expect(told).to_be_checked()
    told.uncheck()
    page.get_by_role("button", name="Save: things to look at").click()
    expect(page.get_by_text("Settings saved.")).to_be_visible()
    assert served.journal.setting("look_at_identity_doubtful") == 0
    page.reload()
    page.get_by_text("Things to look at", exact=True).click()
    expect(told).not_to_be_checked()
    expect(page.get_by_label("Paper of the cards").locator("option")).to_have_text(["A4", "Letter"])


def test_without_the_server_it_is_still_told_and_can_be_dismissed(eaten: tuple[Served, str], phone: Phone) -> None:
    served, _ = eaten
    page = phone.ready_for_the_walk(f"{served.address}/#/")
    page.reload()
    expect(page.get_by_text(SENTENCE)).to_be_visible()
    page.wait_for_load_state("networkidle")
    phone.context.set_offline(True)
    page.reload()
    expect(page.get_by_text(SENTENCE)).to_be_visible()
    page.get_by_role("button", name="Dismiss").click()
    expect(page.get_by_text(SENTENCE)).to_have_count(0)
    assert answers(served) == []
    phone.context.set_offline(False)
    expect(page.get_by_text("Everything sent")).to_be_visible(timeout=30_000)
    assert answers(served) == [("dismissed", None)]
