"""A real server on a free port and a real Chromium; every page is watched for errors that nobody would see."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from browser.phone import Phone
from browser.serving import PHONE, Served, serve
from playwright.sync_api import Browser, ConsoleMessage, Page, Playwright, sync_playwright

from journal_server.packaged import packaged_folder
from journal_server.services.demo import fill_demo
from journal_server.services.journal import open_journal
from journal_server.services.measuring import MeasuringRoom

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
SEASON_PLANTING = "p3"
"""Of this planting all sample photos are taken in; of the others only those that frames are drawn on."""
WALK_WITH_A_SUGGESTION = ("p5_2026-08-09.jpg", "p6_2026-08-09.jpg", "p7_2026-08-09.jpg")
"""The middle one shows no readable card and waits in the tray."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the browser."""
    path = next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
    if path is None:
        reason = f"no Chromium on this machine (looked for {', '.join(CHROMIUM_NAMES)})"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return path


@pytest.fixture(scope="session")
def playwright_driver() -> Iterator[Playwright]:
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def browser(playwright_driver: Playwright, chromium: str) -> Iterator[Browser]:
    started = playwright_driver.chromium.launch(executable_path=chromium, args=FLAGS)
    yield started
    started.close()


@pytest.fixture
def phone(playwright_driver: Playwright, chromium: str, tmp_path: Path) -> Iterator[Phone]:
    """A browser with a profile of its own that outlives its being killed."""
    made = Phone(playwright_driver, chromium, FLAGS, tmp_path / "profile")
    yield made
    made.kill()


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Served]:
    """A fresh journal with nothing in it."""
    with contextlib.closing(open_journal(tmp_path / "journal")) as journal:
        journal.change_settings({"time_zone": "Europe/Paris"})
        with serve(journal) as served:
            yield served


@pytest.fixture(scope="session")
def season(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The sample trial with some of its photos, measured; tests that change it put it back."""
    with _measured_season(tmp_path_factory.mktemp("season")) as served:
        yield served


@pytest.fixture
def untouched_season(tmp_path: Path) -> Iterator[Served]:
    """The same, made for one test alone: nothing else waits in it."""
    with _measured_season(tmp_path) as served:
        yield served


@contextlib.contextmanager
def _measured_season(folder: Path) -> Iterator[Served]:
    with contextlib.closing(open_journal(folder / "journal")) as journal:
        fill_demo(journal, _some_sample_photos(folder / "photos"))
        MeasuringRoom(journal).run_until_done()
        with serve(journal) as served:
            yield served


def _some_sample_photos(target: Path) -> Path:
    target.mkdir()
    for file in packaged_folder("sample_photos").iterdir():
        if file.suffix != ".jpg" or file.stem.startswith(SEASON_PLANTING) or file.name in WALK_WITH_A_SUGGESTION:
            shutil.copy(file, target / file.name)
    for name in _photos_with_frames(target):
        shutil.copy(packaged_folder("sample_photos") / name, target / name)
    return target


def _photos_with_frames(folder: Path) -> list[str]:
    trial = json.loads((folder / "season.json").read_text(encoding="utf-8"))
    return [planting["frame"]["photo"] for planting in trial["plantings"]]


def _is_answer_in_words(message: ConsoleMessage) -> bool:
    """The browser's own note that a call of the API was refused or did not arrive: the screen says it in words."""
    return message.text.startswith("Failed to load resource") and "/api/" in message.location["url"]


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Opens pages; at the end none of them may have logged an error (broken security policy included)."""
    problems: list[str] = []
    contexts: list[Any] = []

    def note(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and not _is_answer_in_words(message):
            problems.append(f"{message.type}: {message.text}")

    def opened(address: str, viewport: dict[str, int] = PHONE, heading: str | None = "h1", **more: Any) -> Page:
        context = browser.new_context(viewport=viewport, has_touch=viewport is PHONE, locale="en-GB", **more)
        context.set_default_timeout(10_000)
        contexts.append(context)
        page = context.new_page()
        page.on("console", note)
        page.on("pageerror", lambda error: problems.append(f"thrown: {error}"))
        page.goto(address)
        if heading:
            page.wait_for_selector(heading)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert problems == []
