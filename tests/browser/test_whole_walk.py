"""A whole walk without a signal: eight plantings, sixteen photos, remarks, care, sound; the browser killed half way.

First visit online; then the network is off and the server stopped, the page is loaded anew, the walk begins, the
browser's processes are killed in the middle of the fifth planting and started again, the walk goes on, and the server
comes back. Everything that the phone kept must then be on the server once, byte for byte.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from browser.conftest import FLAGS
from browser.kill_during_sync import records_of
from browser.phone import Phone
from browser.records import make, make_planting
from browser.served_process import ServedProcess
from made_photos import jpeg
from playwright.sync_api import Page, Playwright, expect

from journal_server.services.journal import open_journal

NAMES = ("Plum", "Ember", "Slate", "Fawn", "Moss", "Dusk", "Coral", "Flint")
KILLED_AT = 4
CAMERA = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]

KEPT = """async () => {
    const { openDatabase } = await import("/store/database.js");
    const database = await openDatabase();
    const files = await database.read(["waiting_files"], ({ waiting_files }) => waiting_files.all());
    database.close();
    const hex = async (bytes) => [...new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))]
        .map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return Promise.all(files.map(async ({ id, bytes }) => [id, await hex(bytes)]));
}"""


@dataclass
class Garden:
    served: ServedProcess
    phone: Phone


@pytest.fixture
def garden(tmp_path: Path, playwright_driver: Playwright, chromium: str) -> Iterator[Garden]:
    with contextlib.closing(open_journal(tmp_path / "journal")) as journal:
        trial_id = make(journal, "trial", title="Terrace", year=2026)
        for name in NAMES:
            make_planting(journal, trial_id, name, plants=5)
    served = ServedProcess(tmp_path / "journal")
    phone = Phone(playwright_driver, chromium, [*FLAGS, *CAMERA], tmp_path / "profile")
    try:
        served.start()
        yield Garden(served, phone)
    finally:
        phone.kill()
        served.close()


def without_a_signal(garden: Garden) -> Page:
    """The walk as the phone shows it with neither network nor server."""
    garden.phone.context.set_offline(True)
    page = garden.phone.open(f"{garden.served.address}/#/walk")
    expect(page.locator(".stop")).to_have_count(len(NAMES))
    return page


def visit(page: Page, number: int, photos_before: int = 0) -> None:
    """Two photos, one of each way, a finding, a rating, care; here and there a remark, written or spoken."""
    expect(page.get_by_role("heading", name=f"Trough of {NAMES[number]}")).to_be_visible()
    if photos_before == 0:
        page.click("#shutter")
        expect(page.locator(".taken-strip li")).to_have_count(1)
    chosen = {"name": f"IMG_{number}.jpg", "mimeType": "image/jpeg", "buffer": jpeg(seed=number)}
    page.locator("#own-camera").set_input_files(chosen)
    expect(page.locator(".taken-strip li")).to_have_count(2)
    page.click("#finding-dry")
    page.click("#rate-overall-4")
    page.click("#care-watered")
    if number == 1:
        page.click("#record")
        expect(page.get_by_role("timer")).to_contain_text("Recording: 1 s")
        page.click("#stop-recording")
        expect(page.locator(".recording")).to_have_count(1)
    if number == 2:
        page.get_by_label("In writing").fill("buds holed at the left end")


def test_a_whole_walk_without_a_signal_and_with_a_dead_battery_arrives_once(garden: Garden) -> None:
    garden.phone.ready_for_the_walk(f"{garden.served.address}/#/walk")
    garden.served.kill()
    page = without_a_signal(garden)
    page.reload()
    page.click("#onward")
    for number in range(KILLED_AT):
        visit(page, number)
        page.click("#next")
    page.click("#shutter")
    expect(page.locator(".taken-strip li")).to_have_count(1)
    before = dict(page.evaluate(KEPT))
    garden.phone.kill()

    garden.phone.start()
    page = without_a_signal(garden)
    expect(page.locator(".stop .state", has_text="done")).to_have_count(KILLED_AT)
    assert dict(page.evaluate(KEPT)) == before
    page.locator(".stop").nth(KILLED_AT).click()
    visit(page, KILLED_AT, photos_before=1)
    for number in range(KILLED_AT + 1, len(NAMES)):
        page.click("#next")
        visit(page, number)
    page.click("#to-list")
    kept = dict(page.evaluate(KEPT))
    assert len(kept) == 17
    garden.served.start()
    garden.phone.context.set_offline(False)
    page.evaluate("() => dispatchEvent(new Event('online'))")
    expect(page.locator(".waiting-line")).to_have_text("Everything sent", timeout=60_000)
    assert page.evaluate(KEPT) == []
    compare(garden.served, kept)


def compare(served: ServedProcess, kept: dict[str, str]) -> None:
    """All that the phone kept is on the server once, under the same id, with the same bytes."""
    found: dict[str, list[dict[str, Any]]] = {}
    for record in records_of(served):
        found.setdefault(record["kind"], []).append(record)
    arrived = found["photo"] + found["recording"]
    assert {record["id"]: record["fields"]["sha256"] for record in arrived} == kept
    files = [file for folder in ("originals", "recordings") for file in (served.folder / folder).rglob("*.*")]
    assert Counter(hashlib.sha256(file.read_bytes()).hexdigest() for file in files) == Counter(kept.values())
    counts = {kind: len(found[kind]) for kind in ("walk", "visit", "finding", "rating", "care", "photo", "recording")}
    n = len(NAMES)
    assert counts == {"walk": 1, "visit": n, "finding": n, "rating": n, "care": n, "photo": 2 * n, "recording": 1}
    assert {record["fields"]["how"] for record in found["photo"]} == {"viewfinder", "phone camera"}
    per_visit = Counter(record["fields"]["visit_id"] for record in found["photo"])
    assert set(per_visit) == {record["id"] for record in found["visit"]}
    assert set(per_visit.values()) == {2}
    remarks = [record["fields"]["remark"] for record in found["visit"] if record["fields"]["remark"]]
    assert remarks == ["buds holed at the left end"]
