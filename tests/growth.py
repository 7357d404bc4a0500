"""How the server's answers grow with the journal: 1, 3 and 10 seasons of 200 plantings and 20 walks.

python tests/growth.py [--keep FOLDER] [--seasons 1 3 10]

A real server in a process of its own, asked over HTTP on loopback. Times are medians until the whole answer has come;
sizes are as sent (gzip) and unpacked. With --keep the journals are made once and used again. Asked of 10 seasons: the
timeline of one under 150 ms and 400 kB, things to look at under 300 ms, a phone's first sync under 10 s.
"""

from __future__ import annotations

import argparse
import contextlib
import gzip
import http.client
import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from big_journal import fill_big_journal
from browser.served_process import ServedProcess

from journal_server.services.journal import open_journal
from journal_server.storage.records import load_records

PLANTINGS, WALKS = 200, 20
STARTS, REPEATS = 3, 9
TRIALS_FILE = "trials.json"
PAGE = 1000
"""As many records a page as the app asks for (web/sync/feed.js)."""


@dataclass
class Answer:
    ms: float
    sent: int
    body: bytes


class Phone:
    """One kept connection that unpacks what it is sent, as a browser does."""

    def __init__(self, port: int):
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)

    def ask(self, path: str, change: Any = None) -> Answer:
        headers = {"Accept-Encoding": "gzip", "Content-Type": "application/json"}
        began = time.perf_counter()
        method, body = ("GET", None) if change is None else ("POST", json.dumps(change))
        self._connection.request(method, path, body, headers)
        response = self._connection.getresponse()
        sent = response.read()
        ms = (time.perf_counter() - began) * 1000
        if response.status != 200:
            raise RuntimeError(f"{path} answered {response.status}: {sent[:300]!r}")
        packed = response.headers.get("Content-Encoding") == "gzip"
        return Answer(ms, len(sent), gzip.decompress(sent) if packed else sent)


@dataclass
class Grown:
    """A journal of so many seasons, its latest trial and the plantings of that."""

    folder: Path
    seasons: int
    trial: str
    plantings: list[str]


def grown(folder: Path, seasons: int) -> Grown:
    """The journal in the folder, made where it is not there yet."""
    file = folder / TRIALS_FILE
    with contextlib.closing(open_journal(folder)) as journal:
        if not file.exists():
            made = fill_big_journal(journal, seasons=seasons, plantings=PLANTINGS, walks=WALKS)
            file.write_text(json.dumps(made), encoding="utf-8")
        trial = json.loads(file.read_text(encoding="utf-8"))[-1]
        with journal.database.reading() as session:
            plantings = [r.id for r in load_records(session, "planting", equals={"trial_id": trial})]
    return Grown(folder, seasons, trial, plantings)


@contextlib.contextmanager
def started(folder: Path) -> Iterator[Phone]:
    served = ServedProcess(folder)
    try:
        served.start()
        phone = Phone(served.port)
        phone.ask("/api/record-kinds")
        yield phone
    finally:
        served.close()


def again_and_after_change(phone: Phone, path: str, journal: Grown) -> tuple[float, float]:
    """Median ms of the same answer asked again, and of the one after a planting was changed."""
    again = [phone.ask(path).ms for _ in range(REPEATS)]
    changed = []
    for number in range(REPEATS):
        note = f"note {time.time_ns()}"
        change = {"kind": "planting", "id": journal.plantings[number], "fields": {"note": note}}
        phone.ask("/api/changes", {"changes": [change]})
        changed.append(phone.ask(path).ms)
    return statistics.median(again), statistics.median(changed)


def timings(journal: Grown, path: str) -> dict[str, float]:
    """First after a start of the server (median of several starts), again, after one change; and the sizes."""
    firsts = []
    for start in range(STARTS):
        with started(journal.folder) as phone:
            answer = phone.ask(path)
            firsts.append(answer.ms)
            if start == STARTS - 1:
                again, changed = again_and_after_change(phone, path, journal)
    sizes = {"sent kB": answer.sent / 1000, "kB": len(answer.body) / 1000}
    return {"first ms": statistics.median(firsts), "again ms": again, "after a change ms": changed, **sizes}


def first_sync(journal: Grown) -> dict[str, float]:
    """All pages of the feed, one after the other."""
    with started(journal.folder) as phone:
        cursor, more, records, pages, sent, unpacked = 0, True, 0, 0, 0, 0
        began = time.perf_counter()
        while more:
            answer = phone.ask(f"/api/changes?since={cursor}&limit={PAGE}")
            page = json.loads(answer.body)
            cursor, more = page["cursor"], page["more"]
            records, pages = records + len(page["records"]), pages + 1
            sent, unpacked = sent + answer.sent, unpacked + len(answer.body)
        seconds = time.perf_counter() - began
    return {"s": seconds, "records": records, "pages": pages, "sent MB": sent / 1e6, "MB": unpacked / 1e6}


ASKED: dict[str, Callable[[Grown], dict[str, float]]] = {
    "timeline": lambda one: timings(one, f"/api/timeline.svg?trial={one.trial}&width=358"),
    "timeline, wide": lambda one: timings(one, f"/api/timeline.svg?trial={one.trial}&width=1056"),
    "timeline by days to half full, in genera": lambda one: timings(
        one, f"/api/timeline.svg?trial={one.trial}&width=358&sort=days_to_50&group=genus"
    ),
    "things to look at": lambda one: timings(one, f"/api/look-at?trial={one.trial}&day={2016 + one.seasons}-08-20"),
    "a planting's curves": lambda one: timings(one, f"/api/plantings/{one.plantings[0]}/curves?width=358"),
    "first sync": first_sync,
}


def table(rows: dict[int, dict[str, float]]) -> str:
    """Markdown: a row for each number of seasons."""
    names = list(next(iter(rows.values())))
    lines = [f"| seasons | {' | '.join(names)} |", "|---" * (len(names) + 1) + "|"]
    for seasons, numbers in rows.items():
        cells = (
            f"{value:.1f}" if value < 100 and name[-2:] != "ds" else f"{value:.0f}" for name, value in numbers.items()
        )
        lines.append(f"| {seasons} | {' | '.join(cells)} |")
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--keep", type=Path, help="folder for the journals, to use them again")
    parser.add_argument("--seasons", type=int, nargs="+", default=[1, 3, 10])
    parser.add_argument("--only", help="only answers whose name begins so")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as passing:
        folder = given.keep or Path(passing)
        journals = [grown(folder / f"s{seasons}", seasons) for seasons in given.seasons]
        for name, measure in ASKED.items():
            if given.only and not name.startswith(given.only):
                continue
            rows = {journal.seasons: measure(journal) for journal in journals}
            print(
                f"\n{name} (machine's load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors)\n\n{table(rows)}",
                flush=True,
            )


if __name__ == "__main__":
    main()
