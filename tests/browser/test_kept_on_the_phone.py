"""What was noted and photographed without the server outlives all that can happen to a phone, and arrives once."""

from __future__ import annotations

import base64
import hashlib
import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browser.phone import Phone
from browser.records import make, make_planting, records
from browser.serving import Served
from made_photos import jpeg
from playwright.sync_api import Page, expect

from journal_server.services.apply_changes import apply_changes
from journal_server.storage.records import all_photo_files

NOTING = """
    const { RecordStore } = await import("/store/record_store.js");
    const { openDatabase, MIGRATIONS, StorageFull } = await import("/store/database.js");
    const { MemoryDatabase } = await import("/store/memory_database.js");
    const { Server } = await import("/sync/server.js");
    const { Journal } = await import("/sync/journal.js");
    const { dropPictures } = await import("/store/picture_cache.js");
    const { newId, derivedId } = await import("/store/ids.js");
    const open = async (server = new Server((...all) => fetch(...all)), database = null) => {
        const journal = new Journal(new RecordStore(), server, database ?? (await openDatabase()),
            { locks: navigator.locks, storage: navigator.storage, Channel: BroadcastChannel, makeRoom: dropPictures });
        await journal.open();
        return journal;
    };
    const bytesOf = (base64) => Uint8Array.from(atob(base64), (c) => c.charCodeAt(0)).buffer;
    const noise = (size) => {
        const bytes = new Uint8Array(size);
        for (let at = 0; at < size; at += 65536) crypto.getRandomValues(bytes.subarray(at, at + 65536));
        return bytes.buffer;
    };
    const photo = (bytes, more = {}) => ({ bytes, mime: "image/jpeg", fileName: "walk.jpg", how: "viewfinder",
        takenAt: "2026-06-12T10:14:03+02:00", ...more });
"""


def in_page(page: Page, script: str, given: Any = None) -> Any:
    """Runs a script that has the parts under the screens at hand, and ``given``."""
    return page.evaluate(f"async (given) => {{ {NOTING} {script} }}", given)


def without_a_signal(page: Page) -> None:
    """From here on the page has no network; what it loads after the first screen has come by then."""
    in_page(page, "")
    page.wait_for_load_state("networkidle")
    page.context.set_offline(True)


def expect_everything_sent(page: Page) -> None:
    left = """async () => {
        const { openDatabase } = await import("/store/database.js");
        const database = await openDatabase();
        const keys = await database.read(["outbox"], ({ outbox }) => outbox.keys());
        database.close();
        return keys.length;
    }"""
    until = time.monotonic() + 20
    while (waiting := page.evaluate(left)) and time.monotonic() < until:
        page.wait_for_timeout(100)
    assert waiting == 0
    expect(page.get_by_role("link", name="Everything sent")).to_be_visible()


def base64_photos(count: int) -> tuple[list[str], set[str]]:
    made = [jpeg(seed=seed) for seed in range(count)]
    return [base64.b64encode(one).decode() for one in made], {hashlib.sha256(one).hexdigest() for one in made}


def hashes(served: Served) -> list[str]:
    with served.journal.database.reading() as session:
        return sorted(file.sha256 for file in all_photo_files(session))


def file_bytes(served: Served) -> dict[str, str]:
    """The hash of each original as it lies on the server's disk, by its name."""
    folder: Path = served.journal.folder / "originals"
    return {
        file.stem: hashlib.sha256(file.read_bytes()).hexdigest() for file in folder.rglob("*") if file.suffix == ".jpg"
    }


def set_up_trial(served: Served) -> tuple[str, str]:
    trial_id = make(served.journal, "trial", title="Terrace", year=2026)
    return trial_id, make_planting(served.journal, trial_id, "Plum Gaslight")


