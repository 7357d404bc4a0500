"""How much one computer takes: measuring on one and two processes and on a dask cluster here; many phones at once.

A command, since its numbers depend on the computer: ``python tests/many_phones.py [--phones 20] [--photos 50]``.
Every number that `journal_server/running/a_thousand_gardens.md` reckons with is among what it prints.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import http.client
import io
import json
import os
import platform
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import postgresql
import psutil
from distributed import LocalCluster
from made_photos import jpeg
from PIL import Image

from journal_server.packaged import packaged_folder
from journal_server.services.journal import Journal, open_journal
from journal_server.services.measuring import MeasuringRoom, Worker, WorkerProcess
from journal_server.services.measuring_pool import DaskPool
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage.records import all_photo_files


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--phones", type=int, default=20)
    asked.add_argument("--photos", type=int, default=50, help="of each phone")
    asked.add_argument("--megapixels", type=float, default=12.0, help="of each photo; default: 12")
    asked.add_argument("--measured", type=int, default=40, help="sample photos to measure, each enlarged; 0: none")
    given = asked.parse_args()
    load = ", ".join(f"{one:.1f}" for one in os.getloadavg())
    print(f"{platform.platform()}, {os.cpu_count()} cores, load before: {load}", flush=True)
    with tempfile.TemporaryDirectory() as folder, databases() as fresh:
        for name in ("SQLite", "PostgreSQL"):
            if given.measured:
                measure_everywhere(Path(folder) / name, name, fresh, enlarged(given.megapixels, given.measured + 2))
            sync_from_phones(Path(folder) / f"{name} phones", name, fresh(name), given)
    return 0


Fresh = Callable[[str], str | None]


@contextlib.contextmanager
def databases() -> Iterator[Fresh]:
    with postgresql.running_server(durable=True) as server:
        yield lambda name: server.fresh() if name == "PostgreSQL" else None


def enlarged(megapixels: float, count: int) -> list[bytes]:
    """Sample photos as a phone of so many megapixels would have sent them."""
    made = []
    for path in sorted(packaged_folder("sample_photos").glob("p*.jpg"))[:count]:
        with Image.open(path) as photo:
            scale = (megapixels * 1e6 / (photo.width * photo.height)) ** 0.5
            large = photo.resize((round(photo.width * scale), round(photo.height * scale)), Image.Resampling.BICUBIC)
            out = io.BytesIO()
            large.save(out, "JPEG", quality=90, exif=photo.getexif())
        made.append(out.getvalue())
    return made


def measure_everywhere(folder: Path, name: str, fresh: Fresh, photos: list[bytes]) -> None:
    measure(folder / "1", f"{name}: 1 process", fresh(name), photos, [WorkerProcess()])
    measure(folder / "2", f"{name}: 2 processes", fresh(name), photos, [WorkerProcess(), WorkerProcess()])
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=":0", silence_logs=50) as cluster,
        contextlib.closing(DaskPool(cluster.scheduler_address)) as pool,
    ):
        measure(folder / "dask", f"{name}: dask, 2 workers", fresh(name), photos, pool.workers)


class Warm:
    """A worker that outlives the room it measures in."""

    def __init__(self, worker: Worker):
        self.measure = worker.measure

    def stop(self) -> None:
        pass


def measure(folder: Path, name: str, url: str | None, photos: list[bytes], workers: list[Worker]) -> None:
    warming, rest = photos[: len(workers)], photos[len(workers) :]
    with contextlib.closing(open_journal(folder, url)) as journal:
        take_in_all(journal, warming)
        MeasuringRoom(journal, [Warm(worker) for worker in workers]).run_until_done()  # begun, and all loaded
        take_in_all(journal, rest)
        before, began = cpu_s(), time.monotonic()
        MeasuringRoom(journal, [Warm(worker) for worker in workers]).run_until_done()
        all_s, spent_s = time.monotonic() - began, cpu_s() - before
        for worker in workers:
            worker.stop()
    print(
        f"measuring, {name}: {60 * len(rest) / all_s:.0f} photos a minute, "
        f"{spent_s / len(rest):.2f} s of a core for each",
        flush=True,
    )


def take_in_all(journal: Journal, photos: list[bytes]) -> None:
    for number, photo in enumerate(photos):
        take_in_photo(journal, photo, f"{number}.jpg")


def cpu_s() -> float:
    """Seconds of a core that this process and all that it began and that still run have used."""
    here = psutil.Process()
    times = [one.cpu_times() for one in (here, *here.children(recursive=True))]
    return sum(one.user + one.system for one in times)


def sync_from_phones(folder: Path, name: str, url: str | None, given: argparse.Namespace) -> None:
    side = round((given.megapixels * 1e6 / 12) ** 0.5 / 8) * 8
    made = [jpeg("2026:06:12 10:14:03", seed=seed, size=(4 * side, 3 * side)) for seed in range(4)]
    size = statistics.mean(map(len, made)) / 1e6
    took: list[float] = []
    sent: set[str] = set()
    with served(folder, url) as (port, server):
        top = Watch(server.pid)
        began = time.monotonic()
        phones = [
            threading.Thread(target=phone, args=(port, made, given.photos, number, took, sent))
            for number in range(given.phones)
        ]
        for one in phones:
            one.start()
        for one in phones:
            one.join()
        all_s = time.monotonic() - began
        peak_mb, spent_s = top.stop()
    with contextlib.closing(open_journal(folder, url)) as journal:
        kept = hashes_kept(journal)
        made_mb = sum(path.stat().st_size for path in journal.files.derived.rglob("*.*")) / 1e6
    expected = given.phones * given.photos
    assert len(sent) == expected, f"{expected - len(sent)} photos were not acknowledged"
    assert kept == sent, "what was acknowledged is not what is kept"
    took.sort()
    later = took[round(0.99 * (len(took) - 1))]
    print(
        f"{given.phones} phones x {given.photos} photos ({given.megapixels:g} MP, {size:.1f} MB), {name}: "
        f"all {expected} arrived in {all_s:.0f} s ({expected / all_s:.1f} a second); "
        f"an answer took {statistics.median(took):.2f} s (median), {later:.2f} s (99th percentile), "
        f"{took[-1]:.2f} s at most; the server took up to {peak_mb:.0f} MB of memory, "
        f"and for each photo {spent_s / expected:.2f} s of a core and {made_mb / expected:.2f} MB of smaller pictures",
        flush=True,
    )


def hashes_kept(journal: Journal) -> set[str]:
    with journal.database.reading() as session:
        rows = all_photo_files(session)
    for row in rows:
        content = journal.files.original(row.sha256, row.suffix).read_bytes()
        assert hashlib.sha256(content).hexdigest() == row.sha256
    return {row.sha256 for row in rows}


@contextlib.contextmanager
def served(folder: Path, url: str | None) -> Iterator[tuple[int, subprocess.Popen[str]]]:
    """A server that leaves the measuring to others."""
    call = [sys.executable, "-m", "journal_server", "serve", "--no-browser", "--port", "0", "--workers", "0"]
    database = ["--database", url] if url else []
    server = subprocess.Popen([*call, "--data", str(folder), *database], stdout=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None
        found = re.search(r"127\.0\.0\.1:(\d+)", server.stdout.readline())
        assert found, "the server did not begin"
        yield int(found.group(1)), server
    finally:
        server.terminate()
        server.wait()


class Watch:
    """The most memory that a process and its children take, looked at ten times a second, and their seconds of a core.

    What they share is counted for each, so that it is rather too much than too little.
    """

    def __init__(self, pid: int):
        self._process = psutil.Process(pid)
        self._peak = 0
        self._before_s = self._cpu_s()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._look)
        self._thread.start()

    def _look(self) -> None:
        while not self._ended.wait(0.1):
            self._peak = max(self._peak, sum(one.memory_info().rss for one in self._all()))

    def stop(self) -> tuple[float, float]:
        self._ended.set()
        self._thread.join()
        return self._peak / 1e6, self._cpu_s() - self._before_s

    def _cpu_s(self) -> float:
        times = [one.cpu_times() for one in self._all()]
        return sum(one.user + one.system for one in times)

    def _all(self) -> list[psutil.Process]:
        return [self._process, *self._process.children(recursive=True)]


def phone(port: int, made: list[bytes], count: int, number: int, took: list[float], sent: set[str]) -> None:
    """Sends its photos one after the other, as a phone does; each is another file by its last bytes."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=600)
    for at in range(count):
        content = made[(number + at) % len(made)] + f"{number} {at}".encode()  # behind the end of the JPEG
        sha256 = hashlib.sha256(content).hexdigest()
        fields = {"sha256": sha256, "id": str(uuid.uuid4()), "how": "viewfinder"}
        body, kind = form(fields, content)
        began = time.monotonic()
        connection.request("POST", "/api/photos", body, {"Content-Type": kind})
        answer = connection.getresponse()
        told = json.loads(answer.read())
        took.append(time.monotonic() - began)
        assert answer.status == 201, told
        assert told["received"]["sha256"] == sha256
        sent.add(sha256)


def form(fields: dict[str, str], content: bytes) -> tuple[bytes, str]:
    out, mark = io.BytesIO(), uuid.uuid4().hex
    for name, value in fields.items():
        out.write(f'--{mark}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode())
    out.write(f'--{mark}\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n'.encode())
    out.write(content + f"\r\n--{mark}--\r\n".encode())
    return out.getvalue(), f"multipart/form-data; boundary={mark}"


if __name__ == "__main__":
    sys.exit(main())
