"""Correcting a photo by hand: painted with mouse, finger and keys, saved, measured, taken back, without a signal."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from browser.phone import Phone
from browser.records import make, make_planting, records
from browser.serving import DESKTOP, Served, serve
from playwright.sync_api import CDPSession, Page, expect

from journal_server.packaged import packaged_folder
from journal_server.services.journal import Journal, open_journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.photo_history import photo_history
from journal_server.services.take_in_photo import take_in_file
from journal_server.storage.records import Record

FRAME = [[100, 200], [900, 200], [900, 600], [100, 600]]
Place = tuple[float, float]


def measure_all(journal: Journal) -> None:
    MeasuringRoom(journal, [WorkerProcess()]).run_until_done()


def one_measured_photo(journal: Journal) -> str:
    trial_id = make(journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(journal, trial_id, "Made Up", card_code="TAG-3T50A4", plants=4)
    photo_id = take_in_file(journal, packaged_folder("sample_photos") / "p1_2026-07-01.jpg").photo.id
    make(journal, "frame", planting_id=planting_id, photo_id=photo_id, polygon=FRAME)
    measure_all(journal)
    return photo_id


@pytest.fixture
def measured(empty: Served) -> tuple[Served, str]:
    """A journal with one framed and measured photo, and the photo's id."""
    return empty, one_measured_photo(empty.journal)


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, str]]:
    """The same for tests that save nothing."""
    with contextlib.closing(open_journal(tmp_path_factory.mktemp("painting") / "journal")) as journal:
        photo_id = one_measured_photo(journal)
        with serve(journal) as served:
            yield served, photo_id


def easel_of(page: Page, served: Served, photo_id: str) -> dict[str, float]:
    """Opens the screen and waits until it can be painted on; returns where the stage is."""
    page.goto(f"{served.address}/#/photos/{photo_id}/correct")
    expect(page.get_by_role("heading", name="Correct by hand")).to_be_visible()
    page.wait_for_function(
        "() => [...document.querySelectorAll('.easel img')].every((image) => image.naturalWidth > 0)"
    )
    box = page.locator(".easel").bounding_box()
    assert box is not None
    return {name: float(value) for name, value in box.items()}


def on_stage(box: dict[str, float], place: Place) -> Place:
    return box["x"] + place[0] * box["width"], box["y"] + place[1] * box["height"]


def drag(page: Page, box: dict[str, float], *places: Place) -> None:
    page.mouse.move(*on_stage(box, places[0]))
    page.mouse.down()
    for place in places[1:]:
        page.mouse.move(*on_stage(box, place), steps=6)
    page.mouse.up()


def touch(session: CDPSession, kind: str, *points: Place) -> None:
    touches = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(points)]
    session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": touches})


def draft(page: Page, photo_id: str) -> list[dict[str, Any]]:
    """The strokes as this device keeps them until they are saved."""
    kept: list[dict[str, Any]] | None = page.evaluate(
        """async (name) => {
            const { openDatabase } = await import("/store/database.js");
            const database = await openDatabase();
            const kept = await database.read(["device_values"], ({ device_values }) => device_values.get(name));
            database.close();
            return kept ?? null;
        }""",
        f"painting of {photo_id}",
    )
    return kept or []


def wait_for_corrections(page: Page, served: Served, count: int) -> list[Record]:
    """Notes go to the journal by themselves, a moment after they are on the device."""
    until = time.monotonic() + 20
    while len(found := records(served.journal, "correction")) != count and time.monotonic() < until:
        page.wait_for_timeout(50)
    assert len(found) == count
    return found


def wait_for_strokes(page: Page, photo_id: str, count: int) -> list[dict[str, Any]]:
    until = time.monotonic() + 10
    while len(kept := draft(page, photo_id)) != count and time.monotonic() < until:
        page.wait_for_timeout(50)
    assert len(kept) == count
    return kept