WALK = """
    const [trialId, plantingId, photos] = given;
    const journal = await open();
    const walkId = derivedId("walk", trialId, "2026-06-12");
    const visitId = derivedId("visit", walkId, plantingId);
    await journal.note([{ kind: "walk", id: walkId, fields: { trial_id: trialId, walked_on: "2026-06-12" } }]);
    await journal.note([{ kind: "visit", id: visitId, fields: { trial_id: trialId, walk_id: walkId,
        planting_id: plantingId, visited_on: "2026-06-12" } }]);
    for (const one of photos) await journal.addPhoto(photo(bytesOf(one), { visitId, plantingId }));
    await journal.note([{ kind: "finding", id: newId(), fields: { visit_id: visitId, planting_id: plantingId,
        found_on: "2026-06-12", what: "dry" } }]);
    await journal.note([{ kind: "visit", id: visitId, fields: { done: true, remark: "Looks well." } }]);
    return journal.queue.state.waiting;
"""


def test_a_walk_without_the_server_outlives_a_killed_browser_and_arrives_once(empty: Served, phone: Phone) -> None:
    trial_id, planting_id = set_up_trial(empty)
    photos, expected = base64_photos(3)
    page = phone.ready_for_the_walk(empty.address)
    empty.stop()
    page.reload()
    expect(page.get_by_role("link", name="No signal")).to_be_visible()
    assert in_page(page, WALK, [trial_id, planting_id, photos]) == 7
    phone.kill()
    phone.start()
    page = phone.open(f"{empty.address}/#/waiting")
    expect(page.get_by_role("link", name="No signal · 7 waiting")).to_be_visible()
    expect(page.locator(".waiting-rows img")).to_have_count(3)
    expect(page.locator(".waiting-rows")).to_contain_text("Photo: Plum Gaslight")
    empty.start()
    page.get_by_role("button", name="Send now").click()
    expect_everything_sent(page)
    assert hashes(empty) == sorted(expected)
    assert file_bytes(empty) == {sha256: sha256 for sha256 in expected}
    (visit,) = records(empty.journal, "visit")
    assert (visit.fields["done"], visit.fields["remark"]) == (True, "Looks well.")
    assert len(records(empty.journal, "finding")) == 1
    assert {one.fields["visit_id"] for one in records(empty.journal, "photo")} == {visit.id}
    left = in_page(page, "return (await open()).queue.entries.length;")
    assert left == 0


def test_a_full_phone_gives_up_pictures_first_then_says_so_and_goes_on(empty: Served, phone: Phone) -> None:
    devtools = phone.context.new_cdp_session(phone.page)
    # Before the browser first looks: it remembers for half a minute how much room there was.
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": empty.address, "quotaSize": 5_000_000})
    phone.page.goto(f"{empty.address}/manifest.webmanifest")
    in_page(phone.page, "await (await caches.open('pictures')).put('/kept', new Response(noise(2_500_000)));")
    page = phone.ready_for_the_walk(empty.address)
    empty.stop()
    first, second, pictures_left, is_full, said, kept = in_page(
        page,
        """const journal = await open();
        const first = await journal.addPhoto(photo(noise(40_000)));
        const second = await journal.addPhoto(photo(noise(2_500_000)));
        const picturesLeft = await caches.has("pictures");
        const problem = await journal.addPhoto(photo(noise(3_000_000))).catch((caught) => caught);
        const again = await open();
        return [first, second, picturesLeft, problem instanceof StorageFull, problem.message,
            again.queue.entries.map(({ id }) => id)];""",
    )
    assert not pictures_left
    assert is_full, kept
    assert said.startswith("This device is full")
    assert kept == [first, second]
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": empty.address})
    assert len(in_page(page, "return (await open()).addPhoto(photo(noise(3_000_000)));")) == 36


def test_an_empty_capture_is_refused_in_words_and_leaves_nothing(empty: Served, open_page: Callable[..., Page]) -> None:
    said, waiting = in_page(
        open_page(empty.address),
        """const journal = await open();
        const problem = await journal.addPhoto(photo(new ArrayBuffer(0))).catch((caught) => caught);
        return [problem.message, journal.queue.entries.length];""",
    )
    assert "0 bytes" in said
    assert waiting == 0


