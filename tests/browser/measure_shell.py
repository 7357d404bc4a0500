"""How large the app is and how quickly it starts and syncs on a slowed-down phone.

    PYTHONPATH=tests python -m browser.measure_shell

A journal of one season (200 plantings, 7 walks, some 5,000 records) is served; Chromium's processor is slowed down four
times. Times are medians of nine starts and the fastest, from the beginning of the navigation until the screen's
heading stands there. Other work on the machine counts in them: its load is printed.
"""

from __future__ import annotations

import contextlib
import gzip
import os
import shutil
import statistics
import sys
import tempfile
from pathlib import Path
from urllib.parse import urlsplit

from big_journal import fill_big_journal
from browser.conftest import CHROMIUM_NAMES, FLAGS
from browser.phone import Phone
from browser.serving import Served, serve
from playwright.sync_api import CDPSession, sync_playwright

from journal_server.api.shell import shell_files
from journal_server.packaged import packaged_folder
from journal_server.services.journal import open_journal

SLOWER = 4
STARTS = 9
PLANTINGS, WALKS = 200, 7

WATCH_FOR_HEADING = """
    globalThis.started = new Promise((done) => {
        const look = () => document.querySelector("main h1") && done(performance.now());
        new MutationObserver(look).observe(document, { childList: true, subtree: true });
    });
"""

FIRST_SYNC = """async () => {
    const { RecordStore } = await import("/store/record_store.js");
    const { openDatabase } = await import("/store/database.js");
    const { Server } = await import("/sync/server.js");
    const { Journal } = await import("/sync/journal.js");
    const open = async () => new Journal(new RecordStore(), new Server((...all) => fetch(...all)),
        await openDatabase({ name: "measured" }));
    const first = await open();
    const began = performance.now();
    await first.pull();
    const pulled = performance.now();
    const again = await open();
    const reopened = performance.now();
    await again.open();
    const kinds = ["trial", "planter", "cultivar", "planting", "photo", "measurement", "frame", "care", "weather"];
    const count = kinds.reduce((sum, kind) => sum + again.store.all(kind).length, 0);
    return { count, pullMs: pulled - began, openMs: performance.now() - reopened };
}"""


def gzipped_kb(addresses: set[str]) -> float:
    web = packaged_folder("web")
    files = [web / ("index.html" if address == "/" else address.lstrip("/")) for address in addresses]
    return sum(len(gzip.compress(file.read_bytes())) for file in files) / 1000


def first_use(phone: Phone, served: Served) -> set[str]:
    """The addresses that the first screen asks for, on a first visit."""
    asked: set[str] = set()
    note = lambda request: asked.add(urlsplit(request.url).path)  # noqa: E731
    phone.page.on("request", note)
    phone.open(f"{served.address}/")
    phone.page.remove_listener("request", note)
    return asked & set(shell_files(packaged_folder("web")))


def start_ms(phone: Phone, address: str) -> tuple[float, float]:
    """The median and the fastest. Loaded anew each time: from another page, so that nothing is left in memory."""
    times = []
    for _ in range(STARTS):
        phone.page.goto("about:blank")
        phone.page.goto(address)
        times.append(phone.page.evaluate("() => globalThis.started"))
    return statistics.median(times), min(times)


def slow_down(devtools: CDPSession, rate: int) -> None:
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": rate})


def main() -> int:
    chromium = next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
    if chromium is None:
        print("There is no Chromium on this machine.", file=sys.stderr)
        return 2
    with (
        tempfile.TemporaryDirectory() as scratch,
        contextlib.closing(open_journal(Path(scratch) / "journal")) as journal,
        sync_playwright() as playwright,
    ):
        fill_big_journal(journal, seasons=1, plantings=PLANTINGS, walks=WALKS)
        with serve(journal) as served:
            phone = Phone(playwright, chromium, FLAGS, Path(scratch) / "profile")
            try:
                measure(phone, served)
            finally:
                phone.kill()
    return 0


def measure(phone: Phone, served: Served) -> None:
    phone.context.set_default_timeout(120_000)
    everything = set(shell_files(packaged_folder("web")))
    asked = first_use(phone, served)
    print(f"first use: {len(asked)} files, {gzipped_kb(asked):.1f} kB gzipped; all {gzipped_kb(everything):.1f} kB")
    phone.page.wait_for_function("() => navigator.serviceWorker.controller")
    phone.page.add_init_script(WATCH_FOR_HEADING)
    devtools = phone.context.new_cdp_session(phone.page)
    for rate in (1, SLOWER):
        slow_down(devtools, rate)
        sync = phone.page.evaluate(FIRST_SYNC)
        phone.page.evaluate("() => new Promise((done) => { indexedDB.deleteDatabase('measured').onsuccess = done; })")
        pulled, opened = f"{sync['pullMs']:.0f} ms", f"{sync['openMs']:.0f} ms"
        print(f"{rate}x slower: {sync['count']} records came in {pulled}, are read back in {opened}")
    served.stop()
    for rate in (1, SLOWER):
        slow_down(devtools, rate)
        for name in ("", "walk", "plantings"):
            took, fastest = start_ms(phone, f"{served.address}/#/{name}")
            screen = f"{rate}x slower, no server: {name or 'today'}"
            print(f"{screen} after {took:.0f} ms (fastest {fastest:.0f} ms, load {os.getloadavg()[0]:.1f})")
    served.start()


if __name__ == "__main__":
    sys.exit(main())
