"""A phone of one's own: a browser with a profile on disk, which can be killed and started again."""

from __future__ import annotations

import contextlib
import os
import signal
from pathlib import Path

from browser.serving import PHONE
from playwright.sync_api import BrowserContext, Page, Playwright


class Phone:
    """``page`` is the one tab that is open; ``kill`` ends the browser's processes at once, as a dead battery would."""

    def __init__(self, playwright: Playwright, chromium: str, flags: list[str], profile: Path):
        self._start = lambda: playwright.chromium.launch_persistent_context(
            str(profile), executable_path=chromium, args=flags, viewport=PHONE, has_touch=True, locale="en-GB"
        )
        self._profile = profile
        self.context: BrowserContext
        self.page: Page
        self.start()

    def start(self) -> None:
        self.context = self._start()
        self.context.set_default_timeout(15_000)
        self.page = self.context.pages[0]

    def kill(self) -> None:
        own = f"--user-data-dir={self._profile}".encode()
        for folder in Path("/proc").iterdir():
            if not folder.name.isdigit():
                continue
            with contextlib.suppress(OSError):
                if own in (folder / "cmdline").read_bytes().split(b"\0"):
                    os.kill(int(folder.name), signal.SIGKILL)
        with contextlib.suppress(Exception):
            self.context.close()

    def open(self, address: str, ready: str = "h1") -> Page:
        self.page.goto(address)
        self.page.wait_for_selector(ready)
        return self.page

    def ready_for_the_walk(self, address: str) -> Page:
        """Opens the app and waits until it could do without the server."""
        page = self.open(address)
        page.wait_for_function("() => navigator.serviceWorker?.controller")
        return page
