"""How many cards the phone's own reader reads, and how fast; run from `tests`: python -m browser.card_reading_speed

Every sample photo and scene as a live picture, in headless Chromium slowed down fourfold. The reader runs in the
page here, where the slow-down acts; in the app it runs in a worker. Of three rounds the shortest counts, since other
work on the machine only ever adds time.
"""

from __future__ import annotations

import shutil
import statistics
import tempfile
from pathlib import Path

import numpy as np
import zxingcpp
from browser.conftest import CHROMIUM_NAMES, FLAGS
from browser.serving import serve
from browser.test_card_reading import live_frames, sent
from playwright.sync_api import sync_playwright

from journal_server.services.journal import open_journal

SLOWER = 4
READ = """async (given) => {
    const { greyOf } = await import("/card_reading/grey.js");
    const { readCard } = await import("/card_reading/read_card.js");
    const bytes = atob(given.grey), image = new ImageData(given.width, given.height);
    for (let at = 0; at < bytes.length; at++) image.data.fill(bytes.charCodeAt(at), 4 * at, 4 * at + 4);
    let found, milliseconds = Infinity;
    for (let round = 0; round < 3; round++) {
        const start = performance.now();
        found = readCard(greyOf(image));
        milliseconds = Math.min(milliseconds, performance.now() - start);
    }
    return { found, milliseconds };
}"""


def main() -> None:
    path = next(filter(None, map(shutil.which, CHROMIUM_NAMES)))
    qr = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
    frames = list(live_frames())
    ours, theirs, wrong, times = 0, 0, 0, []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        journal = open_journal(Path(folder) / "journal")
        with serve(journal) as served:
            browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
            page = browser.new_page()
            page.goto(served.address)
            page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
            for _, frame, code in frames:
                answer = page.evaluate(READ, sent(frame))
                found = answer["found"] and answer["found"]["code"]
                ours += found is not None and found == code
                wrong += found is not None and found != code
                theirs += any(code == one.text for one in zxingcpp.read_barcodes(np.asarray(frame), formats=qr))
                # As for a picture of 1280 by 720: the work is nearly all by the pixel.
                times.append(answer["milliseconds"] * 1280 * 720 / (frame.width * frame.height))
            browser.close()
        journal.close()
    times = sorted(times[5:])
    print(f"{len(frames)} pictures: {ours} cards read, {wrong} wrongly; zxing-cpp on the same pictures: {theirs}")
    print(
        f"for 1280 x 720, {SLOWER} times slowed down: median {statistics.median(times):.0f} ms, "
        f"nineteen in twenty within {times[len(times) * 19 // 20]:.0f} ms, longest {times[-1]:.0f} ms"
    )


if __name__ == "__main__":
    main()
