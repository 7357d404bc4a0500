"""The end of a season, a new one from it, and deletions put back."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from browser.records import make, make_planting, records
from browser.serving import Served
from playwright.sync_api import Page, expect


@pytest.fixture
def trial(empty: Served) -> str:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2025)
    for name in ("Plum", "Ember"):
        make_planting(empty.journal, trial_id, name, planted_on="2025-05-16")
    make(empty.journal, "care_plan", trial_id=trial_id, action="fed", every_days=7)
    return trial_id


def removed(empty: Served) -> list[str | None]:
    return [planting.fields["removed_on"] for planting in records(empty.journal, "planting")]


def test_the_season_ends_in_one_go_and_can_be_taken_back(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/set-up")
    page.get_by_role("link", name="End the season").click()
    page.get_by_label("Removed on").fill("2025-05-01")
    page.click("#remove-all")
    refusal = page.locator("[data-field=removed_on] .field-problem")
    expect(refusal).to_contain_text("2 plantings were planted after 1 May 2025: choose a later day")
    expect(page.get_by_label("Removed on")).to_be_focused()
    page.get_by_label("Removed on").fill("")
    page.click("#remove-all")
    expect(refusal).to_have_text("Say on which day they were removed.")
    page.get_by_label("Removed on").fill("2098-10-20")
    page.click("#remove-all")
    expect(refusal).to_contain_text("has not been yet")
    assert removed(empty) == [None, None]
    page.get_by_label("Removed on").fill("2025-10-20")
    page.click("#remove-all")
    expect(page.get_by_text("Nothing stands any more")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_label("Trough of Plum")).to_be_visible()
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()
    assert removed(empty) == [None, None]
    page.get_by_label("Trough of Plum").uncheck()
    page.get_by_role("button", name="Note 1 planting as removed").click()
    expect(page.get_by_role("button", name="Note 0 plantings as removed")).to_be_disabled()
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()
    assert sorted(removed(empty), key=str) == ["2025-10-20", None]


def test_what_is_not_planted_yet_is_not_removed(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    make_planting(empty.journal, trial, "Slate", planted_on="2099-05-16")
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/end")
    expect(page.get_by_label("Trough of Slate")).not_to_be_checked()
    page.get_by_label("Trough of Slate").check()
    page.click("#remove-all")
    expect(page.get_by_text("choose a later day, or untick it")).to_be_visible()
    page.get_by_label("Trough of Slate").uncheck()
    page.get_by_role("button", name="Note 2 plantings as removed").click()
    expect(page.get_by_label("Trough of Plum")).to_have_count(0)
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()
    assert sum(day is not None for day in removed(empty)) == 2


def test_a_new_season_is_seen_before_it_is_written(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/new-season")
    page.get_by_role("button", name="Look at the new season").click()
    expect(page.get_by_text("already stands at another planting").first).to_be_visible()
    expect(page.locator("#begin-season")).to_be_disabled()
    page.get_by_label("What still stands").fill("2025-10-20")
    page.get_by_role("button", name="Look at the new season").click()
    expect(page.get_by_text("2 planters, 2 plantings; planned care: feed")).to_be_visible()
    assert len(records(empty.journal, "trial")) == 1
    page.click("#begin-season")
    expect(page.get_by_role("heading", name="Planters in walking order")).to_be_visible()
    expect(page.get_by_text("planted 16 May 2026").first).to_be_visible()
    assert sorted(t.fields["year"] for t in records(empty.journal, "trial")) == [2025, 2026]
    assert len(records(empty.journal, "cultivar")) == 2


def test_a_deleted_planter_comes_back(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    planter = make(empty.journal, "planter", trial_id=trial, name="Spare pot", planter_kind="pot")
    page = open_page(f"{empty.address}/#/set-up/planters/{planter}")
    page.click("#delete-record")
    page.get_by_role("dialog").get_by_role("button", name="Delete").click()
    expect(page.get_by_role("link", name="Spare pot")).to_have_count(0)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("link", name="Spare pot")).to_be_visible()
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()
    assert planter in {record.id for record in records(empty.journal, "planter")}


def test_next_years_trial_does_not_take_the_place_of_the_one_that_grows(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    later = make(empty.journal, "trial", title="Far off", year=2099)
    make_planting(empty.journal, later, "Slate", planted_on="2099-05-16")
    page = open_page(f"{empty.address}/#/season")
    expect(page.get_by_label("Trial", exact=True)).to_have_value(trial)
    page.get_by_label("Trial", exact=True).select_option("Far off, 2099")
    expect(page.get_by_role("figure", name="Far off")).to_be_visible()
    assert page.url.endswith(later)
