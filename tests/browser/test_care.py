"""Care: planned for all, a group or some; due; done with one tap, also without the server; told with cautions."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from browser.records import make, make_planting, records
from browser.serving import Served
from browser.test_walk import eventually
from playwright.sync_api import Page, expect

TODAY = datetime.now(UTC).date()


def ago(days: int) -> str:
    return (TODAY - timedelta(days=days)).isoformat()


@pytest.fixture
def trial(empty: Served) -> str:
    """Three plantings of three weeks: two petunias and a verbena in a pot."""
    trial_id = make(empty.journal, "trial", title="Terrace", year=TODAY.year)
    for name in ("Plum", "Ember"):
        make_planting(empty.journal, trial_id, name, planted_on=ago(21))
    pot = make(empty.journal, "planter", trial_id=trial_id, name="Pot", planter_kind="pot")
    cultivar = make(empty.journal, "cultivar", genus="Verbena", name="Skiff")
    make(empty.journal, "planting", trial_id=trial_id, planter_id=pot, cultivar_id=cultivar, planted_on=ago(21))
    return trial_id


def plan(empty: Served, trial_id: str, action: str = "fed", **more: object) -> str:
    return make(empty.journal, "care_plan", trial_id=trial_id, action=action, every_days=7, **more)


def eventually_care(page: Page, empty: Served, count: int) -> list[dict[str, object]]:
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()
    assert eventually(lambda: len(records(empty.journal, "care")) == count)
    return [record.fields for record in records(empty.journal, "care")]


def test_care_is_planned_for_all_and_then_due(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/care")
    page.get_by_role("link", name="Plan care").click()
    expect(page.get_by_role("heading", name="Planned care")).to_be_visible()
    page.get_by_role("link", name="Plan care").click()
    page.get_by_label("With").fill("Made-up feed")
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_role("link", name="Feed (Made-up feed)")).to_be_visible()
    (planned,) = records(empty.journal, "care_plan")
    assert (planned.fields["planting_id"], planned.fields["every_days"]) == (None, 7)
    page.goto(f"{empty.address}/#/")
    page.locator("#to-care").click()
    expect(page.get_by_text("3 plantings, up to 14 days over")).to_be_visible()


def test_care_is_planned_for_a_group_and_changed_for_some(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/care/new")
    page.get_by_label("What", exact=True).select_option("sprayed")
    expect(page.get_by_text("Not on open bloom while bees fly")).to_be_visible()
    page.get_by_label("Only these plantings").check()
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_role("alert")).to_contain_text("Tick at least one planting")
    page.get_by_role("button", name="Petunia (2)").click()
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_text("Trough of Plum; Trough of Ember")).to_be_visible()
    assert len(records(empty.journal, "care_plan")) == 2
    page.get_by_role("link", name="Spray").click()
    page.get_by_label("Trough of Ember").uncheck()
    page.get_by_label("Pot: Verbena").check()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Trough of Plum; Pot")).to_be_visible()
    assert len(records(empty.journal, "care_plan")) == 2


def test_a_plan_that_cannot_be_is_said_at_its_field(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/care/new")
    page.get_by_label("Every so many days").fill("0")
    page.get_by_role("button", name="Plan it").click()
    expect(page.locator("[data-field=every_days] .field-problem")).to_contain_text("from 1 to 365")


def test_done_for_all_a_group_and_one(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    plan(empty, trial, product="Made-up feed")
    page = open_page(f"{empty.address}/#/care")
    page.get_by_role("button", name="Feed: done for Skiff").click()
    expect(page.get_by_text("2 plantings, up to 14 days over")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("3 plantings, up to 14 days over")).to_be_visible()
    page.get_by_text("Done for a group").click()
    page.get_by_role("button", name="Feed: done for Petunia (2)").click()
    page.get_by_role("button", name="Feed: done for Skiff").click()
    expect(page.get_by_text("Nothing is due today.")).to_be_visible()
    expect(page.get_by_text("Feed (Made-up feed): 3 plantings, from")).to_be_visible()
    done = eventually_care(page, empty, 3)
    assert {(one["product"], one["done_on"], one["action"]) for one in done} == {("Made-up feed", ago(0), "fed")}
    assert None not in {one["planting_id"] for one in done}


def test_spraying_shows_what_to_mind_and_remembers_the_product(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    plan(empty, trial, "sprayed")
    page = open_page(f"{empty.address}/#/care")
    expect(page.locator(".cautions li")).to_have_count(4)
    page.get_by_label("With").fill("Made-up spray")
    page.get_by_role("button", name="Spray: done for Plum").click()
    expect(page.get_by_label("With")).to_have_value("Made-up spray")
    eventually_care(page, empty, 1)
    page.reload()
    expect(page.get_by_label("With")).to_have_value("Made-up spray")
    expect(page.locator("main")).not_to_contain_text("ml")


def test_care_done_without_the_server_is_sent_later(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    plan(empty, trial)
    page = open_page(f"{empty.address}/#/care")
    page.route("**/api/changes*", lambda route: route.abort())
    page.get_by_role("button", name="Feed: done for all 3").click()
    expect(page.get_by_text("Nothing is due today.")).to_be_visible()
    expect(page.get_by_role("link", name="No signal")).to_be_visible()
    page.unroute("**/api/changes*")
    page.evaluate("dispatchEvent(new Event('online'))")
    eventually_care(page, empty, 3)


def test_care_of_one_planting_is_done_and_deleted_on_its_own_screen(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    plan(empty, trial)
    planting = records(empty.journal, "planting")[0].id
    page = open_page(f"{empty.address}/#/plantings/{planting}")
    page.get_by_role("button", name="Feed: done for Plum").click()
    delete = page.get_by_role("button", name="Delete: fed")
    delete.click()
    expect(delete).to_have_count(0)
    page.get_by_role("button", name="Undo").click()
    expect(delete).to_be_visible()
    eventually_care(page, empty, 1)


def test_a_plan_that_was_deleted_comes_back(empty: Served, trial: str, open_page: Callable[..., Page]) -> None:
    plan(empty, trial)
    page = open_page(f"{empty.address}/#/set-up/trials/{trial}/care")
    page.get_by_role("button", name="Delete: Feed, all of the trial").click()
    expect(page.get_by_text("Nothing is planned yet.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("link", name="Feed")).to_be_visible()
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()
    assert len(records(empty.journal, "care_plan")) == 1


def test_a_calendar_address_is_made_listed_and_closed(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    plan(empty, trial)
    page = open_page(f"{empty.address}/#/set-up/calendar")
    page.get_by_label("For which device or program").fill("Kitchen tablet")
    page.get_by_role("button", name="Make a calendar address").click()
    address = page.locator(".address-to-copy code").inner_text()
    assert page.request.get(address).body().startswith(b"BEGIN:VCALENDAR\r\n")
    page.get_by_role("button", name="Close the address of Kitchen tablet").click()
    page.get_by_role("dialog").get_by_role("button", name="Close it").click()
    expect(page.get_by_text("None is open.")).to_be_visible()
    assert page.request.get(address).status == 401


def test_a_season_gone_quiet_does_not_shout(empty: Served, open_page: Callable[..., Page]) -> None:
    """Nobody ended it: its care waits on its own screen, with a way to end it, until something is noted again."""
    trial_id = make(empty.journal, "trial", title="Last summer", year=TODAY.year)
    planting_id = make_planting(empty.journal, trial_id, "Plum", planted_on=ago(90))
    plan(empty, trial_id)
    make(empty.journal, "care", trial_id=trial_id, done_on=ago(60), action="fed")
    page = open_page(f"{empty.address}/#/")
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    expect(page.get_by_text("Plum").first).to_be_visible()
    expect(page.locator("#to-care")).to_have_count(0)
    page.goto(f"{empty.address}/#/plantings/{planting_id}")
    expect(page.get_by_text("Nothing was noted of this trial since")).to_be_visible()
    expect(page.get_by_text("53 days over")).to_have_count(0)
    page.goto(f"{empty.address}/#/care")
    expect(page.get_by_text("Nothing was noted of this trial since")).to_be_visible()
    expect(page.locator(".care-task")).to_contain_text("53 days over")
    page.get_by_role("button", name="Feed: done for Plum").click()
    expect(page.get_by_text("Nothing was noted of this trial since")).to_have_count(0)
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("link", name="note what was removed").click()
    expect(page.get_by_role("heading", name="End of the season")).to_be_visible()


def test_care_of_an_earlier_day_is_noted_with_a_remark(
    empty: Served, trial: str, open_page: Callable[..., Page]
) -> None:
    plan(empty, trial, "deadheaded")
    page = open_page(f"{empty.address}/#/care")
    page.get_by_text("On another day, or with a remark").click()
    page.get_by_label("Done on").fill(ago(-2))
    page.get_by_label("Remark").fill("only the lower half")
    page.get_by_role("button", name="Deadhead: done for all 3").click()
    expect(page.get_by_text("has not been yet: choose the day on which it was done.")).to_be_visible()
    page.get_by_label("Done on").fill(ago(30))
    page.get_by_role("button", name="Deadhead: done for all 3").click()
    expect(page.get_by_text("3 plantings were planted after")).to_be_visible()
    page.get_by_label("Done on").fill(ago(3))
    page.get_by_role("button", name="Deadhead: done for all 3").click()
    expect(page.get_by_text("Nothing is due today.")).to_be_visible()
    done = eventually_care(page, empty, 3)
    assert {(one["done_on"], one["note"], one["product"]) for one in done} == {(ago(3), "only the lower half", None)}
