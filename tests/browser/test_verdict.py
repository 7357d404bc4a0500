"""Writing verdicts: from offered sentences, without a signal, and when numbers change under what was written."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

import pytest
from browser.phone import Phone
from browser.records import make, make_planting, records
from browser.serving import DESKTOP, Served
from browser.test_season_offline import wait_until_kept
from made_season import keep_numbers, measured_season, numbers
from playwright.sync_api import Page, expect

from journal_server.services.apply_changes import apply_changes

SEASON = {"2026-06-01": (0.2, 0.0), "2026-06-20": (0.5, 0.6), "2026-07-10": (0.8, 0.3), "2026-08-10": (0.85, 0.2)}
HOSTILE = '<img src=x onerror="window.brokenIn=1">\'"&amp; شتلة 🌼'
PEAK = "Bloom cover peaked at 60 % (58–62) on 20 June."


class Review:
    """A trial with one planting, measured on four dates."""

    def __init__(self, served: Served, name: str):
        self.served = served
        self.trial_id = make(served.journal, "trial", title="Terrace", year=2026)
        self.planting_id = make_planting(served.journal, self.trial_id, name)
        self.photos = measured_season(served.journal, self.planting_id, SEASON)
        planting = next(one for one in records(served.journal, "planting") if one.id == self.planting_id)
        self.cultivar_id = planting.fields["cultivar_id"]

    @property
    def address(self) -> str:
        return f"{self.served.address}/#/review/verdict/{self.trial_id}/{self.cultivar_id}/container"

    @property
    def written(self) -> dict[str, Any]:
        """What the journal holds."""
        verdicts = records(self.served.journal, "verdict")
        return verdicts[0].fields if verdicts else {}

    @property
    def quoted_keys(self) -> list[str]:
        return [one["key"] for one in self.written["quoted"]]

    def wait_until_written(self, page: Page, **fields: Any) -> None:
        """Until the journal holds these values of the verdict."""
        until = time.monotonic() + 15
        while any(self.written.get(name) != value for name, value in fields.items()):
            assert time.monotonic() < until, f"{fields} is not in {self.written}"
            page.wait_for_timeout(100)

    def wait_until_kept(self, page: Page, words: str) -> None:
        """Until the journal holds that the present wording was seen and not taken."""
        until = time.monotonic() + 15
        while self.written["quoted"][0]["kept"] != words:
            assert time.monotonic() < until, self.written["quoted"]
            page.wait_for_timeout(100)

    def measure_peak_anew(self, bloom: float) -> None:
        keep_numbers(self.served.journal, self.photos[1], self.planting_id, numbers(0.5, bloom))


@pytest.fixture
def review(empty: Served) -> Review:
    return Review(empty, "Made Up")


def put_in(page: Page, key: str) -> None:
    page.locator(f"[data-sentence={key}]").get_by_role("button", name="Put in").click()
    expect(page.locator(f"[data-sentence={key}]").get_by_role("button", name="Take out")).to_be_visible()


def test_a_verdict_is_written_from_the_list_to_the_text(review: Review, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{review.served.address}/#/review")
    expect(page.get_by_text("0 of 1 written.")).to_be_visible()
    page.get_by_role("link", name="Made Up").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Petunia ‘Made Up’")
    page.get_by_role("button", name="Yes", exact=True).click()
    expect(page.get_by_role("button", name="Yes", exact=True)).to_have_attribute("aria-pressed", "true")
    page.get_by_role("button", name="Heat", exact=True).click()
    page.get_by_label("In one line").fill("A keeper.")
    put_in(page, "peak")
    put_in(page, "first_bloom")
    page.get_by_role("button", name="More of it").click()
    page.get_by_label("How many plants next year").fill("12")
    page.get_by_label("Strengths").fill("Colour.")
    page.get_by_label("Strengths").blur()
    text = f"{PEAK} In flower from week 5."
    review.wait_until_written(page, text=text, grow_again="yes", good_for=["heat"], one_line="A keeper.")
    review.wait_until_written(page, next_year="more", next_year_plants=12, strengths="Colour.")
    peak, week = review.written["quoted"]
    assert (peak["key"], peak["shown"], peak["interval"], peak["photo_ids"]) == (
        "peak",
        "60 %",
        "58–62",
        [review.photos[1]],
    )
    assert (week["key"], week["before"]) == ("first_bloom_week", "In flower from")
    page.get_by_role("link", name="All verdicts").click()
    expect(page.get_by_text("1 of 1 written.")).to_be_visible()
    expect(page.get_by_text("Would grow it again: A keeper.")).to_be_visible()


def test_a_verdict_is_reached_from_its_planting_and_found_by_its_words(
    review: Review, open_page: Callable[..., Page]
) -> None:
    planting = f"{review.served.address}/#/plantings/{review.planting_id}"
    page = open_page(planting)
    page.get_by_role("link", name="Write the verdict").click()
    page.get_by_role("button", name="Again, elsewhere").click()
    page.get_by_label("In one line").fill("Sulks in wind.")
    page.get_by_label("In one line").blur()
    review.wait_until_written(page, grow_again="again elsewhere", one_line="Sulks in wind.")
    page.goto(planting)
    expect(page.get_by_text("Would grow it again elsewhere: Sulks in wind.")).to_be_visible()
    way = page.get_by_role("link", name="Report on it")
    expect(way).to_have_attribute("href", re.compile(f"^#/review/reports/{review.trial_id}\\?of=cultivar&cultivar="))
    page.goto(f"{review.served.address}/#/search?for=sulks")
    page.locator("[data-group=Verdicts]").get_by_role("link", name="Made Up").click()
    expect(page.get_by_label("In one line")).to_have_value("Sulks in wind.")
    page.get_by_role("link", name="Report on it").click()
    expect(page.get_by_label("Report")).to_have_value("cultivar")


def test_each_number_in_the_text_leads_to_its_photo(review: Review, open_page: Callable[..., Page]) -> None:
    page = open_page(review.address)
    put_in(page, "peak")
    put_in(page, "season_bloom")
    numbers_in_text = page.locator("#verdict-text .quoted-number")
    expect(numbers_in_text).to_have_text([re.compile(r"^60\s% \(58–62\)$"), re.compile(r"^\d+\s% \(\d+–\d+\)$")])
    assert [one.get_attribute("href") for one in numbers_in_text.all()] == [
        f"#/photos/{review.photos[1]}",
        f"#/plantings/{review.planting_id}",
    ]
    numbers_in_text.first.click()
    page.wait_for_url(f"**/#/photos/{review.photos[1]}")


def test_what_was_not_measured_is_said_with_its_reason_and_not_offered(
    review: Review, open_page: Callable[..., Page]
) -> None:
    page = open_page(review.address)
    page.get_by_text("What is not offered, and why").click()
    expect(page.get_by_text("How far it hangs over: spill was not measured on any photo.")).to_be_visible()
    expect(page.locator("[data-sentence=spill]")).to_have_count(0)


def test_what_was_put_in_is_taken_out_again(review: Review, open_page: Callable[..., Page]) -> None:
    page = open_page(review.address)
    put_in(page, "peak")
    put_in(page, "first_bloom")
    page.locator("[data-sentence=peak]").get_by_role("button", name="Take out").click()
    expect(page.locator("[data-sentence=peak]").get_by_role("button", name="Put in")).to_be_visible()
    review.wait_until_written(page, text="In flower from week 5.")
    assert review.quoted_keys == ["first_bloom_week"]


def test_all_sentences_are_put_in_at_once_and_taken_back_by_undo(
    review: Review, open_page: Callable[..., Page]
) -> None:
    page = open_page(review.address)
    put_in(page, "peak")
    page.get_by_role("button", name="Put in all that are left").click()
    expect(page.get_by_role("button", name="Put in")).to_have_count(0)
    assert page.locator("#verdict-text .quoted-number").count() > 4
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#verdict-text .reading")).to_have_text(PEAK)
    review.wait_until_written(page, text=PEAK)
    assert review.quoted_keys == ["peak"]


def test_an_edited_text_is_kept_and_numbers_taken_out_of_it_are_let_go(
    review: Review, open_page: Callable[..., Page]
) -> None:
    page = open_page(review.address)
    put_in(page, "peak")
    put_in(page, "first_bloom")
    page.get_by_role("button", name="Change the text").click()
    page.get_by_label("The text").fill("At its best 60 % was in flower.\n\nFine.")
    page.get_by_role("button", name="Done").click()
    expect(page.locator("#verdict-text .reading p")).to_have_text(["At its best 60 % was in flower.", "Fine."])
    expect(page.locator("#verdict-text .quoted-number")).to_have_text("60 %")
    review.wait_until_written(page, text="At its best 60 % was in flower.\n\nFine.")
    assert review.quoted_keys == ["peak"]
    page.reload()
    expect(page.locator("#verdict-text .reading p").first).to_have_text("At its best 60 % was in flower.")


def test_a_number_measured_anew_is_flagged_and_put_in_when_asked(
    review: Review, open_page: Callable[..., Page]
) -> None:
    page = open_page(review.address)
    put_in(page, "peak")
    review.wait_until_written(page, text=PEAK)
    review.measure_peak_anew(0.55)
    page.goto(f"{review.served.address}/#/review")
    page.reload()
    expect(page.get_by_text("Numbers have changed under 1 text.")).to_be_visible()
    page.get_by_role("link", name="Made Up").click()
    flagged = page.locator("#changed-numbers")
    said = "Bloom cover at its peak: was 60 % (58–62) when this was written; now 55 % (53–57)."
    expect(flagged.get_by_text(said)).to_be_visible()
    assert review.written["text"] == PEAK, "never changed by itself"
    flagged.get_by_role("button", name="Put the new number in").click()
    expect(page.locator("#verdict-text .reading")).to_have_text("Bloom cover peaked at 55 % (53–57) on 20 June.")
    expect(flagged).to_have_count(0)
    review.wait_until_written(page, text="Bloom cover peaked at 55 % (53–57) on 20 June.")
    assert (review.written["quoted"][0]["shown"], review.written["quoted"][0]["value"]) == ("55 %", 0.55)


def test_what_is_written_can_be_kept_until_the_number_changes_again(
    review: Review, open_page: Callable[..., Page]
) -> None:
    page = open_page(review.address)
    put_in(page, "peak")
    review.wait_until_written(page, text=PEAK)
    review.measure_peak_anew(0.55)
    page.reload()
    page.get_by_role("button", name="Keep what is written").click()
    expect(page.locator("#changed-numbers")).to_have_count(0)
    review.wait_until_kept(page, "55 % (53–57)")
    page.reload()
    expect(page.locator("#offered [data-sentence]").first).to_be_visible()
    expect(page.locator("#changed-numbers")).to_have_count(0)
    assert review.written["text"] == PEAK
    review.measure_peak_anew(0.45)
    page.reload()
    expect(page.get_by_text("now 45 % (43–47).")).to_be_visible()


def test_many_changed_numbers_are_put_in_or_kept_at_once(review: Review, open_page: Callable[..., Page]) -> None:
    page = open_page(review.address)
    put_in(page, "peak")
    put_in(page, "season_bloom")
    before = page.locator("#verdict-text .reading").inner_text().replace("\u00a0", " ")
    review.wait_until_written(page, text=before)
    review.measure_peak_anew(0.4)
    page.reload()
    expect(page.locator("#changed-numbers .changed")).to_have_count(2)
    page.get_by_role("button", name="Put all new numbers in").click()
    expect(page.locator("#verdict-text .reading")).to_contain_text("peaked at 40 % (38–42) on 20 June.")
    expect(page.locator("#changed-numbers")).to_have_count(0)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#verdict-text .reading")).to_have_text(before)
    page.get_by_role("button", name="Keep all as written").click()
    expect(page.locator("#changed-numbers")).to_have_count(0)
    review.wait_until_kept(page, "40 % (38–42)")
    assert review.written["text"] == before


def test_a_number_whose_photo_was_matched_elsewhere_is_flagged_while_the_screen_is_open(
    review: Review, open_page: Callable[..., Page]
) -> None:
    page = open_page(review.address)
    put_in(page, "peak")
    review.wait_until_written(page, text=PEAK)
    other = make_planting(review.served.journal, review.trial_id, "Another")
    changes = [{"kind": "photo", "id": id_, "fields": {"planting_id": other}} for id_ in review.photos]
    apply_changes(review.served.journal, changes)
    page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")
    expect(
        page.get_by_text("was 60 % (58–62) when this was written; now not known: bloom cover was not measured")
    ).to_be_visible()
    expect(page.get_by_role("button", name="Put the new number in")).to_have_count(0)
    expect(page.locator("#verdict-text .reading")).to_have_text(PEAK)


def test_a_verdict_is_written_without_a_signal_and_sent_later(review: Review, phone: Phone) -> None:
    page = phone.ready_for_the_walk(review.served.address)
    wait_until_kept(page, "/api/verdict-drafts", 1)
    review.served.stop()
    try:
        page.goto(review.address)
        page.reload()
        expect(page.get_by_text(re.compile("^As of .* kept on this device"))).to_be_visible()
        put_in(page, "peak")
        page.get_by_role("button", name="Undecided").click()
        page.get_by_label("Best companions").fill("A white one.")
        page.get_by_label("Best companions").blur()
        expect(page.get_by_text("Kept on this device.")).to_be_visible()
        page.reload()
        expect(page.locator("#verdict-text .reading")).to_have_text(PEAK)
        expect(page.get_by_role("button", name="Undecided")).to_have_attribute("aria-pressed", "true")
    finally:
        review.served.start()
    page.reload()
    review.wait_until_written(page, text=PEAK, grow_again="undecided", companions="A white one.")


def test_pictures_are_suggested_and_chosen(review: Review, open_page: Callable[..., Page]) -> None:
    page = open_page(review.address, DESKTOP)
    use = page.locator("#picture-best")
    expect(use).to_contain_text("20 Jun, suggested")
    use.click()
    page.get_by_role("dialog", name="Best").get_by_role("button", name="10 August 2026").click()
    expect(use).to_contain_text("10 Aug, chosen")
    expect(page.locator(".leading-picture img")).to_have_attribute("src", re.compile(review.photos[3]))
    review.wait_until_written(page, pictures={"best": review.photos[3]})
    use.click()
    page.get_by_role("button", name="As suggested").click()
    expect(use).to_contain_text("20 Jun, suggested")
    review.wait_until_written(page, pictures=None)


def test_a_deleted_verdict_comes_back_by_undo_and_nothing_of_it_shows_through(
    review: Review, open_page: Callable[..., Page]
) -> None:
    page = open_page(review.address)
    put_in(page, "peak")
    page.get_by_role("button", name="Yes", exact=True).click()
    review.wait_until_written(page, text=PEAK, grow_again="yes")
    page.get_by_role("button", name="Delete this verdict").click()
    expect(page.get_by_text("Nothing is written yet.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#verdict-text .reading")).to_have_text(PEAK)
    page.get_by_role("button", name="Delete this verdict").click()
    page.get_by_role("button", name="No", exact=True).click()
    expect(page.get_by_text("Nothing is written yet.")).to_be_visible()
    review.wait_until_written(page, grow_again="no", text=None, quoted=[])


def test_a_wrong_number_of_plants_is_said_at_its_field(review: Review, open_page: Callable[..., Page]) -> None:
    page = open_page(review.address)
    field = page.get_by_label("How many plants next year")
    field.fill("many")
    field.blur()
    expect(page.get_by_text("This must be a whole number from 0 to 5000.")).to_be_visible()
    page.get_by_role("button", name="Yes", exact=True).click()
    review.wait_until_written(page, grow_again="yes")
    expect(field).to_have_value("many")
    field.fill("")
    field.blur()
    expect(page.get_by_text("This must be a whole number from 0 to 5000.")).to_be_hidden()
    field.fill("0")
    field.blur()
    review.wait_until_written(page, next_year_plants=0)


def test_what_people_typed_is_text_everywhere(empty: Served, open_page: Callable[..., Page]) -> None:
    review = Review(empty, HOSTILE)
    page = open_page(review.address)
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Petunia ‘{HOSTILE}’")
    page.get_by_role("button", name="Write it yourself").click()
    page.get_by_label("The text").fill(HOSTILE)
    page.get_by_role("button", name="Done").click()
    expect(page.locator("#verdict-text .reading")).to_have_text(HOSTILE)
    put_in(page, "places")
    page.get_by_label("In one line").fill(HOSTILE)
    page.get_by_label("In one line").blur()
    review.wait_until_written(page, one_line=HOSTILE)
    page.goto(f"{empty.address}/#/review")
    expect(page.locator(".verdicts .name")).to_contain_text(HOSTILE)
    expect(page.locator(".verdicts .said-line")).to_have_text(HOSTILE)
    assert page.evaluate("() => window.brokenIn") is None


def test_two_plantings_of_one_cultivar_share_a_verdict_and_each_number_names_its_planter(
    review: Review, open_page: Callable[..., Page]
) -> None:
    journal = review.served.journal
    pot = make(journal, "planter", trial_id=review.trial_id, name="Pot 5", planter_kind="pot")
    second = make(
        journal, "planting", trial_id=review.trial_id, planter_id=pot, cultivar_id=review.cultivar_id,
        planted_on="2026-05-16",
    )  # fmt: skip
    photos = measured_season(journal, second, SEASON)
    page = open_page(f"{review.served.address}/#/review")
    expect(page.get_by_text("0 of 1 written.")).to_be_visible()
    page.get_by_role("link", name="Trough of Made Up, Pot 5").click()
    offered = page.locator("[data-sentence=peak]")
    expect(offered.locator("p")).to_have_text(
        ["Trough of Made Up: bloom cover peaked at 60 % (58–62) on 20 June.",
         "Pot 5: bloom cover peaked at 60 % (58–62) on 20 June."]
    )  # fmt: skip
    offered.nth(1).get_by_role("button", name="Put in").click()
    expect(offered.nth(1).get_by_role("button", name="Take out")).to_be_visible()
    review.wait_until_written(page, text="Pot 5: bloom cover peaked at 60 % (58–62) on 20 June.")
    assert review.written["quoted"][0]["planting_id"] == second
    keep_numbers(journal, photos[1], second, numbers(0.5, 0.55))
    page.reload()
    said = "Pot 5: bloom cover at its peak: was 60 % (58–62) when this was written; now 55 % (53–57)."
    expect(page.locator("#changed-numbers").get_by_text(said)).to_be_visible()


def test_a_cultivar_that_stands_nowhere_there_is_said(review: Review, open_page: Callable[..., Page]) -> None:
    page = open_page(review.address.replace("/container", "/ground"))
    expect(page.get_by_role("heading", level=1)).to_have_text("This cultivar does not stand there in this trial")


def test_a_number_is_copied_with_its_interval_day_and_source(review: Review, open_page: Callable[..., Page]) -> None:
    page = open_page(review.address)
    page.get_by_text("Copy a number").click()
    page.locator("#numbers-to-copy").get_by_role("button", name="60 % (58–62)").click()
    said = "Bloom cover at its peak: 60 % (90 % interval 58–62 %) on 20 June 2026, "
    expect(page.locator("dialog .quote")).to_contain_text(said)