def test_painted_with_the_mouse_saved_measured_and_taken_back(
    measured: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, photo_id = measured
    (before,) = photo_history(served.journal, photo_id)
    page = open_page(f"{served.address}/#/photos/{photo_id}", DESKTOP)
    page.get_by_role("link", name="Correct by hand").click()
    box = easel_of(page, served, photo_id)
    page.get_by_role("button", name="Foliage").click()
    page.get_by_role("button", name="Broad").click()
    for row in range(5):
        drag(page, box, (0.2, 0.3 + row * 0.11), (0.8, 0.3 + row * 0.11))
    page.get_by_text("Your name, a note, and how this counts").click()
    page.get_by_label("Corrected by").fill("Ada")
    page.get_by_label("Note").fill("All of it is leaves.")
    page.get_by_role("button", name="Save the correction").click()
    expect(page.get_by_text("Correction saved.")).to_be_visible()
    (correction,) = records(served.journal, "correction")
    assert correction.fields["corrected_by"] == "Ada"
    assert {stroke["class"] for stroke in correction.fields["strokes"]} == {"foliage"}
    measure_all(served.journal)
    newest, old = photo_history(served.journal, photo_id)
    assert old == before | {"current": False}
    assert newest["numbers"]["bloom_cover"]["value"] < before["numbers"]["bloom_cover"]["value"] / 4

    page.reload()
    expect(page.locator("#by-hand")).to_contain_text("Corrected by hand by Ada on")
    expect(page.get_by_text("All of it is leaves.")).to_be_visible()
    page.get_by_text("Measured 2 times").click()
    rows = page.locator(".measured-list > li")
    expect(rows).to_have_count(2)
    expect(rows.nth(0)).to_contain_text("By hand")
    expect(rows.nth(0)).to_contain_text("counts now")
    expect(rows.nth(1)).to_contain_text("By the method")
    expect(rows.nth(1)).to_contain_text(f"Bloom cover {before['numbers']['bloom_cover']['value'] * 100:.0f}")
    expect(rows.nth(1)).not_to_contain_text("counts now")

    page.get_by_role("button", name="Take the correction back").click()
    expect(page.get_by_text("The numbers from before count again.")).to_be_visible()
    wait_for_corrections(page, served, 0)
    measure_all(served.journal)
    page.reload()
    expect(page.locator("#by-hand")).to_have_count(0)
    page.get_by_text("Measured 2 times").click()
    expect(page.locator(".measured-list > li").filter(has_text="counts now")).to_contain_text("By the method")
    assert [row["by_hand"] is None for row in photo_history(served.journal, photo_id)] == [True, False]


def test_going_on_from_what_was_saved_makes_one_correction_of_it(
    measured: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, photo_id = measured
    dot = {"class": "spent", "width": 20, "points": [[500, 400]]}
    first = make(served.journal, "correction", photo_id=photo_id, strokes=[dot], corrected_on="2026-07-02")
    measure_all(served.journal)
    page = open_page(f"{served.address}/#/photos/{photo_id}", DESKTOP)
    page.get_by_role("link", name="Go on correcting by hand").click()
    box = easel_of(page, served, photo_id)
    src = page.locator(".easel .counted").get_attribute("src")
    uncorrected = photo_history(served.journal, photo_id)[0]["by_hand"]["uncorrected_inputs_hash"]
    assert src is not None
    assert src.endswith(uncorrected), "painted over what the method saw, not over what was painted before"
    drag(page, box, (0.4, 0.4), (0.5, 0.4))
    page.get_by_role("button", name="Save the correction").click()
    expect(page.get_by_text("Correction saved.")).to_be_visible()
    (only,) = records(served.journal, "correction")
    assert only.id != first
    assert [stroke["class"] for stroke in only.fields["strokes"]] == ["spent", "bloom"]
    page.goto(f"{served.address}/#/photos/{photo_id}/correct")
    page.get_by_role("button", name="Take all back").click()
    page.get_by_role("button", name="Save the correction").click()
    expect(page.get_by_text("The correction is taken back")).to_be_visible()
    assert records(served.journal, "correction") == []


def test_strokes_lie_where_the_hand_was_at_every_enlargement(
    shared: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, photo_id = shared
    page = open_page(f"{served.address}/#/photos/{photo_id}", DESKTOP)
    box = easel_of(page, served, photo_id)
    drag(page, box, (0.5, 0.5), (0.6, 0.5))
    page.mouse.move(*on_stage(box, (0.5, 0.5)))
    page.mouse.wheel(0, -400)
    drag(page, box, (0.5, 0.5), (0.6, 0.5))
    plain, closer = wait_for_strokes(page, photo_id, 2)
    width, height = (
        records(served.journal, "photo")[0].fields["width"],
        records(served.journal, "photo")[0].fields["height"],
    )
    scale = min(box["width"] / width, box["height"] / height)
    assert plain["points"][0] == pytest.approx([width / 2, height / 2], abs=2 / scale)
    assert plain["points"][-1][0] - plain["points"][0][0] == pytest.approx(0.1 * box["width"] / scale, rel=0.03)
    assert plain["width"] == pytest.approx(28 / scale, rel=0.01)
    assert closer["points"][0] == pytest.approx(plain["points"][0], abs=2 / scale)
    enlarged = plain["width"] / closer["width"]
    assert enlarged > 1.5
    length = [stroke["points"][-1][0] - stroke["points"][0][0] for stroke in (plain, closer)]
    assert length[0] / length[1] == pytest.approx(enlarged, rel=0.03)


def test_one_finger_paints_and_two_move_and_enlarge(shared: tuple[Served, str], open_page: Callable[..., Page]) -> None:
    served, photo_id = shared
    page = open_page(f"{served.address}/#/photos/{photo_id}")
    box = easel_of(page, served, photo_id)
    session = page.context.new_cdp_session(page)
    start, end = on_stage(box, (0.3, 0.5)), on_stage(box, (0.7, 0.5))
    touch(session, "touchStart", start)
    for step in range(1, 9):
        touch(session, "touchMove", (start[0] + (end[0] - start[0]) * step / 8, start[1]))
    expect(page.locator(".paint-loupe")).to_be_visible()
    touch(session, "touchEnd")
    expect(page.locator(".paint-loupe")).to_be_hidden()
    (stroke,) = wait_for_strokes(page, photo_id, 1)
    assert len(stroke["points"]) == 2, "a straight line needs no more points"

    before = page.locator(".easel .sheet").bounding_box()
    middle = on_stage(box, (0.5, 0.5))
    touch(session, "touchStart", (middle[0] - 30, middle[1]))
    touch(session, "touchStart", (middle[0] - 30, middle[1]), (middle[0] + 30, middle[1]))
    for apart in (40, 60, 80, 90):
        touch(session, "touchMove", (middle[0] - apart, middle[1]), (middle[0] + apart, middle[1]))
    touch(session, "touchEnd")
    after = page.locator(".easel .sheet").bounding_box()
    assert before is not None
    assert after is not None
    assert after["width"] / before["width"] == pytest.approx(3, rel=0.05)
    assert page.evaluate("() => scrollY") == 0
    assert len(draft(page, photo_id)) == 1, "fingers that came to enlarge painted nothing"
    page.get_by_role("button", name="All of it").click()
    fitted = page.locator(".easel .sheet").bounding_box()
    assert fitted is not None
    assert fitted["width"] == pytest.approx(before["width"], abs=1)


def test_undo_redo_and_taking_all_back_by_buttons_and_keys(
    shared: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, photo_id = shared
    page = open_page(f"{served.address}/#/photos/{photo_id}", DESKTOP)
    box = easel_of(page, served, photo_id)
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()
    drag(page, box, (0.3, 0.3), (0.4, 0.4))
    drag(page, box, (0.5, 0.3), (0.6, 0.4))
    page.get_by_role("button", name="Undo").click()
    wait_for_strokes(page, photo_id, 1)
    page.locator(".easel").focus()
    page.keyboard.press("Control+y")
    wait_for_strokes(page, photo_id, 2)
    page.get_by_role("button", name="Take all back").click()
    wait_for_strokes(page, photo_id, 0)
    page.get_by_role("button", name="Save the correction").click()
    expect(page.get_by_role("alert")).to_contain_text("Nothing is painted yet")
    page.locator(".easel").focus()
    page.keyboard.press("Control+z")
    wait_for_strokes(page, photo_id, 2)


def test_painted_by_keyboard_alone(shared: tuple[Served, str], open_page: Callable[..., Page]) -> None:
    served, photo_id = shared
    page = open_page(f"{served.address}/#/photos/{photo_id}", DESKTOP)
    easel_of(page, served, photo_id)
    page.locator(".easel").focus()
    page.keyboard.press("3")
    page.keyboard.press("]")
    expect(page.get_by_role("button", name="Spent bloom")).to_have_attribute("aria-pressed", "true")
    expect(page.get_by_role("button", name="Broad")).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("Space")
    for _ in range(3):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowRight")
    (stroke,) = wait_for_strokes(page, photo_id, 1)
    assert stroke["class"] == "spent"
    (x0, y0), *_, (x1, y1) = stroke["points"]
    assert (x1 - x0) / (y1 - y0) == pytest.approx(15, rel=0.02)


def test_what_is_not_saved_is_still_there_after_leaving(
    shared: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, photo_id = shared
    page = open_page(f"{served.address}/#/photos/{photo_id}", DESKTOP)
    box = easel_of(page, served, photo_id)
    drag(page, box, (0.3, 0.3), (0.4, 0.4))
    wait_for_strokes(page, photo_id, 1)
    page.goto(f"{served.address}/#/plantings")
    page.reload()
    easel_of(page, served, photo_id)
    expect(page.get_by_text("it is not saved yet")).to_be_visible()
    page.get_by_role("button", name="Take all back").click()
    wait_for_strokes(page, photo_id, 0)


def test_what_is_painted_is_seen(shared: tuple[Served, str], open_page: Callable[..., Page]) -> None:
    """The canvas shows bloom's yellow where it was painted and nothing elsewhere, during the stroke and after."""
    served, photo_id = shared
    page = open_page(f"{served.address}/#/photos/{photo_id}", DESKTOP)
    box = easel_of(page, served, photo_id)
    seen = """([which, x, y]) => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => {
        const canvas = document.querySelectorAll(".easel > canvas")[which];
        const pen = new OffscreenCanvas(1, 1).getContext("2d");
        pen.drawImage(canvas, canvas.width * x, canvas.height * y, 1, 1, 0, 0, 1, 1);
        done([...pen.getImageData(0, 0, 1, 1).data]);
    })))"""
    page.mouse.move(*on_stage(box, (0.4, 0.2)))
    page.mouse.down()
    page.mouse.move(*on_stage(box, (0.6, 0.2)), steps=5)
    red, _, blue, opacity = page.evaluate(seen, [1, 0.5, 0.2])
    assert opacity == 255
    assert red - blue > 50
    assert page.evaluate(seen, [1, 0.5, 0.8])[3] == 0
    page.mouse.up()
    assert page.evaluate(seen, [1, 0.5, 0.2])[3] == 0, "what is done moves to the canvas of what is done"
    red, _, blue, opacity = page.evaluate(seen, [0, 0.5, 0.2])
    assert (opacity, red - blue > 50) == (255, True)


def test_when_the_record_is_full_it_is_said_before_anything_is_lost(
    measured: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, photo_id = measured
    page = open_page(f"{served.address}/#/photos/{photo_id}", DESKTOP)
    page.evaluate(
        """async ([name]) => {
            const { openDatabase } = await import("/store/database.js");
            const database = await openDatabase();
            const points = Array.from({ length: 700 }, (_, at) => [100.5 + at, 300.5 + (at % 7) * 9]);
            const strokes = Array.from({ length: 19 }, () => ({ class: "foliage", width: 9.5, points }));
            await database.write(["device_values"], ({ device_values }) => device_values.put(strokes, name));
            database.close();
        }""",
        [f"painting of {photo_id}"],
    )
    box = easel_of(page, served, photo_id)
    drag(page, box, (0.3, 0.3), (0.4, 0.4))
    expect(page.get_by_text("One correction holds no more strokes. All that is painted is safe")).to_be_visible()
    assert len(draft(page, photo_id)) == 19
    page.get_by_role("button", name="Save the correction").click()
    expect(page.get_by_text("Correction saved.")).to_be_visible()
    (correction,) = records(served.journal, "correction")
    assert len(correction.fields["strokes"]) == 19


def test_without_a_signal_it_waits_and_is_measured_when_it_has_come(empty: Served, phone: Phone) -> None:
    photo_id = one_measured_photo(empty.journal)
    page = phone.ready_for_the_walk(f"{empty.address}/#/photos/{photo_id}")
    page.get_by_role("button", name="Show what was counted").click()
    page.wait_for_function("() => document.querySelector('.overlay')?.naturalWidth > 0")
    page.get_by_role("link", name="Correct by hand").click()
    expect(page.get_by_role("heading", name="Correct by hand")).to_be_visible()
    page.wait_for_load_state("networkidle")
    empty.stop()
    page.reload()
    box = easel_of(page, empty, photo_id)
    drag(page, box, (0.3, 0.5), (0.7, 0.5))
    page.get_by_role("button", name="Save the correction").click()
    expect(page.locator("#correction-waits")).to_contain_text("saved and waits to be measured", timeout=15_000)
    page.reload()
    expect(page.locator("#correction-waits")).to_be_visible()
    expect(page.get_by_role("link", name="Go on correcting by hand")).to_be_visible()
    assert records(empty.journal, "correction") == []
    empty.start()
    page.reload()
    (correction,) = wait_for_corrections(page, empty, 1)
    assert correction.fields["photo_id"] == photo_id
    measure_all(empty.journal)
    page.reload()
    expect(page.locator("#by-hand")).to_be_visible()
    expect(page.locator("#correction-waits")).to_have_count(0)


def test_without_its_picture_nothing_can_be_painted_and_it_is_said(
    shared: tuple[Served, str], open_page: Callable[..., Page]
) -> None:
    served, photo_id = shared
    page = open_page(f"{served.address}/#/photos/{photo_id}", DESKTOP)
    page.route("**/picture?size=screen", lambda route: route.abort())
    page.goto(f"{served.address}/#/photos/{photo_id}/correct")
    expect(page.get_by_text("The picture of this photo is not on this device")).to_be_visible()
    page.locator(".easel").click()
    assert draft(page, photo_id) == []
