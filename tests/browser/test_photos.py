"""Taking photos in, settling them, looking at them, drawing frames."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from browser.records import make, make_planting, photo_named, records
from browser.serving import DESKTOP, Served
from made_photos import jpeg
from playwright.sync_api import Page, expect

from journal_server.domain.cards import is_card_code
from journal_server.services.measuring import MeasuringRoom
from journal_server.services.take_in_photo import take_in_photo

CODE = "TAG-7K3Q9M"


@pytest.fixture
def some_files(tmp_path: Path) -> list[Path]:
    """Two photos (one with its card, one without, a minute later), the first again by another name, and no photo."""
    assert is_card_code(CODE)
    first = jpeg("2026:06:12 10:14:03", seed=1, codes=(CODE,))
    contents = {
        "first.jpg": first,
        "second.jpg": jpeg("2026:06:12 10:14:40", seed=2),
        "first again.jpg": first,
        "list.txt": b"bread, milk",
        "empty.jpg": b"",
    }
    for name, content in contents.items():
        (tmp_path / name).write_bytes(content)
    return [tmp_path / name for name in contents]


@pytest.fixture
def planted(empty: Served) -> Served:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    make_planting(empty.journal, trial_id, "Made Up", card_code=CODE)
    make_planting(empty.journal, trial_id, "Other One")
    return empty


def take_in(page: Page, files: list[Path]) -> None:
    page.get_by_label("Choose photos").set_input_files(files)
    expect(page.locator("#upload-summary")).to_be_visible()


def test_many_files_at_once_end_in_a_summary_that_names_each_refused_one(
    planted: Served, open_page: Callable[..., Page], some_files: list[Path]
) -> None:
    page = open_page(f"{planted.address}/#/photos/in")
    take_in(page, some_files)
    expect(page.locator("#upload-summary")).to_have_text("2 taken in, 1 already here, 2 refused.")
    went = page.locator("#where-they-went li")
    expect(went).to_have_text(["1 photo: Made Up, Trough of Made Up", "1 photo: no planting yet"])
    refused = page.locator(".files li").filter(has=page.get_by_text("refused", exact=True))
    expect(refused).to_have_count(2)
    expect(page.locator(".files li").filter(has_text="list.txt").locator(".says")).not_to_be_empty()
    assert len(records(planted.journal, "photo")) == 2


def test_a_photo_that_was_not_sent_can_be_sent_again(
    planted: Served, open_page: Callable[..., Page], some_files: list[Path]
) -> None:
    page = open_page(f"{planted.address}/#/photos/in")
    page.route("**/api/photos", lambda route: route.abort())
    take_in(page, some_files[:1])
    expect(page.locator("#upload-summary")).to_have_text("1 not sent.")
    expect(page.locator(".files .says")).to_contain_text("The photo is still where it was")
    page.unroute("**/api/photos")
    page.get_by_role("button", name="Send again what was not sent").click()
    expect(page.locator("#upload-summary")).to_have_text("1 taken in.")


def test_sending_can_be_cancelled(planted: Served, open_page: Callable[..., Page], some_files: list[Path]) -> None:
    page = open_page(f"{planted.address}/#/photos/in")
    page.route("**/api/photos", lambda route: None)  # never answered
    page.get_by_label("Choose photos").set_input_files(some_files[:4])
    page.get_by_role("button", name="Cancel the rest").click()
    expect(page.locator("#upload-summary")).to_have_text("4 cancelled.")
    assert records(planted.journal, "photo") == []


def test_dropped_files_are_taken_in_from_any_screen(planted: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{planted.address}/#/plantings", DESKTOP)
    page.evaluate(
        """(bytes) => {
            const carried = new DataTransfer();
            carried.items.add(new File([new Uint8Array(bytes)], "dropped.jpg", { type: "image/jpeg" }));
            const how = { dataTransfer: carried, bubbles: true, cancelable: true };
            document.body.dispatchEvent(new DragEvent("drop", how));
        }""",
        list(jpeg("2026:06:12 10:14:03", seed=3)),
    )
    expect(page.locator("#upload-summary")).to_have_text("1 taken in.")
    assert photo_named(planted.journal, "dropped.jpg")


def test_a_whole_folder_is_chosen_with_the_folders_in_it(
    planted: Served, open_page: Callable[..., Page], some_files: list[Path], tmp_path: Path
) -> None:
    folder = tmp_path / "walk"
    (folder / "more").mkdir(parents=True)
    for number, file in enumerate(some_files[:2]):
        (folder / ("more" if number else ".") / file.name).write_bytes(file.read_bytes())
    page = open_page(f"{planted.address}/#/photos/in")
    page.get_by_label("A folder").set_input_files(folder)
    expect(page.locator("#upload-summary")).to_have_text("2 taken in.")
    names = {photo.fields["file_name"] for photo in records(planted.journal, "photo")}
    assert names == {file.name for file in some_files[:2]}


def test_a_suggestion_is_accepted_undone_and_set_aside(
    planted: Served, open_page: Callable[..., Page], some_files: list[Path]
) -> None:
    page = open_page(f"{planted.address}/#/photos/in")
    take_in(page, some_files[:2])
    page.get_by_role("link", name="Settle 1 photo").click()
    expect(page.locator(".suggestion")).to_contain_text("Made Up")

    page.get_by_role("button", name="Accept", exact=True).click()
    expect(page.get_by_text("Nothing to settle")).to_be_visible()
    expect(page.get_by_text("Settled: Made Up.")).to_be_visible()
    assert photo_named(planted.journal, "second.jpg").fields["match"] == "set by hand"

    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Undone.")).to_be_visible()
    expect(page.locator(".suggestion")).to_contain_text("Made Up")
    assert photo_named(planted.journal, "second.jpg").fields["planting_id"] is None

    page.get_by_role("button", name="Not part of the trial").click()
    expect(page.get_by_text("Set aside: not part of the trial.")).to_be_visible()
    page.get_by_role("link", name="1 photo set aside").click()
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("Back among the photos to settle.")).to_be_visible()
    assert photo_named(planted.journal, "second.jpg").fields["match"] == "suggested"


def test_another_planting_is_chosen_from_a_searched_list(
    planted: Served, open_page: Callable[..., Page], some_files: list[Path]
) -> None:
    page = open_page(f"{planted.address}/#/photos/in")
    take_in(page, some_files[:2])
    page.get_by_role("link", name="Settle 1 photo").click()
    page.get_by_role("button", name="Another planting").click()
    page.get_by_role("dialog").get_by_label("Search").fill("other")
    expect(page.locator(".choices button")).to_have_count(1)
    page.get_by_role("button", name="Other One").click()
    expect(page.get_by_text("Settled: Other One.")).to_be_visible()
    chosen = photo_named(planted.journal, "second.jpg").fields["planting_id"]
    other = next(p for p in records(planted.journal, "planting") if p.fields["card_code"] != CODE)
    assert chosen == other.id


def test_all_suggestions_are_accepted_at_once(
    planted: Served, open_page: Callable[..., Page], some_files: list[Path], tmp_path: Path
) -> None:
    third = tmp_path / "third.jpg"
    third.write_bytes(jpeg("2026:06:12 10:14:50", seed=4))
    page = open_page(f"{planted.address}/#/photos/in")
    take_in(page, [*some_files[:2], third])
    page.get_by_role("link", name="Settle 2 photos").click()
    page.get_by_role("button", name="Accept all 2 suggestions").click()
    expect(page.get_by_text("2 suggestions accepted.")).to_be_visible()
    expect(page.get_by_text("Nothing to settle")).to_be_visible()
    assert all(photo.fields["planting_id"] for photo in records(planted.journal, "photo"))


def test_the_moment_of_a_photo_is_corrected(
    planted: Served, open_page: Callable[..., Page], some_files: list[Path]
) -> None:
    page = open_page(f"{planted.address}/#/photos/in")
    take_in(page, some_files[:1])
    page.get_by_role("link", name="first.jpg").click()
    page.get_by_role("button", name="Change the moment").click()
    page.get_by_label("Clock").fill("half past ten")
    page.get_by_role("button", name="Save the moment").click()
    expect(page.locator("[data-field=clock] .field-problem")).to_contain_text("10:14")
    expect(page.get_by_label("Clock")).to_be_focused()
    page.get_by_label("Clock").fill("10:30")
    page.get_by_role("button", name="Save the moment").click()
    expect(page.get_by_text("Moment changed.")).to_be_visible()
    expect(page.get_by_text("12 June 2026, 10:30, UTC+02:00").first).to_be_visible()
    photo = photo_named(planted.journal, "first.jpg")
    assert (photo.fields["taken_at"], photo.fields["taken_at_source"]) == ("2026-06-12T10:30:00+02:00", "person")


def test_the_original_is_offered_with_a_word_about_where_it_was_taken(
    planted: Served, open_page: Callable[..., Page], some_files: list[Path]
) -> None:
    page = open_page(f"{planted.address}/#/photos/in")
    take_in(page, some_files[:1])
    page.get_by_role("link", name="first.jpg").click()
    with page.expect_download() as download:
        page.get_by_role("link", name="Download the original").click()
    assert download.value.path().read_bytes() == some_files[0].read_bytes()
    expect(page.get_by_text("The original file carries no place.")).to_be_visible()


@pytest.fixture
def season_photo(season: Served) -> str:
    return photo_named(season.journal, "p3_2026-07-14.jpg").id


def test_what_was_counted_is_shown_over_the_photo_with_a_legend_in_words(
    season: Served, open_page: Callable[..., Page], season_photo: str
) -> None:
    page = open_page(f"{season.address}/#/photos/{season_photo}")
    page.get_by_role("button", name="Show what was counted").click()
    overlay = page.locator("img.overlay")
    expect(overlay).to_be_visible()
    overlay.evaluate("image => image.decode()")
    for words in ("open bloom", "foliage", "spent bloom"):
        expect(page.locator(".legend").get_by_text(words)).to_be_visible()
    page.get_by_role("button", name="Hide what was counted").click()
    expect(overlay).to_be_hidden()


def test_every_number_has_its_interval_or_its_reason(
    season: Served, open_page: Callable[..., Page], season_photo: str
) -> None:
    page = open_page(f"{season.address}/#/photos/{season_photo}")
    page.get_by_text("Every number with its interval").click()
    rows = page.locator("table.numbers tbody tr")
    assert rows.count() >= 7
    for cells in rows.all_inner_texts():
        assert "not had" not in cells
        assert "undefined" not in cells
        assert "NaN" not in cells
    assert "–" in page.get_by_role("row", name="Canopy fill").first.inner_text()


@pytest.fixture
def season_measured_after(season: Served) -> Iterator[Served]:
    """The sample season; what waits to be measured in the end is measured, so that others find it whole."""
    yield season
    MeasuringRoom(season.journal).run_until_done()


def test_a_frame_is_drawn_by_dragging_and_by_keys_and_saved(
    season_measured_after: Served, open_page: Callable[..., Page], season_photo: str
) -> None:
    season = season_measured_after
    before = len(records(season.journal, "frame"))
    page = open_page(f"{season.address}/#/photos/{season_photo}/frame")
    page.locator(".stage img").evaluate("image => image.decode()")
    corners = page.locator(".corner")
    first_count = corners.count()
    box = corners.nth(1).bounding_box()
    assert box is not None
    start = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] - 20, start[1] + 15, steps=4)
    expect(page.locator(".loupe")).to_be_visible()
    page.mouse.up()
    expect(page.locator(".loupe")).to_be_hidden()
    moved = corners.nth(1).bounding_box()
    assert moved is not None
    assert moved["x"] == pytest.approx(box["x"] - 20, abs=3)
    assert moved["y"] == pytest.approx(box["y"] + 15, abs=3)

    page.keyboard.press("ArrowRight")
    nudged = corners.nth(1).bounding_box()
    assert nudged is not None
    assert nudged["x"] > moved["x"]

    stage = page.locator(".stage").bounding_box()
    assert stage is not None
    page.mouse.click(stage["x"] + stage["width"] / 2, stage["y"] + stage["height"] - 8)
    expect(corners).to_have_count(first_count + 1)
    page.get_by_role("button", name="Undo").click()
    expect(corners).to_have_count(first_count)

    page.get_by_role("button", name="Save the frame").click()
    expect(page.get_by_text("Frame saved.")).to_be_visible()
    frames = [frame for frame in records(season.journal, "frame") if frame.fields["photo_id"] == season_photo]
    assert len(frames) == 1
    assert len(frames[0].fields["polygon"]) == first_count
    assert len(records(season.journal, "frame")) in (before, before + 1)


def test_frames_that_are_missing_are_told_and_drawn_one_after_the_other(
    empty: Served, open_page: Callable[..., Page]
) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    plantings = []
    for name, code in (("First One", CODE), ("Second One", "TAG-0JNJ0B"), ("Without Photo", "TAG-Q8R58D")):
        plantings.append(make_planting(empty.journal, trial_id, name, card_code=code))
        if name != "Without Photo":
            take_in_photo(empty.journal, jpeg("2026:06:12 10:14:03", seed=len(name), codes=(code,)), f"{name}.jpg")
    page = open_page(empty.address)
    expect(page.locator("#to-frames")).to_contain_text("2 plantings")
    page.goto(f"{empty.address}/#/season")
    expect(page.locator("main")).to_contain_text("2 plantings have no frame")
    page.get_by_role("link", name="Draw the frames").click()
    for name in ("First One", "Second One"):
        expect(page.locator("main")).to_contain_text(f"that {name} is expected to fill")
        page.get_by_role("button", name="Save the frame").click()
    expect(page.get_by_role("heading", name="Today", level=1)).to_be_visible()
    expect(page.locator("#to-frames")).to_have_count(0)
    framed = {frame.fields["planting_id"] for frame in records(empty.journal, "frame")}
    assert framed == set(plantings[:2])


def test_a_corner_follows_the_finger(season: Served, open_page: Callable[..., Page], season_photo: str) -> None:
    page = open_page(f"{season.address}/#/photos/{season_photo}/frame")
    page.locator(".stage img").evaluate("image => image.decode()")
    corner = page.locator(".corner").nth(1)
    corner.scroll_into_view_if_needed()
    before = corner.bounding_box()
    assert before is not None
    x, y = before["x"] + before["width"] / 2, before["y"] + before["height"] / 2
    scrolled = page.evaluate("() => scrollY")
    finger = page.context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        at = [{"x": px, "y": py} for px, py in points]
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})

    touch("touchStart", (x + 8, y + 8))  # a finger seldom hits the middle
    for step in range(1, 6):
        touch("touchMove", (x + 8 + 6 * step, y + 8 + 5 * step))
    expect(page.locator(".loupe")).to_be_visible()
    touch("touchEnd")
    expect(page.locator(".loupe")).to_be_hidden()
    after = corner.bounding_box()
    assert after is not None
    assert after["x"] == pytest.approx(before["x"] + 30, abs=3)
    assert after["y"] == pytest.approx(before["y"] + 25, abs=3)
    assert page.evaluate("() => scrollY") == scrolled, "dragging a corner does not scroll the page"