def test_the_queue_outlives_a_new_schema_and_an_old_tab_makes_way(
    empty: Served, open_page: Callable[..., Page]
) -> None:
    kept, old_tab, downgrade = in_page(
        open_page(empty.address),
        """const cut = new Server(() => Promise.reject(new TypeError("network")));
        const name = "schema test";
        const journal = await open(cut, await openDatabase({ name }));
        await journal.note([{ kind: "trial", id: newId(), fields: { title: "kept", year: 2026 } }]);
        const id = await journal.addPhoto(photo(new Uint8Array([1, 2, 3]).buffer));
        const migrations = [...MIGRATIONS, (db, transaction) => {
            db.createObjectStore("added");
            transaction.objectStore("outbox").createIndex("at", "at");
        }];
        const newer = await openDatabase({ name, migrations });
        const after = await open(cut, newer);
        const bytes = new Uint8Array((await newer.read(["waiting_files"],
            ({ waiting_files }) => waiting_files.get(id))).bytes);
        const late = { kind: "trial", id: newId(), fields: {} };
        const oldTab = await journal.note([late]).catch((caught) => caught.message);
        const downgrade = await openDatabase({ name }).catch((caught) => caught.message);
        return [[after.queue.entries.map(({ kind }) => kind), [...bytes]], oldTab, downgrade];""",
    )
    assert kept == [["changes", "photo"], [1, 2, 3]]
    assert old_tab.startswith("A newer version of the journal is open")
    assert downgrade.startswith("A newer version of the journal is open")


def test_a_transaction_that_fails_half_way_leaves_nothing(empty: Served, open_page: Callable[..., Page]) -> None:
    left = in_page(
        open_page(empty.address),
        """const database = await openDatabase({ name: "half way" });
        const problem = await database.write(["outbox", "device_values"], async ({ outbox, device_values }) => {
            await device_values.put(1, "first");
            await outbox.put({ key: () => "a function cannot be stored" });
        }).catch((caught) => caught);
        return [problem.name, (await database.read(["device_values"], (t) => t.device_values.keys())).length];""",
    )
    assert left == ["DataCloneError", 0]


