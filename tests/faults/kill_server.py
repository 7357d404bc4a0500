"""Kills the journal with SIGKILL at random moments of each kind of work, and counts what was lost, doubled or half.

    PYTHONPATH=tests python -m faults.kill_server --times 200

Uploads of several phones at once (with measuring beside them), ``add`` with measuring, backups into an archive and a
folder, and bringing an earlier journal up to date take turns, every second turn the uploads'. After every kill the
whole journal is checked, each photo by its hash, those above all whose sender had read the answer.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import io
import json
import multiprocessing
import multiprocessing.pool
import os
import random
import shutil
import socket
import sqlite3
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from http.client import HTTPConnection, HTTPException
from pathlib import Path

from faults.asking import ask, photo_form
from made_photos import jpeg

from journal_server.cli import main as call
from journal_server.services.backup import restore_backup, verify_backup
from journal_server.services.backup.folder import kept_in
from journal_server.services.check.run import check_journal
from journal_server.services.journal import DATABASE_FILE, open_journal
from journal_server.storage.database import newest_schema

EARLIER = Path(__file__).parents[1] / "storage" / "earlier"
PHONES, PHOTOS_EACH = 4, 8
PHOTOS_ADDED = 3
SIZE = (160, 120)
KINDS = ("upload", "add", "backup", "folder backup", "migration")
TURNS = ("upload", "add", "upload", "backup", "upload", "folder backup", "upload", "migration")
_forks = multiprocessing.get_context("forkserver")


def _run(words: list[str]) -> None:
    """In the process to be killed: one call of the command line, in a group of its own with what it starts."""
    os.setpgid(0, 0)
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        status = call(words)
    sys.exit(status)


@dataclass
class Tally:
    """What was done, and what became of it."""

    kills: Counter[str] = field(default_factory=Counter)
    at_work: Counter[str] = field(default_factory=Counter)
    """Kills that met the work before its end."""
    acknowledged: set[str] = field(default_factory=set)
    made: dict[str, bytes] = field(default_factory=dict)
    measured: int = 0
    wrong: list[str] = field(default_factory=list)

    def says(self) -> str:
        kinds = ", ".join(f"{kind} {self.kills[kind]} ({self.at_work[kind]} at work)" for kind in KINDS)
        return (
            f"{self.kills.total()} kills, {self.at_work.total()} of them at work: {kinds}. {len(self.made)} photos, "
            f"{len(self.acknowledged)} of them acknowledged over HTTP, {self.measured} measured in the end: "
            f"{len(self.wrong)} things wrong"
        )


class Harness:
    """One journal that is killed again and again; the same seed kills after the same pauses."""

    def __init__(self, folder: Path, seed: int):
        self.journal = folder / "journal"
        self._folder = folder
        self._chance = random.Random(seed)
        self._seeds = 0
        self.tally = Tally()
        self._lasts_s: dict[str, float] = {}
        open_journal(self.journal).close()

    def one(self, kind: str) -> None:
        works: dict[str, Callable[[], None]] = {
            "upload": self._upload,
            "add": self._add,
            "backup": lambda: self._back_up(self._folder / "backup.zip"),
            "folder backup": lambda: self._back_up(self._folder / "backups", "--folder"),
            "migration": self._migrate,
        }
        is_first = kind not in self._lasts_s
        works[kind]()
        self.tally.kills[kind] += not is_first
        self._look(kind)

    def finish(self) -> Tally:
        """Send all once more, measure all, and compare with what was made."""
        photos = self._written(list(self.tally.made.values()))
        with contextlib.redirect_stdout(io.StringIO()):
            self._expect(call(["add", str(photos), "--data", str(self.journal)]) == 0, "the end: not all were taken in")
        self._look("the end", measuring_done=True)
        with contextlib.closing(sqlite3.connect(self.journal / DATABASE_FILE)) as database:
            kept = [row[0] for row in database.execute("SELECT sha256 FROM photo_files")]
            self.tally.measured = database.execute("SELECT count(DISTINCT photo_id) FROM measurements").fetchone()[0]
        self._expect(sorted(kept) == sorted(self.tally.made), "the end: the photos are not those that were made")
        self._expect(self.tally.measured == len(self.tally.made), "the end: not every photo is measured")
        return self.tally

    def _kill_within(self, kind: str, process: multiprocessing.process.BaseProcess, begun: float) -> bool:
        """Wait a random part of what this work takes, then kill it with all it started; False where it was over."""
        usual = self._lasts_s.get(kind)
        if usual is None:  # the first of its kind shows how long it takes
            process.join(300)
            self._lasts_s[kind] = time.monotonic() - begun
        else:
            process.join(max(0.0, begun + self._chance.uniform(0, usual) - time.monotonic()))
        at_work = process.exitcode is None
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid or 0, 9)
        process.kill()
        process.join()
        self.tally.at_work[kind] += at_work
        return at_work

    def _start(self, *words: object) -> multiprocessing.process.BaseProcess:
        process = _forks.Process(target=_run, args=([str(word) for word in words],))
        process.start()
        return process

    def _upload(self) -> None:
        sending = [[self._new_photo() for _ in range(PHOTOS_EACH)] for _ in range(PHONES)]
        server, port = self._serve()
        begun = time.monotonic()
        ends = begun + self._chance.uniform(0, self._lasts_s.get("upload", 300.0))
        with multiprocessing.pool.ThreadPool(PHONES) as phones:
            sent = phones.map_async(lambda photos: self._send(port, photos), sending)
            sent.wait(max(0.0, ends - time.monotonic()))
            self._lasts_s.setdefault("upload", time.monotonic() - begun)
            self.tally.at_work["upload"] += not sent.ready()
            os.killpg(server.pid or 0, 9)
            server.join()
            sent.get()

    def _send(self, port: int, photos: list[bytes]) -> None:
        """One phone: a photo after the other over one connection, until the server is gone."""
        with contextlib.closing(HTTPConnection("127.0.0.1", port, timeout=60)) as connection:
            for content in photos:
                body, kind = photo_form(content, "walk.jpg", {"how": "viewfinder"})
                self._is_made(content)
                try:
                    connection.request("POST", "/api/photos", body, {"Content-Type": kind})
                    answer = connection.getresponse()
                    told = json.loads(answer.read())
                except (OSError, HTTPException, ValueError):  # the server was killed before or while it answered
                    return
                if answer.status == 201:
                    self.tally.acknowledged.add(told["received"]["sha256"])
                else:
                    self.tally.wrong.append(f"upload: answered {answer.status}, {told}")

    def _serve(self) -> tuple[multiprocessing.process.BaseProcess, int]:
        until = time.monotonic() + 120
        while time.monotonic() < until:
            with socket.create_server(("127.0.0.1", 0)) as free:
                port = free.getsockname()[1]
            server = self._start("serve", "--no-browser", "--port", port, "--data", self.journal)
            while server.exitcode is None and time.monotonic() < until:
                with contextlib.suppress(OSError, HTTPException):
                    if ask(f"http://127.0.0.1:{port}/api/ready", within_s=5)[0] == 200:
                        return server, port
                time.sleep(0.01)
            # It has ended: another program was quicker to take the port.
        raise TimeoutError("the server did not start")

    def _add(self) -> None:
        photos = [self._new_photo() for _ in range(PHOTOS_ADDED)]
        for content in photos:
            self._is_made(content)
        folder = self._written(photos)
        begun = time.monotonic()
        self._kill_within("add", self._start("add", folder, "--data", self.journal), begun)

    def _back_up(self, target: Path, *more: str) -> None:
        kind = "folder backup" if more else "backup"
        was_there = bool(kept_in(target)) if more else target.exists()
        begun = time.monotonic()
        self._kill_within(kind, self._start("backup", target, *more, "--data", self.journal), begun)
        if was_there or (bool(kept_in(target)) if more else target.exists()):
            try:
                verify_backup(target)
            except Exception as error:
                self.tally.wrong.append(f"{kind}: {error}")

    def _migrate(self) -> None:
        folder = self._folder / "earlier"
        shutil.rmtree(folder, ignore_errors=True)
        with zipfile.ZipFile(self._chance.choice(sorted(EARLIER.glob("*.zip")))) as kept:
            kept.extractall(folder)
        before = _records_of(folder)
        begun = time.monotonic()
        self._kill_within("migration", self._start("numbers", "--data", folder), begun)
        self._expect(_records_of(folder) == before, "migration: the records are not what they were")
        open_journal(folder).close()
        self._expect(_records_of(folder) == before, "migration: the records changed when it was gone on with")
        self._expect(_step_of(folder) == newest_schema(), "migration: it was not gone on with")

    def _new_photo(self) -> bytes:
        self._seeds += 1
        month, day = 4 + self._seeds // 28 % 6, 1 + self._seeds % 28
        return jpeg(f"2026:{month:02}:{day:02} 10:14:03", seed=self._seeds, size=SIZE)

    def _is_made(self, content: bytes) -> None:
        self.tally.made[hashlib.sha256(content).hexdigest()] = content

    def _written(self, photos: list[bytes]) -> Path:
        folder = Path(tempfile.mkdtemp(dir=self._folder))
        for number, content in enumerate(photos):
            (folder / f"{number}.jpg").write_bytes(content)
        return folder

    def _look(self, after: str, *, measuring_done: bool = False) -> None:
        report = check_journal(self.journal, datetime.now(UTC))
        self.tally.wrong += [f"{after}: {f.what}" for f in report.findings if f.grade == "wrong" and f.part != "disk"]
        with contextlib.closing(sqlite3.connect(self.journal / DATABASE_FILE)) as database:
            records = database.execute("SELECT json_extract(fields, '$.sha256') FROM records WHERE kind = 'photo'")
            hashes = [row[0] for row in records]
        self._expect(len(hashes) == len(set(hashes)), f"{after}: a photo is there twice")
        lost = self.tally.acknowledged - set(hashes)
        self._expect(not lost, f"{after}: {len(lost)} acknowledged photos are lost")
        for target in (self._folder / "backups", self._folder / "backup.zip") if measuring_done else ():
            if target.exists():
                restore_backup(target, self._folder / f"restored_{target.name}")

    def _expect(self, holds: bool, otherwise: str) -> None:
        if not holds:
            self.tally.wrong.append(otherwise)


def _records_of(folder: Path) -> list[tuple[object, ...]]:
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        return database.execute("SELECT id, kind, seq, version, fields FROM records ORDER BY id").fetchall()


def _step_of(folder: Path) -> str:
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        return str(database.execute("SELECT version_num FROM alembic_version").fetchone()[0])


def kill_again_and_again(folder: Path, times: int, seed: int, tell: Callable[[int], None] = lambda done: None) -> Tally:
    _forks.set_forkserver_preload(
        [
            "journal_server.app",
            "journal_server.services.measuring",
            "journal_server.serving.serve",
        ]
    )
    harness = Harness(folder, seed)
    for kind in KINDS:
        harness.one(kind)  # to its end
    for number in range(times):
        harness.one(TURNS[number % len(TURNS)])
        tell(number + 1)
    return harness.finish()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7)
    given = parser.parse_args()

    def tell(done: int) -> None:
        print(f"\r{done} of {given.times} kills", end="", file=sys.stderr, flush=True)

    with tempfile.TemporaryDirectory() as folder:
        tally = kill_again_and_again(Path(folder), given.times, given.seed, tell)
    print(f"\n{tally.says()}")
    for line in tally.wrong:
        print(f"  {line}")
    return 1 if tally.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
