"""Counting points as a person does it: by thumb and by keys, in one go and in parts, with and without a signal."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from browser.phone import Phone
from browser.records import make, make_planting, photo_named, records
from browser.serving import DESKTOP, Served
from browser.test_accessibility import violations
from browser.test_every_screen import sideways
from playwright.sync_api import Page, expect

from journal_server.services.apply_changes import apply_changes
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.take_in_photo import take_in_file
from journal_server.storage.records import Record

SCENES = Path(__file__).parents[1] / "scenes"
PHOTO = "p3_2026-07-14.jpg"
LETTERS = "bsfo"


def counts(served: Served) -> list[Record]:
    return records(served.journal, "point_count")


@pytest.fixture
def counted(season: Served) -> Iterator[Served]:
    """The sample season; what was counted is deleted in the end."""
    yield season
    apply_changes(season.journal, [{"kind": "point_count", "id": c.id, "delete": True} for c in counts(season)])


def address(served: Served, name: str = PHOTO) -> str:
    return f"{served.address}/#/photos/{photo_named(served.journal, name).id}"


def begin(page: Page, number: int) -> None:
    page.locator(f"#points-{number}").check()
    page.get_by_role("button", name="Start counting").click()
    expect(page.get_by_role("heading", name=f"Point 1 of {number}")).to_be_visible()


def wait_for_picture(page: Page) -> None:
    """Until something of the photo is seen around the point, not one grey."""
    colours = """() => {
        const spot = document.querySelector("canvas.spot");
        if (!spot.width) return 0;
        const copy = new OffscreenCanvas(spot.width, spot.height).getContext("2d", { willReadFrequently: true });
        copy.drawImage(spot, 0, 0);
        const { data } = copy.getImageData(0, 0, spot.width, spot.height);
        const seen = new Set();
        for (let at = 0; at < data.length; at += 4 * 997) seen.add(data[at] << 16 | data[at + 1] << 8 | data[at + 2]);
        return seen.size;
    }"""
    until = time.monotonic() + 10
    while page.evaluate(colours) < 20:
        assert time.monotonic() < until, "no picture came"
        page.wait_for_timeout(50)


def eventually_counts(served: Served, answered: int) -> Record:
    until = time.monotonic() + 20
    while time.monotonic() < until:
        for count in counts(served):
            if len(count.fields["answers"].replace("-", "")) == answered:
                return count
        time.sleep(0.1)
    raise AssertionError(f"no count with {answered} answers: {[c.fields['answers'] for c in counts(served)]}")


def test_fifty_points_are_counted_with_the_thumb(counted: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address(counted))
    page.get_by_role("link", name="Count points on this photo").click()
    expect(page.get_by_text("so that it does not lead you")).to_be_visible()
    page.get_by_label("Who counts").fill("Ada")
    begin(page, 50)
    wait_for_picture(page)
    expect(page.locator("nav.screens")).to_be_hidden()
    for name in ("Bloom", "Spent", "Foliage", "Other"):
        box = page.get_by_role("button", name=name, exact=True).bounding_box()
        assert box is not None
        assert box["height"] >= 60
        assert box["width"] > 150
        assert box["y"] > 844 / 2, "in the lower half, where the thumb is"
        assert box["y"] + box["height"] <= 844
    said = "".join(LETTERS[at % 4] for at in range(50))
    for letter in said:
        page.locator(f"#say-{letter}").tap()
    expect(page.get_by_role("heading", name="All points are gone through")).to_be_visible()
    expect(page.get_by_text("50 points answered.")).to_be_visible()
    page.get_by_role("button", name="End and see the result").tap()

    expect(page.get_by_text("50 points by Ada on")).to_be_visible()
    rows = page.locator(".differences tbody tr")
    expect(rows).to_have_count(3)
    expect(rows.nth(0)).to_contain_text("Canopy fill")
    expect(rows.nth(0).locator(".verdict")).to_contain_text("error")
    expect(page.get_by_text("Cohen’s kappa is")).to_be_visible()
    expect(page.locator(".confusion tbody tr")).to_have_count(4)
    (count,) = counts(counted)
    photo = photo_named(counted.journal, PHOTO)
    assert count.fields["answers"] == said
    assert (count.fields["ended"], count.fields["counted_by"]) == (True, "Ada")
    assert (count.fields["photo_id"], count.fields["planting_id"]) == (photo.id, photo.fields["planting_id"])
    assert len(count.fields["points"]) == 50
    assert len(count.fields["polygon"]) > 3, "in the frame as it lies on this photo"

    page.get_by_role("link", name="How sure, over all photos").tap()
    expect(page.get_by_role("heading", name="Good to count next")).to_be_visible()
    expect(page.get_by_text("1 photo was checked by hand: 50 random points")).to_be_visible()
    expect(page.locator(".rows .row")).to_have_count(1)


def test_the_method_is_not_seen_before_the_end(counted: Served, open_page: Callable[..., Page]) -> None:
    asked: list[str] = []
    page = open_page(address(counted) + "/count")
    page.on("request", lambda request: asked.append(request.url))
    begin(page, 50)
    for _ in range(50):
        page.keyboard.press("3")
    expect(page.get_by_role("heading", name="All points are gone through")).to_be_visible()
    assert not [url for url in asked if "classes" in url or "review" in url]
    assert "%" not in page.locator("main").inner_text()
    assert page.locator("img[src*=classes]").count() == 0


def test_by_keys_with_undo_and_points_that_cannot_be_told(counted: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address(counted) + "/count", DESKTOP)
    page.get_by_label("Who counts").fill("1234")
    expect(page.get_by_label("Who counts")).to_have_value("1234")
    begin(page, 50)
    for key in ("1", "2", "3", "Backspace", "4", "0"):
        page.keyboard.press(key)
    expect(page.get_by_role("heading", name="Point 5 of 50")).to_be_visible()
    expect(page.get_by_text("Before: left out")).to_be_visible()
    page.keyboard.press("Backspace")
    expect(page.get_by_role("heading", name="Point 4 of 50")).to_be_visible()
    page.keyboard.press("?")
    page.keyboard.press("Control+1")
    for _ in range(46):
        page.keyboard.press("3")
    expect(page.get_by_text("49 points answered, 1 left out because they could not be told.")).to_be_visible()
    page.keyboard.press("1")
    expect(page.get_by_text("49 points answered")).to_be_visible()
    page.get_by_role("button", name="Look at the 1 left out").click()
    expect(page.get_by_role("heading", name="Left out, 1 of 1")).to_be_visible()
    page.keyboard.press("2")
    expect(page.get_by_text("50 points answered.")).to_be_visible()
    page.get_by_role("button", name="Undo the last").click()
    page.get_by_role("button", name="Cannot tell").click()
    page.get_by_role("button", name="End and see the result").click()
    expect(page.get_by_text("1 could not be told and are left out")).to_be_visible()
    (count,) = counts(counted)
    assert count.fields["answers"] == "bso-" + "f" * 46


def test_a_count_is_gone_on_with_after_leaving_and_after_a_dead_battery(counted: Served, phone: Phone) -> None:
    page = phone.open(address(counted) + "/count")
    begin(page, 50)
    for letter in "bfo":
        page.locator(f"#say-{letter}").tap()
    laid = page.evaluate("() => document.querySelector('.here circle').getAttribute('cx')")
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_text("It takes 20 answered points")).to_be_visible()
    page.keyboard.press("1")
    page.get_by_role("button", name="Go on later").click()
    expect(page.get_by_role("link", name="Go on counting points")).to_be_visible()
    begun = eventually_counts(counted, 3)
    assert (begun.fields["answers"][:4], begun.fields["ended"]) == ("bfo-", False)
    page.get_by_role("link", name="Go on counting points").click()
    expect(page.get_by_role("heading", name="Point 4 of 50")).to_be_visible()
    assert page.evaluate("() => document.querySelector('.here circle').getAttribute('cx')") == laid
    page.locator("#say-s").tap()
    page.locator("#cannot-tell").tap()
    expect(page.get_by_role("heading", name="Point 6 of 50")).to_be_visible()
    page.wait_for_timeout(300)
    phone.kill()
    phone.start()
    page = phone.open(address(counted) + "/count")
    expect(page.get_by_role("heading", name="Point 6 of 50")).to_be_visible()
    page.locator("#undo").tap()
    expect(page.get_by_role("heading", name="Point 5 of 50")).to_be_visible()
    page.reload()
    expect(page.get_by_role("heading", name="Point 5 of 50")).to_be_visible()
    page.evaluate("() => (location.hash = '#/')")
    assert eventually_counts(counted, 4).id == begun.id


def test_another_device_goes_on_with_what_was_begun(counted: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address(counted) + "/count")
    begin(page, 50)
    for _ in range(7):
        page.keyboard.press("3")
    page.evaluate("() => (location.hash = '#/')")
    eventually_counts(counted, 7)
    other = open_page(f"{counted.address}/#/review/how-sure/{records(counted.journal, 'trial')[0].id}", DESKTOP)
    other.get_by_role("link", name="Go on: 7 of 50 points").click()
    expect(other.get_by_role("heading", name="Point 8 of 50")).to_be_visible()


def test_a_count_may_be_ended_early_with_the_points_that_were_come_to(
    counted: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(address(counted) + "/count")
    begin(page, 200)
    for key in "1" * 10 + "3" * 14 + "0":
        page.keyboard.press(key)
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_text("fewer are fair as well")).to_be_visible()
    page.get_by_role("button", name="End with 24 points").click()
    expect(page.locator(".differences tbody tr")).to_have_count(3)
    (count,) = counts(counted)
    assert count.fields["answers"] == "b" * 10 + "f" * 14 + "-"
    assert len(count.fields["points"]) == 25


def test_the_whole_count_works_without_a_signal(counted: Served, phone: Phone) -> None:
    page = phone.ready_for_the_walk(address(counted))
    page.reload()
    expect(page.get_by_role("link", name="Count points on this photo")).to_be_visible()
    page.locator(".stage img").first.evaluate("(image) => image.decode()")
    page.wait_for_load_state("networkidle")
    phone.context.set_offline(True)
    page.get_by_role("link", name="Count points on this photo").click()
    begin(page, 50)
    wait_for_picture(page)
    for at in range(50):
        page.keyboard.press("1" if at < 10 else "3")
    page.get_by_role("button", name="End and see the result").click()
    expect(page.get_by_text("is told when the journal can be reached")).to_be_visible(timeout=15_000)
    rows = page.locator(".differences tbody tr")
    expect(rows.nth(1)).to_contain_text("20 %")
    page.reload()
    expect(rows.nth(1)).to_contain_text("20 %")
    assert counts(counted) == []
    phone.context.set_offline(False)
    page.evaluate("() => dispatchEvent(new Event('online'))")
    expect(page.get_by_text("Cohen’s kappa is")).to_be_visible(timeout=20_000)
    assert counts(counted)[0].fields["answers"] == "b" * 10 + "f" * 40


def test_without_the_picture_it_says_so_and_keeps_what_was_answered(
    counted: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page("about:blank", heading=None)
    page.add_init_script("Object.defineProperty(Navigator.prototype, 'serviceWorker', { value: undefined })")
    page.route("**/picture?size=screen", lambda route: route.abort())
    page.goto(address(counted) + "/count")
    begin(page, 50)
    expect(page.get_by_role("alert").filter(has_text="is not on this device")).to_be_visible()
    page.unroute("**/picture?size=screen")
    page.get_by_role("button", name="Try again").click()
    wait_for_picture(page)
    expect(page.get_by_text("is not on this device")).to_be_hidden()


def test_a_large_photo_without_a_frame_is_shown_sharp_where_it_can_be_had(
    empty: Served, open_page: Callable[..., Page]
) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Plum")
    photo_id = take_in_file(empty.journal, SCENES / "dev_37.jpg").photo.id
    apply_changes(empty.journal, [{"kind": "photo", "id": photo_id, "fields": {"planting_id": planting_id}}])
    MeasuringRoom(empty.journal, [WorkerProcess()]).run_until_done()
    asked: list[str] = []
    page = open_page("about:blank", heading=None)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{empty.address}/#/photos/{photo_id}/count")
    expect(page.get_by_text("over the whole photo, as it has no frame")).to_be_visible()
    begin(page, 50)
    wait_for_picture(page)
    expect(page.get_by_text("Bringing the sharp picture")).to_have_count(0)
    assert any("size=full" in url for url in asked)
    page.route("**/picture?size=full", lambda route: route.abort())
    page.reload()
    begin(page, 50)
    expect(page.get_by_text("Shown from the smaller picture kept on this device.")).to_be_visible()
    for _ in range(50):
        page.keyboard.press("4")
    page.get_by_role("button", name="End and see the result").click()
    expect(page.locator(".differences tbody tr").nth(1)).to_contain_text("No point lies on the plant.")
    (count,) = counts(empty)
    assert count.fields["polygon"] is None
    xs, ys = zip(*count.fields["points"], strict=True)
    assert max(xs) > 1600
    assert max(ys) > 1200


def test_a_count_can_be_deleted_and_brought_back(counted: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(address(counted) + "/count")
    begin(page, 50)
    for _ in range(50):
        page.keyboard.press("3")
    page.get_by_role("button", name="End and see the result").click()
    page.get_by_role("button", name="Delete this count").click()
    expect(page.get_by_role("link", name="Count points on this photo")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("link", name="Your point count").click()
    expect(page.locator(".differences tbody tr")).to_have_count(3)
    page.get_by_role("link", name="Count other points too").click()
    begin(page, 50)
    for _ in range(50):
        page.keyboard.press("3")
    page.get_by_role("button", name="End and see the result").click()
    expect(page.get_by_text("100 points in 2 counts")).to_be_visible()
    first, second = counts(counted)
    assert first.fields["points"] != second.fields["points"]


def test_a_photo_that_is_not_measured_or_not_settled_says_what_to_do(
    counted: Served, open_page: Callable[..., Page]
) -> None:
    unsettled = next(p for p in records(counted.journal, "photo") if not p.fields["planting_id"])
    page = open_page(f"{counted.address}/#/photos/{unsettled.id}/count")
    expect(page.get_by_role("heading", name="First say which planting this photo shows")).to_be_visible()
    page.goto(f"{counted.address}/#/photos/none/count")
    expect(page.get_by_role("heading", name="This photo is not in the journal")).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_while_counting_nor_in_the_result(
    counted: Served, open_page: Callable[..., Page], scheme: str
) -> None:
    page = open_page(address(counted) + "/count", color_scheme=scheme, reduced_motion="reduce")
    page.evaluate(AXE_SCRIPT)
    begin(page, 50)
    wait_for_picture(page)
    assert violations(page, "counting") == []
    assert sideways(page) == []
    page.get_by_role("button", name="Stop").click()
    assert violations(page, "stopped") == []
    page.get_by_role("button", name="Go on counting").click()
    for _ in range(50):
        page.keyboard.press("3")
    page.get_by_role("button", name="End and see the result").click()
    expect(page.get_by_text("Cohen’s kappa is")).to_be_visible()
    assert violations(page, "result") == []
    assert sideways(page) == []
    page.get_by_role("link", name="How sure, over all photos").click()
    expect(page.get_by_role("heading", name="Point by point")).to_be_visible()
    page.get_by_text("How this is reckoned").click()
    assert violations(page, "how sure") == []
