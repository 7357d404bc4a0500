"""The app opens without the server, brings pictures ahead, and is updated without losing what waits."""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from browser.phone import Phone
from browser.serving import Served
from browser.test_kept_on_the_phone import expect_everything_sent, in_page
from playwright.sync_api import Page, expect

from journal_server.api.shell import shell_files
from journal_server.packaged import packaged_folder


def test_every_file_that_the_app_asks_for_is_in_the_shell(season: Served, phone: Phone) -> None:
    asked: set[str] = set()
    phone.context.on("request", lambda request: asked.add(urlsplit(request.url).path))
    page = phone.ready_for_the_walk(season.address)
    for address in ("#/waiting", "#/plantings", "#/season", "#/set-up", "#/walk", "#/photos/in"):
        page.goto(f"{season.address}/{address}")
        page.wait_for_load_state("networkidle")
    own = {path for path in asked if not path.startswith(("/api/", "/service_worker")) and path != "/favicon.ico"}
    assert len(own) > 60
    assert own <= set(shell_files(packaged_folder("web")))


def test_without_the_server_the_season_can_be_looked_at(season: Served, phone: Phone) -> None:
    page = phone.ready_for_the_walk(f"{season.address}/#/season")
    page.reload()
    expect(page.locator("main svg").first).to_be_visible()
    page.goto(f"{season.address}/#/plantings")
    wait_for_pictures(page, 8)
    phone.context.set_offline(True)
    page.reload()
    expect(page.get_by_role("heading", name="Plantings")).to_be_visible()
    expect(page.get_by_role("link", name="No signal")).to_be_visible()
    page.wait_for_function(
        """() => {
            const loaded = [...document.querySelectorAll("main img")].filter((one) => one.complete);
            return loaded.length && loaded.every((one) => one.naturalWidth);
        }"""
    )
    page.locator("nav").get_by_role("link", name="Season").click()
    expect(page.locator("main svg").first).to_be_visible()


def wait_for_pictures(page: Page, of_each_size: int) -> None:
    """Until so many pictures of each size are kept on the phone; they come when the page is idle."""
    kept = """async () => {
        const kept = (await (await caches.open("pictures")).keys()).map(({ url }) => url);
        return Math.min(...["thumb", "screen"].map((size) => kept.filter((url) => url.includes(size)).length));
    }"""
    until = time.monotonic() + 30
    while page.evaluate(kept) < of_each_size:
        assert time.monotonic() < until, "the pictures were not brought ahead"
        page.wait_for_timeout(100)


@pytest.fixture
def web(empty: Served, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the web folder that is served instead, so that a test can update the app."""
    copy = tmp_path / "web"
    shutil.copytree(packaged_folder("web"), copy)
    for user in ("journal_server.app", "journal_server.api.shell"):
        monkeypatch.setattr(f"{user}.packaged_folder", lambda name: copy)
    empty.stop()
    empty.start()
    return copy


def update(web: Path, title: str) -> None:
    file = web / "screens/waiting.js"
    file.write_text(file.read_text(encoding="utf-8").replace('"What waits"', f'"What waits {title}"'), encoding="utf-8")


def look_for_update(page: Page) -> None:
    page.evaluate("async () => void (await (await navigator.serviceWorker.ready).update())")


def test_an_update_waits_for_the_person_and_loses_nothing(empty: Served, web: Path, phone: Phone) -> None:
    page = phone.ready_for_the_walk(f"{empty.address}/#/waiting")
    phone.context.route("**/api/**", lambda route: route.abort())
    note = "await (await open()).note([{ kind: 'trial', id: newId(), fields: { title: given, year: 2026 } }]);"
    in_page(page, note, "Before the update")
    update(web, "by the new version")
    look_for_update(page)
    expect(page.get_by_text("A new version is ready")).to_be_visible()
    expect(page.get_by_role("heading", name="What waits", exact=True)).to_be_visible()
    page.get_by_role("button", name="Use the new version").click()
    expect(page.get_by_role("heading", name="What waits by the new version")).to_be_visible()
    expect(page.locator(".waiting-rows li")).to_have_count(1)
    phone.context.unroute("**/api/**")
    page.get_by_role("button", name="Send now").click()
    expect_everything_sent(page)
    assert page.evaluate("async () => (await caches.keys()).filter((name) => name.startsWith('shell')).length") == 1


def test_a_half_updated_server_never_mixes_versions(empty: Served, web: Path, phone: Phone) -> None:
    page = phone.ready_for_the_walk(f"{empty.address}/#/waiting")
    phone.context.route(
        "**/words.js", lambda route: route.fulfill(body="// of another version", content_type="text/javascript")
    )
    update(web, "half")
    page.evaluate(
        """async () => {
            const registration = await navigator.serviceWorker.ready;
            const found = new Promise((done) => registration.addEventListener("updatefound", () =>
                registration.installing.addEventListener("statechange", ({ target }) => done(target.state))));
            await registration.update().catch(() => {});
            return found;
        }"""
    )
    assert page.evaluate("async () => (await navigator.serviceWorker.ready).waiting") is None
    page.reload()
    expect(page.get_by_role("heading", name="Waiting")).to_be_visible()
    expect(page.get_by_text("A new version is ready")).to_have_count(0)
