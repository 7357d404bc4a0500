"""A walk in a real browser with Chromium's made-up camera and microphone: from the list to the planting and on."""

from __future__ import annotations

import io
import re
import shutil
import time
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from browser.conftest import CHROMIUM_NAMES, FLAGS
from browser.records import make, make_planting, records
from browser.serving import Served
from browser.test_accessibility import violations
from made_photos import jpeg, picture
from PIL import Image, ImageFilter
from playwright.sync_api import Browser, CDPSession, Page, expect

from journal_server.domain.derived_ids import derived_id
from journal_server.packaged import packaged_folder
from journal_server.services.apply_changes import apply_changes

CARDS = ("TAG-7K3Q9M", "TAG-VT8T7X", "TAG-3T50A4")
COUNT_TAPS = """
    window.taps = 0; window.keys = 0;
    addEventListener("click", (event) => event.isTrusted && window.taps++, true);
    addEventListener("keydown", () => window.keys++, true);
"""
SCROLLING = """async () => {
    let frames = 0;
    while (scrollY + innerHeight < document.documentElement.scrollHeight - 1) {
        scrollBy(0, 160);
        frames++;
        await new Promise(requestAnimationFrame);
    }
    return frames;
}"""
NO_CAMERA_ALLOWED = """
    const ask = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
    window.isAllowed = false;
    navigator.mediaDevices.getUserMedia = async (wanted) => {
        if (!window.isAllowed) throw new DOMException("no", "NotAllowedError");
        return ask(wanted);
    };
"""


@pytest.fixture(scope="module")
def camera_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the made-up camera sees: the card of the second trough."""
    file = tmp_path_factory.mktemp("camera") / "seen.mjpeg"
    picture(seed=3, codes=(CARDS[1],)).save(file, "JPEG", quality=92)
    return file


@pytest.fixture(scope="module")
def browser(browser: Browser, camera_file: Path) -> Iterator[Browser]:
    path = next(filter(None, map(shutil.which, CHROMIUM_NAMES)))
    seeing = [
        "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={camera_file}", "--autoplay-policy=no-user-gesture-required",
    ]  # fmt: skip
    started = browser.browser_type.launch(executable_path=path, args=[*FLAGS, *seeing])
    yield started
    started.close()


def days_ago(days: int) -> str:
    """The browser shares this machine's clock and time zone."""
    return (datetime.now(UTC).astimezone() - timedelta(days=days)).date().isoformat()


@pytest.fixture
def trial(empty: Served) -> Served:
    """Three troughs of four plants each, with cards, in walking order."""
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planted_on = days_ago(42)
    for number, name in enumerate(("Plum", "Ember", "Slate")):
        planting_id = make_planting(
            empty.journal, trial_id, name, plants=4, card_code=CARDS[number], planted_on=planted_on
        )
        (planting,) = [p for p in records(empty.journal, "planting") if p.id == planting_id]
        change(empty, "planter", planting.fields["planter_id"], walk_order=number + 1)
    return empty


def change(served: Served, kind: str, identity: str, **fields: Any) -> None:
    (result,) = apply_changes(served.journal, [{"kind": kind, "id": identity, "fields": fields}])
    assert not result.errors


def planting_of(served: Served, name: str) -> Any:
    cultivars = {cultivar.id: cultivar.fields["name"] for cultivar in records(served.journal, "cultivar")}
    return next(p for p in records(served.journal, "planting") if cultivars[p.fields["cultivar_id"]] == name)


def eventually(found: Callable[[], Any], seconds: float = 10) -> Any:
    """What ``found`` answers once it answers something; sending goes on in the background."""
    end = time.monotonic() + seconds
    while not (answer := found()) and time.monotonic() < end:
        time.sleep(0.05)
    return answer


def at_planting(page: Page, served: Served, name: str, live: bool = True) -> None:
    page.goto(f"{served.address}/#/walk/{planting_of(served, name).id}")
    expect(page.locator("#shutter" if live else ".shutter .pick")).to_be_visible()


def take(page: Page, photos: int) -> None:
    page.click("#shutter")
    expect(page.locator(".taken-strip li")).to_have_count(photos)


