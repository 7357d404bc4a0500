"""Kills the server at random moments while a phone sends, again and again, and counts what was lost or doubled.

    PYTHONPATH=tests python -m browser.kill_during_sync --times 50

A phone (a real Chromium) makes photos and notes while there is no server. The server starts, the phone begins to send,
and after a random part of a second the server is killed with SIGKILL; then it is started again and the phone goes on
by itself. At the end the server's records and the bytes of its files are compared with what the phone had.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import io
import json
import random
import shutil
import sys
import tempfile
import time
import urllib.request
import uuid
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from browser.conftest import CHROMIUM_NAMES, FLAGS
from browser.phone import Phone
from browser.served_process import ServedProcess
from PIL import Image
from playwright.sync_api import Error, Page, Playwright, sync_playwright

PHOTOS_A_ROUND = 3
KILLED_WITHIN_S = 1.0
"""Counted from the first thing that the phone sends."""
BEGINS_WITHIN_MS = 60_000
NOTHING_SENT_FOR_S = 90

NOTE = """async ([trial, round, photos]) => {
    const { RecordStore } = await import("/store/record_store.js");
    const { openDatabase } = await import("/store/database.js");
    const { Server } = await import("/sync/server.js");
    const { Journal } = await import("/sync/journal.js");
    const { derivedId, newId } = await import("/store/ids.js");
    const cut = new Server(() => Promise.reject(new TypeError("no network")));
    const database = await openDatabase();
    const journal = new Journal(new RecordStore(), cut, database, { Channel: BroadcastChannel });
    await journal.open();
    const made = { photos: [], findings: [], visits: [] };
    const day = `2026-06-${String((round % 28) + 1).padStart(2, "0")}`;
    const walk = derivedId("walk", trial.trial_id, day);
    await journal.note([{ kind: "walk", id: walk, fields: { trial_id: trial.trial_id, walked_on: day } }]);
    const visit = derivedId("visit", walk, trial.planting_id);
    await journal.note([{ kind: "visit", id: visit, fields: { trial_id: trial.trial_id, walk_id: walk,
        planting_id: trial.planting_id, visited_on: day } }]);
    for (const one of photos) {
        const bytes = Uint8Array.from(atob(one), (c) => c.charCodeAt(0)).buffer;
        made.photos.push(await journal.addPhoto({ bytes, mime: "image/jpeg", fileName: "walk.jpg", how: "viewfinder",
            takenAt: `${day}T10:14:03+02:00`, visitId: visit, plantingId: trial.planting_id }));
        const finding = newId();
        await journal.note([{ kind: "finding", id: finding, fields: { visit_id: visit, planting_id: trial.planting_id,
            found_on: day, what: "dry" } }]);
        made.findings.push(finding);
    }
    await journal.note([{ kind: "visit", id: visit, fields: { remark: `round ${round}`, done: true } }]);
    made.visits.push([visit, `round ${round}`]);
    database.close();
    return made;
}"""

LEFT = """async () => {
    const { openDatabase } = await import("/store/database.js");
    const database = await openDatabase();
    const [entries, conflicts] = await database.read(["outbox", "conflicts"],
        async ({ outbox, conflicts }) => [await outbox.all(), await conflicts.keys()]);
    database.close();
    const attention = entries.filter((one) => one.attention).map((one) => one.attention.message);
    return { waiting: entries.length, attention, conflicts: conflicts.length };
}"""


@dataclass
class Tally:
    """What the phone made, and what became of it."""

    photos: dict[str, str] = field(default_factory=dict)
    """Id on the phone to the hash of its bytes."""
    findings: set[str] = field(default_factory=set)
    remarks: dict[str, str] = field(default_factory=dict)
    kills_while_sending: int = 0
    rounds: int = 0
    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)

    def says(self) -> str:
        return (
            f"{self.rounds} kills ({self.kills_while_sending} while something was being sent), "
            f"{len(self.photos)} photos, {len(self.findings)} findings, {len(self.remarks)} visits: "
            f"{len(self.lost)} lost, {len(self.doubled)} doubled, {len(self.left)} still on the phone"
        )


def noisy_photo(chance: np.random.Generator) -> bytes:
    """About 0.7 MB, so that sending takes some time."""
    out = io.BytesIO()
    pixels = chance.integers(0, 255, (600, 800, 3), dtype=np.uint8)
    Image.fromarray(pixels).save(out, "JPEG", quality=92)
    return out.getvalue()


def kill_again_and_again(
    playwright: Playwright, chromium: str, times: int, seed: int, tell: Callable[[int], None] = lambda done: None
) -> Tally:
    """Returns the tally after ``times`` kills; the same seed kills at the same moments."""
    tally = Tally()
    moments, chance = random.Random(seed), np.random.default_rng(seed)
    with tempfile.TemporaryDirectory() as scratch:
        served = ServedProcess(Path(scratch) / "journal")
        phone = Phone(playwright, chromium, FLAGS, Path(scratch) / "profile")
        try:
            served.start()
            trial = _set_up(served)
            page = phone.ready_for_the_walk(f"{served.address}/#/waiting")
            served.kill()
            for number in range(times):
                _round(page, served, trial, number, tally, moments, chance)
                tell(number + 1)
            served.start()
            _wait_until_sent(page, tally)
            _compare(served, tally)
        finally:
            phone.kill()
            served.close()
    return tally


def _round(
    page: Page,
    served: ServedProcess,
    trial: dict[str, str],
    number: int,
    tally: Tally,
    moments: random.Random,
    chance: np.random.Generator,
) -> None:
    photos = [noisy_photo(chance) for _ in range(PHOTOS_A_ROUND)]
    made = page.evaluate(NOTE, [trial, number, [base64.b64encode(one).decode() for one in photos]])
    hashes = (hashlib.sha256(one).hexdigest() for one in photos)
    tally.photos |= dict(zip(made["photos"], hashes, strict=True))
    tally.findings |= set(made["findings"])
    tally.remarks |= dict(made["visits"])
    failed: list[str] = []
    note = lambda request: failed.append(request.method)  # noqa: E731
    page.on("requestfailed", note)
    served.start()
    with page.expect_request(lambda request: request.method == "POST", timeout=BEGINS_WITHIN_MS):
        page.evaluate("dispatchEvent(new Event('online'))")
    time.sleep(moments.uniform(0, KILLED_WITHIN_S))
    served.kill()
    page.wait_for_timeout(50)
    page.remove_listener("requestfailed", note)
    tally.rounds += 1
    tally.kills_while_sending += "POST" in failed


def _wait_until_sent(page: Page, tally: Tally) -> None:
    last, until = None, time.monotonic() + NOTHING_SENT_FOR_S
    while time.monotonic() < until:
        page.evaluate("dispatchEvent(new Event('online'))")
        page.wait_for_timeout(500)
        left = page.evaluate(LEFT)
        if left["waiting"] == len(left["attention"]):
            break
        if left["waiting"] != last:
            last, until = left["waiting"], time.monotonic() + NOTHING_SENT_FOR_S
    tally.left = left["attention"] + ["waiting"] * (left["waiting"] - len(left["attention"]))
    tally.left += ["conflict"] * left["conflicts"]


def _set_up(served: ServedProcess) -> dict[str, str]:
    ids = {name: str(uuid.uuid4()) for name in ("trial_id", "planter_id", "cultivar_id", "planting_id")}
    _post(
        served,
        {"kind": "trial", "id": ids["trial_id"], "fields": {"title": "Kills", "year": 2026}},
        {"kind": "planter", "id": ids["planter_id"],
         "fields": {"trial_id": ids["trial_id"], "name": "Trough", "planter_kind": "trough"}},
        {"kind": "cultivar", "id": ids["cultivar_id"], "fields": {"genus": "Petunia", "name": "Made Up"}},
        {"kind": "planting", "id": ids["planting_id"], "fields": {"planted_on": "2026-05-16",
         **{name: ids[name] for name in ("trial_id", "planter_id", "cultivar_id")}}},
    )  # fmt: skip
    return ids


def _post(served: ServedProcess, *changes: dict[str, Any]) -> None:
    request = urllib.request.Request(
        f"{served.address}/api/changes",
        json.dumps({"changes": changes}).encode(),
        {"Content-Type": "application/json"},
    )
    urllib.request.urlopen(request).close()


def records_of(served: ServedProcess) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    cursor, more = 0, True
    while more:
        with urllib.request.urlopen(f"{served.address}/api/changes?since={cursor}&limit=2000") as answer:
            page = json.load(answer)
        found += page["records"]
        cursor, more = page["cursor"], page["more"]
    return [record for record in found if not record["deleted"]]


def _compare(served: ServedProcess, tally: Tally) -> None:
    records = records_of(served)
    photos = {record["id"]: record["fields"]["sha256"] for record in records if record["kind"] == "photo"}
    files = {hashlib.sha256(file.read_bytes()).hexdigest() for file in (served.folder / "originals").rglob("*.jpg")}
    for identity, sha256 in tally.photos.items():
        if photos.get(identity) != sha256 or sha256 not in files:
            tally.lost.append(f"photo {identity}")
    tally.doubled += [f"photo {sha256}" for sha256, n in Counter(photos.values()).items() if n > 1]
    tally.doubled += [f"photo {identity}" for identity in photos.keys() - tally.photos.keys()]
    findings = Counter(record["id"] for record in records if record["kind"] == "finding")
    tally.lost += [f"finding {identity}" for identity in tally.findings - findings.keys()]
    tally.doubled += [f"finding {identity}" for identity in findings.keys() - tally.findings]
    visits = {record["id"]: record["fields"] for record in records if record["kind"] == "visit"}
    for identity, remark in tally.remarks.items():
        if visits.get(identity, {}).get("remark") != remark or not visits[identity]["done"]:
            tally.lost.append(f"visit {identity}")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=50, help="how often the server is killed (default 50)")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    chromium = next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
    if chromium is None:
        print("There is no Chromium on this machine.", file=sys.stderr)
        return 2

    def tell(done: int) -> None:
        print(f"{done}/{given.times} killed", end="\r", file=sys.stderr, flush=True)

    try:
        with sync_playwright() as playwright:
            tally = kill_again_and_again(playwright, chromium, given.times, given.seed, tell)
    except Error as error:
        print(f"the browser failed: {error}", file=sys.stderr)
        return 2
    print(tally.says())
    for what in (*tally.lost, *tally.doubled, *tally.left):
        print(f"  {what}")
    return 1 if tally.lost or tally.doubled or tally.left else 0


if __name__ == "__main__":
    sys.exit(main())
