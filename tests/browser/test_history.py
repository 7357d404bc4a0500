"""What a planting is and was thought to be, its plants and its end, as a person notes them; without a signal too."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from browser.records import make, make_planting, records
from browser.serving import Served
from browser.test_accessibility import violations
from browser.test_every_screen import HOSTILE, sideways
from browser.test_walk import days_ago, eventually
from playwright.sync_api import Page, expect

from journal_server.domain.derived_ids import derived_id


@pytest.fixture
def doubtful(empty: Served) -> tuple[Served, str]:
    """A planting whose label said one thing and whose flowers say another; the other is in the journal too."""
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    make(empty.journal, "cultivar", genus="Petunia", name="Rightly Known")
    planting_id = make_planting(
        empty.journal, trial_id, "Wrongly Labelled", identity="doubtful", label_said="Wrongly Labelled",
        looks_like="rightly known", plants=5,
    )  # fmt: skip
    return empty, planting_id


def the_planting(served: Served) -> dict[str, Any]:
    return records(served.journal, "planting")[0].fields


def named(served: Served, name: str) -> str:
    return next(r.id for r in records(served.journal, "cultivar") if r.fields["name"] == name)


def notes(served: Served) -> list[dict[str, Any]]:
    return [record.fields for record in records(served.journal, "identity_note")]


def lose_signal(page: Page) -> None:
    page.route("**/api/**", lambda route: route.abort())


def find_signal(page: Page) -> None:
    page.unroute("**/api/**")
    page.evaluate("() => dispatchEvent(new Event('online'))")


def resolve(page: Page, day: str = "2026-06-20", why: str = "veined flowers") -> None:
    part = page.locator("#say-what-it-is")
    part.get_by_label("Decided on").fill(day)
    part.get_by_label("Why").fill(why)
    part.get_by_role("button", name="This is what it is").click()


def test_a_doubt_resolved_names_the_planting_anew_and_tells_what_was_thought(
    doubtful: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    expect(page.locator("h1")).to_contain_text("Identity doubtful")
    expect(page.get_by_label("It is", exact=True)).to_have_value(named(served, "Rightly Known"))
    resolve(page)
    expect(page.locator("h1")).to_have_text("Petunia ‘Rightly Known’")
    expect(page.locator(".thought .thought-words")).to_have_text(
        [
            "16 May 2026: Planted as Petunia ‘Wrongly Labelled’.",
            "20 June 2026: It is Petunia ‘Rightly Known’, not Petunia ‘Wrongly Labelled’. veined flowers",
        ]
    )
    planting = eventually(lambda: p if (p := the_planting(served))["identity"] == "confirmed" else None)
    assert planting["cultivar_id"] == named(served, "Rightly Known")
    assert (planting["label_said"], planting["looks_like"]) == ("Wrongly Labelled", None)
    (note,) = notes(served)
    assert (note["was_named"], note["says"], note["decided_on"], note["thought"]) == (
        "Petunia ‘Wrongly Labelled’", "Petunia ‘Rightly Known’", "2026-06-20", "confirmed",
    )  # fmt: skip
    page.goto(f"{served.address}/#/plantings")
    expect(page.locator(".planting .name")).to_have_text("Petunia ‘Rightly Known’")


def test_resolving_can_be_undone(doubtful: tuple[Served, str], open_page: Callable[..., Page]) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    resolve(page)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("h1")).to_contain_text("Identity doubtful")
    expect(page.locator("h1")).to_contain_text("‘Wrongly Labelled’")
    expect(page.locator(".thought .thought-words")).to_have_count(1)
    assert eventually(lambda: the_planting(served)["looks_like"] == "rightly known")
    assert notes(served) == []


def test_a_note_is_changed_and_deleted_and_both_can_be_undone(
    doubtful: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    resolve(page)
    told = page.locator(".thought .thought-words").last
    page.locator(".thought summary").click()
    part = page.locator(".thought")
    part.get_by_label("Decided on").fill("2026-06-21")
    part.get_by_label("Why").fill("the grower wrote")
    part.get_by_role("button", name="Save the note").click()
    expect(told).to_contain_text("21 June 2026: It is Petunia ‘Rightly Known’")
    expect(told).to_contain_text("the grower wrote")
    assert eventually(lambda: notes(served) and notes(served)[0]["note"] == "the grower wrote")
    page.get_by_role("button", name="Undo").last.click()
    expect(told).to_contain_text("20 June 2026")
    lose_signal(page)
    page.get_by_role("button", name="Delete the note of 20 June 2026").click()
    expect(page.locator(".thought .thought-words")).to_have_count(1)
    expect(page.locator("h1")).to_have_text("Petunia ‘Rightly Known’")
    page.get_by_role("button", name="Undo").last.click()
    expect(told).to_contain_text("veined flowers")
    find_signal(page)
    assert eventually(lambda: notes(served) and notes(served)[0]["decided_on"] == "2026-06-20")


def test_the_label_was_right(doubtful: tuple[Served, str], open_page: Callable[..., Page]) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    page.get_by_label("It is", exact=True).select_option(label="The label was right: Petunia ‘Wrongly Labelled’")
    resolve(page, why="the grower's photo")
    expect(page.locator("h1")).to_have_text("Petunia ‘Wrongly Labelled’")
    expect(page.locator(".thought .thought-words").last).to_have_text(
        "20 June 2026: It is Petunia ‘Wrongly Labelled’, as it was entered. the grower's photo"
    )
    assert eventually(lambda: the_planting(served)["identity"] == "confirmed")


def test_it_is_one_that_was_not_in_the_list_made_without_a_signal(
    doubtful: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    lose_signal(page)
    page.get_by_label("It is", exact=True).select_option(label="Another, not in the list yet")
    resolve(page)
    expect(page.locator("#say-what-it-is [data-field=name] .field-problem")).to_be_visible()
    page.locator("#say-what-it-is").get_by_label("Cultivar name").fill("Quite Another")
    page.locator("#say-what-it-is").get_by_role("button", name="This is what it is").click()
    expect(page.locator("h1")).to_have_text("Petunia ‘Quite Another’")
    assert the_planting(served)["identity"] == "doubtful"
    find_signal(page)
    assert eventually(lambda: the_planting(served)["identity"] == "confirmed")
    assert the_planting(served)["cultivar_id"] == named(served, "Quite Another")
    assert len(notes(served)) == 1


def test_a_doubt_is_raised_on_the_planting_and_again_on_the_walk(
    doubtful: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    resolve(page)
    page.get_by_text("Doubt it", exact=True).click()
    part = page.locator("#doubt-it")
    part.get_by_label("It looks like").fill("a third one")
    part.get_by_label("Decided on").fill("2026-07-01")
    part.get_by_role("button", name="Note the doubt").click()
    expect(page.locator(".thought .thought-words").last).to_have_text(
        "1 July 2026: In doubt: the label said “Wrongly Labelled”; it looks like a third one."
    )
    page.goto(f"{served.address}/#/walk/{planting_id}")
    page.click("#corrections > summary")
    page.click("#doubt")
    expect(page.locator("#doubt")).to_have_text("Doubt the identity")
    page.click("#doubt")
    expect(page.locator("#doubt")).to_have_text("Identity is doubtful")
    page.get_by_label("It looks like").fill("a fourth one")
    page.get_by_label("It looks like").blur()
    assert eventually(lambda: the_planting(served)["looks_like"] == "a fourth one")
    told = [(note["decided_on"], note["thought"], note["says"]) for note in notes(served)]
    assert told == [
        ("2026-06-20", "confirmed", "Petunia ‘Rightly Known’"),
        ("2026-07-01", "doubtful", "a third one"),
        (days_ago(0), "confirmed", "Petunia ‘Rightly Known’"),
        (days_ago(0), "doubtful", "a fourth one"),
    ]


def test_a_doubt_tapped_by_mistake_on_the_walk_leaves_no_trace(
    doubtful: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    resolve(page)
    page.goto(f"{served.address}/#/walk/{planting_id}")
    page.click("#corrections > summary")
    page.click("#doubt")
    expect(page.locator("#doubt")).to_have_text("Identity is doubtful")
    page.click("#doubt")
    expect(page.locator("#doubt")).to_have_text("Doubt the identity")
    visit = derived_id("visit", derived_id("walk", the_planting(served)["trial_id"], days_ago(0)), planting_id)
    assert eventually(lambda: [v.id for v in records(served.journal, "visit")] == [visit])
    assert eventually(lambda: the_planting(served)["identity"] == "confirmed")
    assert [note["decided_on"] for note in notes(served)] == ["2026-06-20"]


def test_a_cultivar_changed_in_the_set_up_is_told_too(
    doubtful: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/set-up/plantings/{planting_id}")
    page.get_by_label("Cultivar", exact=True).select_option(label="Petunia ‘Rightly Known’")
    page.get_by_label("Identity").select_option("confirmed")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("heading", name="Planters in walking order")).to_be_visible()
    (note,) = eventually(lambda: notes(served))
    assert (note["was_named"], note["says"]) == ("Petunia ‘Wrongly Labelled’", "Petunia ‘Rightly Known’")


def test_a_renamed_cultivar_is_told_with_its_earlier_name_at_once(
    doubtful: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/set-up/cultivars/{named(served, 'Wrongly Labelled')}")
    lose_signal(page)
    page.get_by_label("Cultivar name").fill("Newly Named")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("heading", name="Cultivars")).to_be_visible()
    page.goto(f"{served.address}/#/plantings/{planting_id}")
    expect(page.locator("#identity")).to_contain_text("was called Petunia ‘Wrongly Labelled’ before")
    find_signal(page)
    (cultivar,) = eventually(
        lambda: [r for r in records(served.journal, "cultivar") if r.fields["name"] == "Newly Named"]
    )
    assert cultivar.fields["earlier_names"] == ["Petunia ‘Wrongly Labelled’"]


def test_plants_are_counted_corrected_deleted_and_put_back(
    doubtful: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    lead = page.locator("#plants .lead")
    expect(lead).to_have_text("5 set out; not counted since.")
    part = page.locator("#count-plants")
    part.locator("summary").click()
    part.get_by_label("Counted on").fill("2026-06-12")
    part.get_by_role("button", name="Note the count").click()
    expect(part.locator("[data-field=plants] .field-problem")).to_have_text("Say how many live; 0 when none does.")
    part.get_by_label("Living").fill("3")
    for day, says in (
        ("2026-05-15", "It was planted on 16 May 2026"),
        ("2099-06-12", "has not been yet"),
        ("", "Say on"),
    ):
        part.get_by_label("Counted on").fill(day)
        part.get_by_role("button", name="Note the count").click()
        expect(part.locator("[data-field=counted_on] .field-problem")).to_contain_text(says)
    part.get_by_label("Counted on").fill("2026-06-12")
    part.get_by_label("What happened").select_option("died")
    part.get_by_label("Why, if known").fill("stem rot")
    part.get_by_role("button", name="Note the count").click()
    expect(lead).to_have_text("5 set out, 3 living since 12 June 2026 (2 died: stem rot).")
    page.get_by_role("button", name="Change the count of 12 June 2026").click()
    part.get_by_label("Living").fill("4")
    part.get_by_role("button", name="Save the count").click()
    expect(lead).to_have_text("5 set out, 4 living since 12 June 2026 (one died: stem rot).")
    expect(page.locator(".notice")).to_contain_text("4 plants living: died, stem rot.")
    page.get_by_role("button", name="Delete the count of 12 June 2026").click()
    expect(lead).to_have_text("5 set out; not counted since.")
    page.get_by_role("button", name="Undo").click()
    expect(lead).to_have_text("5 set out, 4 living since 12 June 2026 (one died: stem rot).")
    assert eventually(lambda: [c.fields["plants"] for c in records(served.journal, "plant_count")] == [4])
    assert the_planting(served)["plants"] == 5


def test_a_removal_is_noted_and_taken_back(doubtful: tuple[Served, str], open_page: Callable[..., Page]) -> None:
    served, planting_id = doubtful
    page = open_page(f"{served.address}/#/plantings/{planting_id}")
    part = page.locator("#remove-planting")
    part.locator("summary").click()
    part.get_by_label("Removed on").fill("2026-05-01")
    part.get_by_role("button", name="Note its removal").click()
    expect(part.locator(".field-problem")).to_have_text("It was planted on 16 May 2026: choose a later day.")
    part.get_by_label("Removed on").fill("2026-10-20")
    part.get_by_role("button", name="Note its removal").click()
    expect(page.get_by_text("Removed on 20 October 2026.", exact=True)).to_be_visible()
    expect(page.locator(".notice")).to_contain_text("Its photos and numbers stay.")
    assert the_planting(served)["removed_on"] == "2026-10-20"
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#remove-planting")).to_be_visible()
    page.locator("#remove-planting summary").click()
    page.get_by_role("button", name="Note its removal").click()
    page.click("#still-stands")
    expect(page.locator("#remove-planting")).to_be_visible()
    assert eventually(lambda: the_planting(served)["removed_on"] is None)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_in_the_unfolded_forms_and_they_fit_the_phone_at_any_size(
    doubtful: tuple[Served, str], open_page: Callable[..., Page], scheme: str
) -> None:
    served, planting_id = doubtful
    make(served.journal, "plant_count", planting_id=planting_id, counted_on="2026-06-12", plants=4, note=HOSTILE)
    make(
        served.journal, "identity_note", planting_id=planting_id, decided_on="2026-06-12", thought="doubtful",
        label_said=HOSTILE, says=HOSTILE, note=HOSTILE,
    )  # fmt: skip
    page = open_page(f"{served.address}/#/plantings/{planting_id}", color_scheme=scheme, reduced_motion="reduce")
    page.evaluate(AXE_SCRIPT)
    page.evaluate("() => document.querySelectorAll('details').forEach((one) => (one.open = true))")
    assert violations(page, "planting") == []
    small = page.evaluate(
        """() => [...document.querySelectorAll("#identity *, #plants *")]
            .filter((node) => node.matches("button, select, input, summary") && node.checkVisibility())
            .filter((node) => node.getBoundingClientRect().height < 44).map((node) => node.outerHTML)"""
    )
    assert small == []
    assert page.locator("img[src=x]").count() == 0
    page.evaluate("() => (document.documentElement.style.fontSize = '200%')")
    assert sideways(page) == []
    page.goto(f"{served.address}/#/search?for=onerror")
    expect(page.locator("[data-group]")).to_have_count(2)
    assert (sideways(page), violations(page, "search")) == ([], [])
    assert page.locator("img[src=x]").count() == 0