def test_two_tabs_see_each_others_notes_and_send_each_once(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id, planting_id = set_up_trial(empty)
    first = open_page(empty.address)
    second = first.context.new_page()
    second.goto(f"{empty.address}/#/waiting")
    second.wait_for_selector("h1")
    sent: list[str] = []
    first.context.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    first.context.route("**/api/changes*", lambda route: route.abort())
    photos, expected = base64_photos(2)
    assert in_page(first, WALK, [trial_id, planting_id, photos]) == 6
    expect(second.get_by_role("link", name="6 waiting")).to_be_visible()
    first.context.unroute("**/api/changes*")
    for page in (first, second):
        page.evaluate("dispatchEvent(new Event('online'))")
    for page in (first, second):
        expect_everything_sent(page)
    assert hashes(empty) == sorted(expected)
    assert sum(url.endswith("/api/photos") for url in sent) == 2


def test_two_people_change_one_field_and_choose(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    ann, ben = open_page(empty.address), open_page(f"{empty.address}/#/waiting")
    ben.context.route("**/api/changes*", lambda route: route.abort())
    edit = """const journal = await open();
        await journal.note([{ kind: "trial", id: given[0], fields: { title: given[1], ...given[2] } }]);"""
    in_page(ben, edit, [trial_id, "Ben’s", {"site": "North"}])
    in_page(ann, edit, [trial_id, "Ann’s", {"note": "By Ann"}])
    expect_everything_sent(ann)
    ben.context.unroute("**/api/changes*")
    ben.get_by_role("button", name="Send now").click()
    expect(ben.get_by_role("link", name="1 to look at", exact=True)).to_be_visible()
    expect(ben.locator(".conflict")).to_contain_text("Title of the trial")
    expect(ben.locator(".side .said")).to_have_text(["Ben’s", "Ann’s"])
    (trial,) = records(empty.journal, "trial")
    assert (trial.fields["title"], trial.fields["site"], trial.fields["note"]) == ("Ann’s", "North", "By Ann")
    ben.reload()
    ben.get_by_role("button", name="Keep yours").click()
    expect(ben.locator(".conflict")).to_have_count(0)
    expect_everything_sent(ben)
    assert records(empty.journal, "trial")[0].fields["title"] == "Ben’s"


def test_what_waits_is_told_by_the_phones_own_clock(empty: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/waiting", timezone_id="Asia/Kolkata")
    without_a_signal(page)
    in_page(page, "await (await open()).note([{ kind: 'trial', id: newId(), fields: { title: 'Roof', year: 2026 } }]);")
    expect(page.get_by_text("1 thing waits on this device. It goes by itself")).to_be_visible()
    expect(page.locator(".waiting-rows")).to_contain_text(re.compile(r"Trial: Roof, .*, UTC\+05:30"))


def test_what_the_journal_refuses_waits_for_a_decision_and_keeps_nothing_back(
    empty: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page(f"{empty.address}/#/waiting")
    photos, expected = base64_photos(1)
    in_page(
        page,
        """const journal = await open();
        await journal.note([{ kind: "trial", id: newId(), fields: { title: "No year" } }]);
        await journal.addPhoto(photo(new TextEncoder().encode("no photo at all").buffer));
        await journal.addPhoto(photo(bytesOf(given[0])));
        await journal.note([{ kind: "trial", id: newId(), fields: { title: "Good", year: 2026 } }]);""",
        photos,
    )
    expect(page.get_by_role("link", name="2 to look at", exact=True)).to_be_visible()
    assert hashes(empty) == sorted(expected)
    assert [trial.fields["title"] for trial in records(empty.journal, "trial")] == ["Good"]
    expect(page.locator(".attention")).to_have_count(2)
    page.get_by_role("button", name="Try again: Photo").click()
    expect(page.locator(".attention")).to_have_count(2)
    for left in (1, 0):
        page.get_by_role("button", name="Throw away").first.click()
        page.get_by_role("dialog").get_by_role("button", name="Throw away").click()
        expect(page.locator(".attention")).to_have_count(left)
    expect_everything_sent(page)


def test_what_was_noted_of_a_planting_deleted_elsewhere_is_named(empty: Served, open_page: Callable[..., Page]) -> None:
    trial_id = make(empty.journal, "trial", title="Terrace", year=2026)
    planting_id = make_planting(empty.journal, trial_id, "Plum")
    page = open_page(f"{empty.address}/#/waiting")
    expect_everything_sent(page)
    without_a_signal(page)
    fields = {"trial_id": trial_id, "planting_id": planting_id, "action": "watered", "done_on": "2026-06-12"}
    in_page(page, "await (await open()).note([{ kind: 'care', id: newId(), fields: given }]);", fields)
    apply_changes(empty.journal, [{"kind": "planting", "id": planting_id, "delete": True}])
    page.context.set_offline(False)
    page.get_by_role("button", name="Send now").click()
    expect(page.locator(".attention b")).to_have_text(re.compile("^Care “watered”: Plum, "))
    expect(page.locator(".attention .signal")).to_contain_text("deleted meanwhile")


def test_a_phone_that_is_not_let_in_keeps_everything(empty: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(f"{empty.address}/#/waiting")
    refusal = '{"error": {"message": "Pair first.", "field": null, "kind": "NotPaired", "details": {}}}'
    page.context.route("**/api/**", lambda route: route.fulfill(status=401, body=refusal))
    in_page(page, "await (await open()).note([{ kind: 'trial', id: newId(), fields: { title: 'T', year: 2026 } }]);")
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.get_by_role("link", name="Not paired · 1 waiting")).to_be_visible()
    expect(page.get_by_role("link", name="Pair this phone")).to_have_attribute("href", "#/pair")
    page.context.unroute("**/api/**")
    page.get_by_role("button", name="Send now").click()
    expect_everything_sent(page)
    assert len(records(empty.journal, "trial")) == 1


def test_a_clock_that_is_a_day_off_is_told(empty: Served, open_page: Callable[..., Page]) -> None:
    page = open_page(empty.address)
    page.add_init_script("const now = Date.now; Date.now = () => now() + 86400000;")
    page.goto(f"{empty.address}/?clock#/waiting")
    expect(page.get_by_text("This device’s clock is 24 hours ahead")).to_be_visible()


def test_a_window_that_keeps_nothing_works_while_the_server_answers(
    empty: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page("about:blank", heading=None)
    page.add_init_script("Object.defineProperty(globalThis, 'indexedDB', { value: undefined });")
    page.goto(f"{empty.address}/#/set-up/trials/new")
    page.get_by_label("Title").fill("Terrace")
    page.get_by_role("button", name="Add the trial").click()
    expect(page.get_by_role("heading", name="Terrace")).to_be_visible()
    assert len(records(empty.journal, "trial")) == 1
    page.get_by_role("link", name="Nothing is kept in this window").click()
    expect(page.get_by_text("lost when the window is closed")).to_be_visible()


PLAIN_HTTP = """
    Object.defineProperty(globalThis, "isSecureContext", { value: false });
    Object.defineProperty(Navigator.prototype, "serviceWorker", { value: undefined });
    Object.defineProperty(Navigator.prototype, "locks", { value: undefined });
    Object.defineProperty(Navigator.prototype, "storage", { value: undefined });
    Object.defineProperty(Crypto.prototype, "subtle", { value: undefined });
    Object.defineProperty(globalThis, "caches", { value: undefined });
"""
"""Takes away what browsers give to secure addresses only; a test server has no other address that is not secure."""


def test_on_plain_http_it_is_said_what_does_not_work_and_the_rest_does(
    empty: Served, open_page: Callable[..., Page]
) -> None:
    page = open_page("about:blank", heading=None)
    page.add_init_script(PLAIN_HTTP)
    page.goto(f"{empty.address}/#/waiting")
    expect(page.get_by_text("This address is not secure (http)")).to_be_visible()
    photos, expected = base64_photos(1)
    in_page(page, "await (await open()).addPhoto(photo(bytesOf(given[0])));", photos)
    expect_everything_sent(page)
    assert hashes(empty) == sorted(expected)


@pytest.mark.parametrize("waits", [False, True])
def test_another_journal_at_the_same_address_is_noticed(
    empty: Served, open_page: Callable[..., Page], waits: bool
) -> None:
    make(empty.journal, "trial", title="Here", year=2026)
    page = open_page(f"{empty.address}/#/waiting")
    in_page(
        page,
        """const cut = new Server(() => Promise.reject(new TypeError("network")));
        const database = await openDatabase();
        await database.write(["facts"], ({ facts }) => facts.put({ journal: "other", feed: "other" }, "source"));
        const journal = await open(cut);
        journal.store.receive([{ kind: "trial", id: "old", seq: 9, version: 1, deleted: false, fields: {} }]);
        if (given) await journal.note([{ kind: "trial", id: newId(), fields: { title: "Old", year: 2026 } }]);""",
        waits,
    )
    page.reload()
    if waits:
        expect(page.get_by_role("link", name="Another journal · 1 waiting")).to_be_visible()
        assert [trial.fields["title"] for trial in records(empty.journal, "trial")] == ["Here"]
        page.get_by_role("button", name="Throw it away and open this journal").click()
        page.get_by_role("dialog").get_by_role("button", name="Throw away and open").click()
    expect_everything_sent(page)
    titles = "return (await open()).store.all('trial').map(({ fields }) => fields.title).join();"
    until = time.monotonic() + 15
    while in_page(page, titles) != "Here" and time.monotonic() < until:
        page.wait_for_timeout(100)
    assert in_page(page, titles) == "Here"
