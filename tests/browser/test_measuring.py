"""What a person sees of the measuring: failures with a way on, photos left out, a plant that lags, a new method."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from browser.records import make, make_planting, photo_named
from browser.serving import Served
from made_photos import jpeg
from playwright.sync_api import Page, expect

from journal_server.services.journal import Journal
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage.records import save_measurement, save_record

CODE = "TAG-7K3Q9M"
NOTE = "Measuring took over 180 seconds and was ended."


def state(journal: Journal, photo_id: str, measuring: str, note: str | None = None) -> None:
    with journal.database.writing() as session:
        save_record(session, "photo", photo_id, {"measuring": measuring, "measuring_note": note})


def measured(journal: Journal, photo_id: str, planting_id: str, **numbers: Any) -> None:
    """A measurement with these numbers, as the measuring would have stored it."""
    told = dict.fromkeys(("bloom_cover", "flower_to_leaf", "spent_share", "spill_cm", "evenness", "bloom_colour"))
    told |= {"method": "learned", "slots": None, "lagging_slot": None, "white_reference": "card"}
    told |= {"canopy_fill": {"value": 0.7, "low": 0.6, "high": 0.8}, "quality": {"usable": True, "warnings": []}}
    reasons = {name: "not part of this test" for name, value in told.items() if value is None}
    with journal.database.writing() as session:
        save_measurement(
            session, id=photo_id, photo_id=photo_id, planting_id=planting_id, inputs_hash="a", basis_hash="b",
            method="learned", numbers=told | {"reasons": reasons} | numbers, frame_how="drawn on this photo",
            frame_polygon=[[40, 200], [600, 200], [600, 400], [40, 400]], measured_at="2026-06-13T08:00:00+00:00",
        )  # fmt: skip
    state(journal, photo_id, "done")


@pytest.fixture
def one_photo(empty: Served) -> tuple[Served, str, str]:
    """A journal with one matched photo: served, planting id, photo id."""
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Made Up", card_code=CODE, plants=4)
    photo = take_in_photo(empty.journal, jpeg("2026:06:12 10:14:03", codes=(CODE,)), "one.jpg").photo
    assert photo.fields["planting_id"] == planting_id
    return empty, planting_id, photo.id


def test_a_failed_photo_says_why_and_is_tried_again(
    one_photo: tuple[Served, str, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id, photo_id = one_photo
    measured(served.journal, photo_id, planting_id)
    state(served.journal, photo_id, "failed", NOTE)
    page = open_page(f"{served.address}/#/")
    expect(page.get_by_text("1 photo could not be measured.")).to_be_visible()
    page.goto(f"{served.address}/#/photos/{photo_id}")
    expect(page.get_by_text(NOTE)).to_be_visible()
    expect(page.get_by_text("Below are the numbers from before.")).to_be_visible()
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_text("Waiting to be measured; it goes on by itself.")).to_be_visible()
    expect(page.get_by_text(NOTE)).to_have_count(0)
    assert photo_named(served.journal, "one.jpg").fields["measuring"] == "waiting"


def test_a_photo_of_no_use_is_left_out_and_said_so_wherever_its_numbers_would_stand(
    one_photo: tuple[Served, str, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id, photo_id = one_photo
    why = "The photo has no colours, so flowers cannot be told from leaves."
    quality = {"usable": False, "warnings": [{"code": "greyscale", "message": why}]}
    measured(served.journal, photo_id, planting_id, quality=quality)
    page = open_page(f"{served.address}/#/photos/{photo_id}")
    expect(page.get_by_text("its numbers are left out of the season")).to_be_visible()
    expect(page.get_by_text(why)).to_be_visible()
    page.goto(f"{served.address}/#/plantings/{planting_id}")
    expect(page.locator(".date")).to_contain_text("left out")
    page.goto(f"{served.address}/#/plantings")
    expect(page.locator(".planting")).to_contain_text("not measured yet")
    assert "70 %" not in page.locator(".planting").inner_text()
    table = page.request.get(f"{served.address}/api/numbers").json()["rows"]
    assert [row["canopy_fill"] for row in table] == [None]


def test_a_plant_that_lags_is_named_with_its_numbers_on_photo_and_planting(
    one_photo: tuple[Served, str, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id, photo_id = one_photo
    measured(served.journal, photo_id, planting_id, slots=[0.86, 0.9, 0.41, 0.88], lagging_slot=3)
    page = open_page(f"{served.address}/#/photos/{photo_id}")
    for address in (f"#/photos/{photo_id}", f"#/plantings/{planting_id}"):
        page.goto(f"{served.address}/{address}")
        expect(page.locator(".finding")).to_have_text(
            "Plant 3 of 4, from the left, lags behind the others: it fills 41 % of its part, the others 86–90 %. "
            "Check its water, then its roots."
        )


def test_an_update_of_the_method_says_what_moved(
    one_photo: tuple[Served, str, str], open_page: Callable[..., Page]
) -> None:
    served, _, photo_id = one_photo
    page = open_page(f"{served.address}/#/set-up/settings")
    expect(page.locator("#method")).to_contain_text("By the method")
    expect(page.locator("#method li")).to_have_count(0)
    moved = {"photos": 1, "mean": -0.01, "mean_size": 0.004, "most": -0.031, "most_photo": "one.jpg"}
    still = {"photos": 1, "mean": 0.0, "mean_size": 0.0, "most": -0.0001, "most_photo": "one.jpg"}
    change = {"canopy_fill": moved | {"most_photo_id": photo_id}, "spent_share": still | {"most_photo_id": photo_id}}
    answer = {"method": "learned 2", "before": ["learned 1"], "photos": 1, "changes": change}
    page.route("**/api/method-change", lambda route: route.fulfill(json=answer))
    page.reload()
    expect(page.locator("#method li")).to_have_text(
        ["Canopy fill moved by 0.4 points on average, most 3.1 points down at one.jpg.", "Spent bloom is as before."]
    )
    page.get_by_role("link", name="one.jpg").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Made Up")


def test_a_count_begins_by_itself_once_the_photo_is_measured(
    one_photo: tuple[Served, str, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id, photo_id = one_photo
    state(served.journal, photo_id, "waiting")
    page = open_page(f"{served.address}/#/photos/{photo_id}/count")
    expect(page.get_by_text("This photo is measured first")).to_be_visible()
    measured(served.journal, photo_id, planting_id)
    expect(page.get_by_role("button", name="Start counting")).to_be_visible(timeout=30_000)
    expect(page.get_by_text("This photo is measured first")).to_be_hidden()
