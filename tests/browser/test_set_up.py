"""Setting a trial up through the screens, and what they say when something typed is wrong."""

from __future__ import annotations

import io
from collections.abc import Callable

import pypdfium2
import pytest
from browser.records import make, make_planting, records
from browser.serving import DESKTOP, Served
from made_photos import jpeg
from playwright.sync_api import Page, expect

from journal_server.services.cards import choose_cards, print_cards

LIST = """planter\tcultivar\tgenus\tplants\texposure
Trough 1\tMade Up One\tPetunia\t4\tfull sun
Trough 2\tMade Up Two\tBidens\t3\tpart shade
Trough 3\tMade Up Three\tVerbena\tfour\tfull sun
"""


def problem_at(page: Page, field: str) -> str:
    at_field = page.locator(f"[data-field={field}] .field-problem")
    expect(at_field).not_to_be_empty()
    expect(page.locator(f"[data-field={field}] [aria-invalid=true]")).to_be_focused()
    return at_field.inner_text()


def test_an_empty_journal_says_what_to_do_and_a_trial_is_set_up_by_a_pasted_list(
    empty: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(empty.address, DESKTOP)
    page.get_by_role("link", name="Set up a trial").click()
    page.get_by_label("Title").fill("Terrace")
    page.get_by_label("Year", exact=True).fill("2026")
    page.get_by_role("button", name="Add the trial").click()
    page.get_by_role("link", name="Enter plantings as a list").click()
    page.get_by_label("Planted on, where a row does not say").fill("2026-05-16")
    page.get_by_text("Paste a list").click()
    page.get_by_label("The list").fill(LIST)
    page.get_by_role("button", name="Put it into the table").click()

    wrong = page.get_by_label("Plants, row 3")
    expect(wrong).to_be_focused()
    expect(wrong).to_have_attribute("aria-invalid", "true")
    expect(page.locator("td.plants .field-problem")).to_contain_text("four")
    page.get_by_role("button", name="Create the plantings").click()
    expect(page.get_by_role("alert").filter(has_text="Nothing was created")).to_be_visible()
    assert records(empty.journal, "planting") == []

    page.get_by_label("Plants, row 3").fill("4")
    page.get_by_role("button", name="Create the plantings").click()
    expect(page.get_by_role("heading", name="Planters in walking order")).to_be_visible()
    plantings = records(empty.journal, "planting")
    assert sorted(planting.fields["plants"] for planting in plantings) == [3, 4, 4]
    assert {planting.fields["planted_on"] for planting in plantings} == {"2026-05-16"}
    assert [planter.fields["name"] for planter in sorted(records(empty.journal, "planter"), key=walk)] == [
        "Trough 1",
        "Trough 2",
        "Trough 3",
    ]


def walk(planter: object) -> float:
    return planter.fields["walk_order"]  # type: ignore[attr-defined,no-any-return]


def test_the_entry_table_is_filled_from_the_keyboard_alone(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    page = open_page(f"{empty.address}/#/set-up/trials/{trial_id}/list", DESKTOP)
    page.get_by_label("Planter, row 1").focus()
    for words in ("Trough 1", "Made Up", "Petunia", "4", "full sun", "2026-05-16"):
        page.keyboard.type(words)
        page.keyboard.press("Tab")
    expect(page.get_by_label("Planter, row 2")).to_be_focused()
    page.get_by_label("Genus, row 1").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Genus, row 2")).to_be_focused()
    page.keyboard.press("Control+d")
    expect(page.get_by_label("Genus, row 2")).to_have_value("Petunia")
    page.get_by_label("Planter, row 2").fill("Trough 2")
    page.get_by_role("button", name="Create the plantings").click()
    expect(page.get_by_role("heading", name="Planters in walking order")).to_be_visible()
    assert sorted(planter.fields["name"] for planter in records(empty.journal, "planter")) == ["Trough 1", "Trough 2"]
    assert len(records(empty.journal, "cultivar")) == 1


@pytest.mark.parametrize(
    ("kind", "typed", "field"),
    [
        ("trials", {"Title": "", "Year": "2026"}, "title"),
        ("trials", {"Title": "Terrace", "Year": "next"}, "year"),
        ("cultivars", {"Genus": "", "Cultivar name": "Made Up"}, "genus"),
        ("cultivars", {"Genus": "Petunia", "Cultivar name": "x" * 201}, "name"),
        ("cultivars", {"Genus": "Petunia", "Cultivar name": "Made Up", "Year of introduction": "1"}, "introduced"),
        ("planters", {"Name": ""}, "name"),
        ("planters", {"Name": "Trough", "Length in cm": "long"}, "length_cm"),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_nothing_typed_is_lost(
    empty: Served, open_page: Callable[..., Page], kind: str, typed: dict[str, str], field: str
) -> None:
    make(empty.journal, "trial", title="There already", year=2026)
    page = open_page(f"{empty.address}/#/set-up/{kind}/new")
    for label, words in typed.items():
        page.get_by_label(label, exact=True).fill(words)
    page.get_by_role("button", name="Add the").click()
    assert problem_at(page, field).endswith(".")
    for label, words in typed.items():
        expect(page.get_by_label(label, exact=True)).to_have_value(words)
    count = {"trials": ("trial", 1), "cultivars": ("cultivar", 0), "planters": ("planter", 0)}[kind]
    assert len(records(empty.journal, count[0])) == count[1]


@pytest.mark.parametrize(
    ("label", "words", "field"),
    [
        ("Removed on", "2026-05-01", "removed_on"),
        ("Plants set out", "0", "plants"),
        ("Card code", "TAG-UUUUUU", "card_code"),
        ("Planted on", "", "planted_on"),
    ],
)
def test_a_planting_is_not_changed_into_something_impossible(
    empty: Served, open_page: Callable[..., Page], label: str, words: str, field: str
) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Made Up", plants=4)
    before = records(empty.journal, "planting")[0].fields
    page = open_page(f"{empty.address}/#/set-up/plantings/{planting_id}")
    page.get_by_label(label, exact=True).fill(words)
    page.get_by_role("button", name="Save", exact=True).click()
    assert problem_at(page, field).endswith(".")
    assert records(empty.journal, "planting")[0].fields == before


def test_a_spare_cards_code_is_read_off_a_photo_of_it(empty: Served, open_page: Callable[..., Page]) -> None:
    """The card as it is printed, then a photo without one."""
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Made Up")
    (card,) = choose_cards(empty.journal, [], spare=1)
    document = pypdfium2.PdfDocument(print_cards(empty.journal, [card]))
    sheet = io.BytesIO()
    document[0].render(scale=150 / 72).to_pil().save(sheet, "PNG")
    document.close()
    page = open_page(f"{empty.address}/#/set-up/plantings/{planting_id}")
    photo = page.get_by_label("Read it off a photo of the card")
    photo.set_input_files({"name": "leaves.jpg", "mimeType": "image/jpeg", "buffer": jpeg()})
    expect(page.get_by_text("No card can be read in this photo.")).to_be_visible()
    photo.set_input_files({"name": "card.png", "mimeType": "image/png", "buffer": sheet.getvalue()})
    expect(page.get_by_label("Card code", exact=True)).to_have_value(card.code)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text(card.code)).to_be_visible()


def test_settings_say_what_is_wrong(empty: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/set-up/settings")
    page.get_by_label("Time zone").fill("Nowhere/At all")
    page.get_by_role("button", name="Save the settings").click()
    assert "Nowhere/At all" in problem_at(page, "time_zone")
    assert empty.journal.setting("time_zone") == "Europe/Paris"


def test_doubt_about_identity_is_noted_and_shown(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Made Up")
    page = open_page(f"{empty.address}/#/set-up/plantings/{planting_id}")
    expect(page.get_by_label("The label said")).to_be_hidden()
    page.get_by_label("Identity").select_option("doubtful")
    page.get_by_label("The label said").fill("Someone Else")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    page.get_by_role("link", name="Plantings", exact=True).click()
    expect(page.locator("main").get_by_text("Identity doubtful")).to_be_visible()
    assert records(empty.journal, "planting")[0].fields["label_said"] == "Someone Else"


def test_planters_are_moved_on_the_walk(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    for name in ("A", "B", "C"):
        make(empty.journal, "planter", trial_id=trial_id, name=name, planter_kind="pot")
    page = open_page(f"{empty.address}/#/set-up/trials/{trial_id}/planters")
    page.get_by_role("button", name="Move C up").click()
    expect(page.get_by_text("C is now number 2 on the walk.")).to_be_visible()
    assert [planter.fields["name"] for planter in sorted(records(empty.journal, "planter"), key=walk)] == [
        "A",
        "C",
        "B",
    ]
    expect(page.locator(".planters .name a")).to_have_text(["A", "C", "B"])


def test_what_was_typed_without_a_signal_waits_and_arrives(empty: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/set-up/trials/new")
    page.get_by_label("Title").fill("Terrace")
    page.route("**/api/changes*", lambda route: route.abort())
    page.get_by_role("button", name="Add the trial").click()
    expect(page.get_by_role("heading", name="Terrace")).to_be_visible()
    expect(page.get_by_role("link", name="No signal · 1 waiting")).to_be_visible()
    page.unroute("**/api/changes*")
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()
    assert [trial.fields["title"] for trial in records(empty.journal, "trial")] == ["Terrace"]


def test_the_cards_are_one_link_away(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Made Up")
    page = open_page(f"{empty.address}/#/set-up/trials/{trial_id}/cards")
    open_cards = page.get_by_role("link", name="Open the cards as PDF")
    page.get_by_label("Paper").select_option("letter")
    address = open_cards.get_attribute("href")
    assert address == f"/api/cards.pdf?planting={planting_id}&paper=letter"
    answer = page.request.get(empty.address + address)
    assert answer.ok
    assert answer.body().startswith(b"%PDF")
    expect(page.get_by_text("1 card on 1 sheet.")).to_be_visible()
    page.get_by_label("Spare cards").fill("8")
    expect(page.get_by_text("9 cards on 2 sheets.")).to_be_visible()
    page.get_by_role("button", name="Tick none").click()
    expect(open_cards).to_have_attribute("href", "/api/cards.pdf?plantings=none&spare=8&paper=letter")
    assert page.request.get(empty.address + str(open_cards.get_attribute("href"))).ok
    page.get_by_label("Spare cards").fill("61")
    expect(page.get_by_text("a whole number from 0 to 60")).to_be_visible()
    expect(open_cards).to_be_hidden()


def test_spare_cards_can_be_printed_before_anything_is_planted(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    page = open_page(f"{empty.address}/#/set-up/trials/{trial_id}/cards")
    expect(page.get_by_role("link", name="Open the cards as PDF")).to_be_hidden()
    page.get_by_label("Spare cards").fill("2")
    address = page.get_by_role("link", name="Open the cards as PDF").get_attribute("href")
    assert page.request.get(empty.address + str(address)).body().startswith(b"%PDF")


def test_a_spare_cards_code_is_taken_as_it_is_typed(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Made Up")
    page = open_page(f"{empty.address}/#/set-up/plantings/{planting_id}")
    page.get_by_label("Card code", exact=True).fill("7k3 q9m")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("TAG-7K3Q9M")).to_be_visible()
    assert records(empty.journal, "planting")[0].fields["card_code"] == "TAG-7K3Q9M"