def test_one_planting_with_a_photo_and_a_finding_takes_four_taps_and_no_keyboard(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    page.evaluate(COUNT_TAPS)
    page.locator(".stop").first.click()
    page.click("#shutter")
    page.get_by_role("button", name="Dry", exact=True).click()
    page.click("#next")
    expect(page.get_by_role("heading", name="Trough of Ember")).to_be_visible()
    assert page.evaluate("() => [taps, keys]") == [4, 0]
    plum = planting_of(trial, "Plum")
    (photo,) = eventually(lambda: records(trial.journal, "photo"))
    (visit,) = eventually(lambda: [v for v in records(trial.journal, "visit") if v.fields["done"]])
    (finding,) = records(trial.journal, "finding")
    assert photo.fields["visit_id"] == visit.id == finding.fields["visit_id"]
    assert photo.fields["how"] == "viewfinder"
    assert visit.fields["planting_id"] == finding.fields["planting_id"] == plum.id
    assert visit.fields["visited_on"] == days_ago(0)
    assert finding.fields["what"] == "dry"


def test_a_walk_without_a_signal_survives_a_closed_page_and_arrives_once(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.context.set_offline(True)
    for name in ("Plum", "Ember", "Slate"):
        expect(page.locator("#onward")).to_contain_text(f"Trough of {name}")
        page.click("#onward")
        take(page, 1)
        page.click("#finding-dry")
        page.click("#care-watered")
        page.click("#rate-overall-3")
        page.click("#to-list")
    expect(page.locator(".stop .state")).to_have_text(["done", "done", "done"])
    again = page.context.new_page()
    page.close()
    again.goto(f"{trial.address}/#/walk")
    expect(again.locator(".stop .today")).to_have_text(["Today: 1 photo · dry"] * 3)
    assert again.locator(".stop img").first.evaluate("(image) => image.decode().then(() => image.naturalWidth)") > 0
    assert records(trial.journal, "visit") == []
    again.context.set_offline(False)
    again.evaluate("() => dispatchEvent(new Event('online'))")
    expect(again.locator(".waiting-line")).to_have_text("Everything sent")
    kinds = ("walk", "visit", "finding", "care", "rating", "photo")
    assert [len(records(trial.journal, kind)) for kind in kinds] == [1, 3, 3, 3, 3, 3]
    assert {photo.fields["visit_id"] for photo in records(trial.journal, "photo")} == {
        visit.id for visit in records(trial.journal, "visit") if visit.fields["done"]
    }


def test_looking_alone_notes_nothing(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Plum")
    page.click("#to-list")
    expect(page.locator(".left")).to_contain_text("3 left")
    page.evaluate("() => new Promise((done) => setTimeout(done, 300))")
    assert records(trial.journal, "walk") == records(trial.journal, "visit") == []


def test_skip_pause_close_the_browser_and_resume(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    page.click("#onward")
    expect(page.locator("#shutter")).to_be_visible()
    page.click("#skip")
    expect(page.get_by_role("heading", name="Trough of Ember")).to_be_visible()
    page.click("#finding-leggy")
    page.click("#to-list")
    expect(page.locator(".left")).to_contain_text("1 left")
    expect(page.locator(".stop .state")).to_have_text(["skipped", "done", "to do"])
    page.click("#pause")
    expect(page.locator("#onward")).to_have_text("Resume: Trough of Slate")
    again = page.context.new_page()
    page.close()
    again.goto(f"{trial.address}/#/")
    expect(again.locator("#to-walk")).to_contain_text("left: resume the walk")
    again.click("#to-walk")
    again.click("#onward")
    expect(again.get_by_role("heading", name="Trough of Slate")).to_be_visible()
    again.click("#next")
    expect(again.get_by_role("heading", name="Trough of Plum")).to_be_visible()
    again.click("#next")
    expect(again.locator("#end-now")).to_be_visible()
    again.click("#end-now")
    expect(again.locator("#walk-summary")).to_contain_text("3 of 3 plantings done")
    expect(again.locator("#walk-summary")).to_contain_text("1 finding")
    (walk,) = eventually(lambda: [w for w in records(trial.journal, "walk") if w.fields["ended"]])
    assert walk.fields["walked_on"] == days_ago(0)


def test_the_order_is_changed_by_keyboard(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    page.click("#order")
    page.get_by_role("button", name="Move Trough of Slate up").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".order .name").nth(1)).to_have_text("2. Trough of Slate")
    page.keyboard.press("Enter")
    expect(page.locator(".order .name").first).to_have_text("1. Trough of Slate")
    page.click("#order")
    expect(page.locator(".stop .name")).to_have_text(["Trough of Slate", "Trough of Plum", "Trough of Ember"])


def test_a_card_of_another_planting_leads_there_and_loses_nothing(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Plum")
    page.get_by_label("In writing").fill("buds holed")
    expect(page.locator(".card-words")).to_have_text("This card is Trough of Ember, not Trough of Plum.")
    page.click("#go-there")
    expect(page.locator(".card-words")).to_have_text("Card read: this is Trough of Ember.")
    (visit,) = eventually(lambda: records(trial.journal, "visit"))
    assert visit.fields["remark"] == "buds holed"
    assert visit.fields["planting_id"] == planting_of(trial, "Plum").id


def test_several_photos_taken_again_and_deleted(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Ember")
    take(page, 1)
    take(page, 2)
    page.get_by_role("button", name="Look at photo 1").click()
    page.get_by_role("dialog").get_by_role("button", name="Take again").click()
    page.click("#shutter")
    expect(page.get_by_text("Photo saved on this phone: 2 photos here.")).to_be_visible()
    expect(page.locator(".taken-strip li")).to_have_count(2)
    page.get_by_role("button", name="Look at photo 2").click()
    page.click("#delete-photo")
    page.get_by_role("dialog").get_by_role("button", name="Delete").click()
    expect(page.locator(".taken-strip li")).to_have_count(1)


def blurred(radius: int) -> Any:
    """A sample photo out of focus, as the phone's own camera hands it over."""
    held = io.BytesIO()
    with Image.open(packaged_folder("sample_photos") / "p3_2026-07-14.jpg") as sharp:
        sharp.filter(ImageFilter.GaussianBlur(radius)).save(held, "JPEG")
    return {"name": "IMG_0008.jpg", "mimeType": "image/jpeg", "buffer": held.getvalue()}


def test_a_photo_that_will_not_do_is_said_and_kept_or_taken_again(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Ember")
    page.locator("#own-camera").set_input_files(blurred(6))
    expect(page.locator(".photo-check")).to_contain_text("The photo is blurred.")
    page.get_by_role("button", name="Keep anyway").click()
    expect(page.locator(".photo-check")).to_have_count(0)
    page.locator("#own-camera").set_input_files(blurred(7))
    page.get_by_role("button", name="Take again").click()
    page.click("#shutter")
    expect(page.get_by_text("Photo saved on this phone: 2 photos here.")).to_be_visible()
    expect(page.locator(".taken-strip li")).to_have_count(2)


def test_the_last_photo_lies_over_the_live_picture_as_strongly_as_wished(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Ember")
    take(page, 1)
    page.reload()
    over = page.locator(".finder-over img")
    expect(over).to_have_css("opacity", "0.4")
    page.get_by_label("How strongly the last photo shows").fill("70")
    expect(over).to_have_css("opacity", "0.7")
    page.click("#overlay")
    expect(over).to_be_hidden()
    page.reload()
    expect(page.locator("#overlay")).to_have_text("Last photo: off")
    page.click("#overlay")
    expect(over).to_have_css("opacity", "0.7")


def test_without_the_camera_the_phones_own_does_the_same_with_its_exif_kept(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    page.add_init_script(NO_CAMERA_ALLOWED)
    page.reload()
    at_planting(page, trial, "Plum", live=False)
    expect(page.locator(".other-way")).to_contain_text("camera")
    photo_bytes = jpeg(taken="2026:06:12 10:14:03", seed=5)
    page.locator("#own-camera").set_input_files(
        {"name": "IMG_0007.jpg", "mimeType": "image/jpeg", "buffer": photo_bytes}
    )
    expect(page.get_by_text("Photo saved on this phone: 1 photo here.")).to_be_visible()
    (photo,) = eventually(lambda: records(trial.journal, "photo"))
    assert photo.fields["taken_at"].startswith("2026-06-12T10:14:03")
    assert photo.fields["how"] == "phone camera"
    assert photo.fields["file_name"] == "IMG_0007.jpg"
    page.evaluate("() => (window.isAllowed = true)")
    page.click("#live-again")
    take(page, 2)


def test_without_https_no_other_try_of_camera_and_microphone_is_offered(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    page.add_init_script("Object.defineProperty(Navigator.prototype, 'mediaDevices', { value: undefined });")
    page.reload()
    at_planting(page, trial, "Plum", live=False)
    expect(page.locator(".other-way")).to_contain_text("not opened over https")
    expect(page.locator("#live-again")).to_have_count(0)
    page.locator("#own-camera").set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": jpeg(seed=5)})
    expect(page.get_by_text("Photo saved on this phone: 1 photo here.")).to_be_visible()
    page.click("#record")
    expect(page.locator(".speak")).to_contain_text("can still be written")
    expect(page.locator(".speak button")).to_have_count(0)


def test_an_empty_picture_is_said_and_the_next_one_is_kept(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Ember")
    page.locator("#own-camera").set_input_files({"name": "x.jpg", "mimeType": "image/jpeg", "buffer": b""})
    expect(page.get_by_role("alert")).to_contain_text("empty picture, so nothing was saved")
    take(page, 1)
    expect(page.locator(".trouble")).to_be_empty()


def test_a_full_phone_is_said_and_the_photo_is_kept_once_there_is_room(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Ember")
    page.evaluate(
        """() => {
            const put = IDBObjectStore.prototype.put, add = IDBObjectStore.prototype.add;
            const full = (how) => function (...given) {
                if (window.isFull) throw new DOMException("no room", "QuotaExceededError");
                return how.apply(this, given);
            };
            Object.assign(IDBObjectStore.prototype, { put: full(put), add: full(add) });
            window.isFull = true;
        }"""
    )
    page.click("#shutter")
    expect(page.get_by_role("alert")).to_contain_text("This device is full")
    page.click("#to-list")
    expect(page.get_by_role("alert")).to_contain_text("This device is full")
    page.evaluate("() => (window.isFull = false)")
    page.click("#keep-again")
    expect(page.get_by_text("Photo saved on this phone: 1 photo here.")).to_be_visible()
    assert eventually(lambda: records(trial.journal, "photo"))


def test_findings_are_taken_back_by_a_second_tap_and_name_the_plant(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Ember")
    page.click("#finding-wilted")
    expect(page.locator("#finding-wilted")).to_have_attribute("aria-pressed", "true")
    page.click("#finding-wilted")
    expect(page.locator("#finding-wilted")).to_have_attribute("aria-pressed", "false")
    page.locator("#finding-wilted").dblclick()
    expect(page.get_by_text("Taken back: wilted.")).to_be_visible()
    page.click("#finding-one-plant-lagging")
    page.get_by_role("button", name="Plant 3").click()
    expect(page.get_by_text("Noted: one plant lagging, plant 3.")).to_be_visible()
    (finding,) = eventually(lambda: [f for f in records(trial.journal, "finding") if f.fields["plant"]])
    assert (finding.fields["what"], finding.fields["plant"]) == ("one plant lagging", 3)


def test_ratings_show_last_times_and_a_second_tap_clears(trial: Served, open_page: Callable[..., Page]) -> None:
    earlier_visit(trial, "Ember", overall=2, what="soggy")
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Ember")
    expect(page.locator(".rating").first).to_contain_text("last time 2")
    expect(page.locator(".visit header")).to_contain_text("Last time: soggy")
    page.click("#rate-overall-4")
    expect(page.locator("#rate-overall-4")).to_have_attribute("aria-pressed", "true")
    page.click("#rate-health-5")
    page.click("#rate-health-5")
    expect(page.get_by_text("Rating taken back: health.")).to_be_visible()
    today = days_ago(0)
    rated = {"overall": 4, "health": None}
    assert eventually(
        lambda: [
            rating
            for rating in records(trial.journal, "rating")
            if rating.fields["rated_on"] == today and rated.items() <= rating.fields.items()
        ]
    )


def earlier_visit(served: Served, name: str, overall: int, what: str) -> None:
    """A visit of another day, as another phone brought it."""
    planting = planting_of(served, name)
    day = days_ago(7)
    trial_id = planting.fields["trial_id"]
    walk_id = derived_id("walk", trial_id, day)
    visit_id = derived_id("visit", walk_id, planting.id)
    common = {"visit_id": visit_id, "planting_id": planting.id}
    results = apply_changes(
        served.journal,
        [
            {"kind": "walk", "id": walk_id, "fields": {"trial_id": trial_id, "walked_on": day}},
            {
                "kind": "visit", "id": visit_id,
                "fields": {"trial_id": trial_id, "walk_id": walk_id, "planting_id": planting.id, "visited_on": day},
            },
            {
                "kind": "rating", "id": derived_id("rating", visit_id, ""),
                "fields": common | {"rated_on": day, "overall": overall},
            },
        ],
    )  # fmt: skip
    assert not any(result.errors for result in results)
    make(served.journal, "finding", **common, found_on=day, what=what)


def test_a_spoken_remark_is_kept_played_and_sent(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Ember")
    page.click("#record")
    expect(page.get_by_role("timer")).to_contain_text("Recording: 1 s")
    page.click("#stop-recording")
    expect(page.locator(".recording")).to_have_count(1)
    (recording,) = eventually(lambda: records(trial.journal, "recording"))
    assert recording.fields["seconds"] >= 1
    page.get_by_role("button", name=re.compile("Play spoken remark")).click()
    expect(page.locator(".recording button").first).to_have_text(re.compile("Pause|Play spoken remark"))
    page.goto(f"{trial.address}/#/plantings/{planting_of(trial, 'Ember').id}")
    expect(page.locator(".visit-row button")).to_contain_text("Play spoken remark")


def test_a_denied_microphone_is_said_and_writing_goes_on(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    page.add_init_script(NO_CAMERA_ALLOWED)
    page.reload()
    at_planting(page, trial, "Ember", live=False)
    page.click("#record")
    expect(page.locator(".speak")).to_contain_text("microphone")
    page.get_by_label("In writing").fill("dry at the left end")
    page.click("#next")
    visits = eventually(lambda: [v for v in records(trial.journal, "visit") if v.fields["remark"]])
    assert [visit.fields["remark"] for visit in visits] == ["dry at the left end"]


def test_care_for_this_planting_and_for_all_with_the_product_remembered(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    plum = planting_of(trial, "Plum")
    begins = days_ago(2)
    trial_id = plum.fields["trial_id"]
    make(trial.journal, "care_plan", trial_id=trial_id, action="fed", every_days=7, begins_on=begins)
    page = open_page(f"{trial.address}/#/walk")
    expect(page.locator(".stop .due").first).to_have_text("Due: feed, 2 days over")
    at_planting(page, trial, "Plum")
    page.click("#care-sprayed")
    expect(page.locator(".cautions")).to_contain_text("label")
    page.get_by_label("Product").fill("Made-up Bt")
    page.click("#note-sprayed")
    expect(page.locator("#care-sprayed")).to_have_text("Sprayed (Made-up Bt)")
    page.click("#care-all")
    page.click("#care-fed")
    expect(page.get_by_text("Nothing is due.")).to_be_visible()
    page.click("#next")
    expect(page.get_by_role("heading", name="Trough of Ember")).to_be_visible()
    page.click("#care-sprayed")
    page.get_by_role("button", name="Made-up Bt").click()
    expect(page.locator("#care-sprayed")).to_have_attribute("aria-pressed", "true")
    care = eventually(lambda: done if len(done := records(trial.journal, "care")) == 3 else None)
    whom = {(c.fields["action"], c.fields["planting_id"], c.fields["product"]) for c in care}
    ember = planting_of(trial, "Ember")
    assert whom == {("sprayed", plum.id, "Made-up Bt"), ("sprayed", ember.id, "Made-up Bt"), ("fed", None, None)}


def test_what_turned_out_wrong_is_changed_on_the_spot(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Plum")
    page.click("#corrections > summary")
    page.get_by_label("Why, if known").fill("stem rot")
    walked_on = page.get_by_label("When").input_value()
    page.get_by_label("When").fill("2001-05-16")
    page.click("#one-died")
    refusal = page.locator("#corrections .field-problem[aria-live]")
    expect(refusal).to_contain_text("choose a later day")
    expect(page.get_by_label("Why, if known")).to_have_value("stem rot")
    page.get_by_label("When").fill(walked_on)
    page.click("#one-died")
    expect(page.get_by_text("3 plants living now.")).to_be_visible()
    expect(refusal).to_have_text("")
    page.click("#doubt")
    page.get_by_label("The label said").fill("Plum Gaslight")
    page.get_by_label("It looks like").fill("a darker one")
    page.get_by_label("Or type its code").fill(CARDS[2])
    page.click("#type-card")
    expect(page.get_by_text(f"The card {CARDS[2]} stands at Trough of Slate.")).to_be_visible()
    page.get_by_label("Or type its code").fill("tag 8m8m8m")
    page.click("#type-card")
    expect(page.get_by_text("Card: TAG-8M8M8M")).to_be_visible()
    (count,) = eventually(lambda: records(trial.journal, "plant_count"))
    assert (count.fields["plants"], count.fields["reason"], count.fields["note"]) == (3, "died", "stem rot")
    planting = eventually(lambda: p if (p := planting_of(trial, "Plum")).fields["card_code"] == "TAG-8M8M8M" else None)
    assert planting.fields["identity"] == "doubtful"
    assert (planting.fields["label_said"], planting.fields["looks_like"]) == ("Plum Gaslight", "a darker one")


def test_a_new_card_is_scanned_onto_the_planting(trial: Served, open_page: Callable[..., Page]) -> None:
    change(trial, "planting", planting_of(trial, "Ember").id, card_code="TAG-000000")
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Ember")
    expect(page.locator(".card-words")).to_have_text(f"This card, {CARDS[1]}, belongs to no planting yet.")
    page.click("#corrections > summary")
    page.click("#scan-card")
    page.click("#give-card")
    expect(page.locator(".card-words")).to_have_text("Card read: this is Trough of Ember.")
    assert eventually(lambda: planting_of(trial, "Ember").fields["card_code"] == CARDS[1])


def test_a_planting_deleted_elsewhere_is_said_and_the_walk_goes_on(
    trial: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{trial.address}/#/walk")
    at_planting(page, trial, "Plum")
    apply_changes(trial.journal, [{"kind": "planting", "id": planting_of(trial, "Plum").id, "delete": True}])
    page.evaluate("() => dispatchEvent(new Event('online'))")
    expect(page.get_by_role("heading", name="This planting was deleted elsewhere")).to_be_visible()
    page.click("#next")
    expect(page.get_by_role("heading", name="Trough of Ember")).to_be_visible()
    page.goto(f"{trial.address}/#/walk/00000000-0000-4000-8000-000000000000")
    expect(page.get_by_role("heading", name="This planting is not in the journal any more")).to_be_visible()


def test_a_clock_a_day_off_is_said_on_the_walk(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    page.clock.set_system_time(datetime.now(UTC) + timedelta(days=1))
    page.goto(f"{trial.address}/#/walk")
    page.reload()
    expect(page.locator(".clock")).to_contain_text("clock is about 1 day ahead of the journal’s")


def test_of_two_trials_the_one_chosen_on_this_phone_is_walked(trial: Served, open_page: Callable[..., Page]) -> None:
    other = make(trial.journal, "trial", title="Balcony", year=2025)
    make_planting(trial.journal, other, "Flint", planted_on=days_ago(10))
    page = open_page(f"{trial.address}/#/walk")
    expect(page.locator(".stop")).to_have_count(3)
    page.get_by_label("Trial").select_option(label="Balcony, 2025")
    expect(page.locator(".stop .name")).to_have_text(["Trough of Flint"])
    page.reload()
    expect(page.locator(".stop .name")).to_have_text(["Trough of Flint"])


@pytest.mark.parametrize(
    ("have", "said"),
    [
        ((), "There is no trial to walk yet."),
        (("trial",), "“Terrace” has no plantings yet."),
        (("trial", "removed"), "No planting stands today"),
    ],
)
def test_a_day_with_nothing_to_walk_says_what_to_do(
    empty: Served, open_page: Callable[..., Page], have: tuple[str, ...], said: str
) -> None:
    if "trial" in have:
        trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
        if "removed" in have:
            make_planting(empty.journal, trial_id, "Plum", planted_on="2025-05-10", removed_on="2025-10-01")
    page = open_page(f"{empty.address}/#/walk")
    expect(page.locator(".walk")).to_contain_text(said)
    expect(page.locator(".walk .primary")).to_be_visible()


def test_what_can_be_tapped_on_the_walk_is_48_pixels_high(trial: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{trial.address}/#/walk")
    small = """() => [...document.querySelectorAll("main :is(a, button, select, input, summary, label.pick)")]
        .filter((node) => !["file", "checkbox"].includes(node.type) && node.checkVisibility())
        .filter((node) => node.getBoundingClientRect().height < 48)
        .map((node) => node.outerHTML.slice(0, 120))"""
    assert page.evaluate(small) == []
    page.click("#order")
    assert page.evaluate(small) == []
    at_planting(page, trial, "Plum")
    take(page, 1)
    page.click("#corrections > summary")
    page.click("#finding-plant-dead")
    page.click("#care-sprayed")
    assert page.evaluate(small) == []


def plant_many(served: Served, trial_id: str, count: int) -> None:
    cultivar_id = make(served.journal, "cultivar", genus="Petunia", name="Plum")
    changes: list[dict[str, Any]] = []
    for number in range(count):
        planter_id, planting_id = str(uuid.uuid4()), str(uuid.uuid4())
        planter = {"trial_id": trial_id, "name": f"Trough {number}", "planter_kind": "trough", "walk_order": number}
        planting = {
            "trial_id": trial_id, "planter_id": planter_id, "cultivar_id": cultivar_id, "planted_on": days_ago(30),
        }  # fmt: skip
        changes.append({"kind": "planter", "id": planter_id, "fields": planter})
        changes.append({"kind": "planting", "id": planting_id, "fields": planting})
    assert not any(result.errors for result in apply_changes(served.journal, changes))


def test_two_hundred_plantings_scroll_without_dropped_work(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    plant_many(empty, trial_id, 200)
    page = open_page(f"{empty.address}/#/walk")
    expect(page.locator(".stop")).to_have_count(200)
    page.wait_for_load_state("networkidle")
    session = page.context.new_cdp_session(page)
    # The thread's own time, so that other work of this machine does not count.
    session.send("Performance.enable", {"timeDomain": "threadTicks"})
    before = worked_seconds(session)
    frames = page.evaluate(SCROLLING)
    worked_ms = (worked_seconds(session) - before) * 1000 / frames
    assert frames > 100
    # Sixty pictures a second leave 16.7 ms for each, also on a phone that is four times slower.
    assert 4 * worked_ms < 16.7


def worked_seconds(session: CDPSession) -> float:
    metrics = {metric["name"]: metric["value"] for metric in session.send("Performance.getMetrics")["metrics"]}
    return float(metrics["TaskDuration"])


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_a_visit_with_everything_opened(
    trial: Served, open_page: Callable[..., Page], scheme: str
) -> None:
    page = open_page(f"{trial.address}/#/walk", color_scheme=scheme, reduced_motion="reduce")
    page.evaluate(AXE_SCRIPT)
    at_planting(page, trial, "Plum")
    take(page, 1)
    page.click("#corrections > summary")
    page.click("#doubt")
    page.click("#finding-one-plant-lagging")
    page.click("#care-sprayed")
    page.click("#rate-habit-3")
    expect(page.locator("#rate-habit-3")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#go-there")).to_be_visible()
    assert violations(page, "visit") == []
    page.get_by_role("button", name="Look at photo 1").click()
    assert violations(page, "visit") == []
    page.get_by_role("dialog").get_by_role("button", name="Close").click()
    page.click("#to-list")
    page.click("#order")
    assert violations(page, "walk") == []
    page.click("#order")
    page.click("#end")
    expect(page.locator("#walk-summary")).to_be_visible()
    assert violations(page, "walk") == []
