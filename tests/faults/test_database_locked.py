"""Another program holds the database: refused after a wait, nothing lost, and it goes on when it is let go."""

from __future__ import annotations

import contextlib
import sqlite3
import threading
import time
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import pytest
from made_photos import jpeg
from sqlalchemy.orm import Session

from journal_server.app import create_app
from journal_server.errors import JournalBusy
from journal_server.services.backup import make_backup, restore_backup
from journal_server.services.check.run import check_journal
from journal_server.services.journal import DATABASE_FILE, Journal, open_journal
from journal_server.services.measuring import MeasuringRoom, WorkerProcess
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage.database import Database
from journal_server.storage.records import load_records

EARLIER = Path(__file__).parents[1] / "storage" / "earlier" / "step_0002.zip"


@pytest.fixture
def impatient(tmp_path: Path) -> Iterator[Journal]:
    """A journal that waits a fifth of a second for the database instead of half a minute."""
    folder = tmp_path / "journal"
    open_journal(folder).close()
    journal = Journal(folder, Database(f"sqlite:///{folder / DATABASE_FILE}", busy_wait_s=0.2))
    with contextlib.closing(journal):
        yield journal


@contextlib.contextmanager
def held_by_another(folder: Path) -> Iterator[None]:
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield
        other.execute("ROLLBACK")


def test_an_upload_and_a_note_are_refused_and_taken_in_later(impatient: Journal) -> None:
    client = create_app(impatient).test_client()
    content = jpeg("2026:06:12 10:14:03", size=(160, 120))
    with held_by_another(impatient.folder):
        answer = client.post("/api/photos", data={"photo": (BytesIO(content), "a.jpg")})
        assert (answer.status_code, answer.get_json()["error"]["kind"]) == (503, "JournalBusy")
        assert "try again in a moment" in answer.get_json()["error"]["message"]
        change = {"kind": "trial", "id": "00000000-0000-4000-8000-000000000001", "fields": {"title": "t", "year": 2026}}
        assert client.post("/api/changes", json={"changes": [change]}).status_code == 503
        assert client.get("/api/home").status_code == 200, "reading goes on"
    assert client.post("/api/photos", data={"photo": (BytesIO(content), "a.jpg")}).status_code == 201
    assert client.post("/api/changes", json={"changes": [change]}).status_code == 200
    assert check_journal(impatient.folder, datetime.now(UTC)).wrong == 0


def test_measuring_waits_and_goes_on(impatient: Journal) -> None:
    take_in_photo(impatient, jpeg("2026:06:12 10:14:03", size=(160, 120)), "a.jpg")
    room = MeasuringRoom(impatient, [WorkerProcess()])

    def states() -> list[str]:
        with impatient.database.reading() as session:
            return [photo.fields["measuring"] for photo in load_records(session, "photo")]

    with held_by_another(impatient.folder):
        for thread in room._threads:
            thread.start()
        time.sleep(3)
        assert states() == ["waiting"]
    until = time.monotonic() + 60
    while states() != ["done"]:
        assert time.monotonic() < until
        time.sleep(0.1)
    room.stop()


def test_a_backup_is_made_although_another_writes(impatient: Journal, tmp_path: Path) -> None:
    take_in_photo(impatient, jpeg("2026:06:12 10:14:03", size=(160, 120)), "a.jpg")
    with held_by_another(impatient.folder):
        done: list[int] = []
        making = threading.Thread(target=lambda: done.append(make_backup(impatient, tmp_path / "b.zip").photos))
        making.start()
        making.join(timeout=60)
        assert done == [1]
    assert restore_backup(tmp_path / "b.zip", tmp_path / "new").photos == 1


def test_an_earlier_journal_stays_as_it_is_until_it_is_let_go(tmp_path: Path) -> None:
    with zipfile.ZipFile(EARLIER) as kept:
        kept.extractall(tmp_path / "journal")
    before = _tables(tmp_path / "journal")
    with held_by_another(tmp_path / "journal"):
        database = Database(f"sqlite:///{tmp_path / 'journal' / DATABASE_FILE}", busy_wait_s=0.2)
        with contextlib.closing(database), pytest.raises(JournalBusy, match="try again in a moment"):
            database.upgrade()
    assert _tables(tmp_path / "journal") == before
    open_journal(tmp_path / "journal").close()
    assert _tables(tmp_path / "journal") != before
    assert check_journal(tmp_path / "journal", datetime.now(UTC)).wrong == 0


def _tables(folder: Path) -> list[tuple[str, str]]:
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        return database.execute("SELECT name, sql FROM sqlite_master ORDER BY name").fetchall()


def test_measuring_outlives_a_database_that_does_not_even_open(
    impatient: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk refuses the first reading already: the room looks again later."""
    room = MeasuringRoom(impatient, [WorkerProcess()])
    asked = threading.Event()
    claiming = impatient.database.claiming

    def refuse_once() -> contextlib.AbstractContextManager[Session]:
        monkeypatch.setattr(impatient.database, "claiming", claiming)
        asked.set()
        raise JournalBusy("The journal's database does not answer (disk I/O error).")

    monkeypatch.setattr(impatient.database, "claiming", refuse_once)
    take_in_photo(impatient, jpeg("2026:06:12 10:14:03", size=(160, 120)), "a.jpg")
    for thread in room._threads:
        thread.start()
    assert asked.wait(20)
    until = time.monotonic() + 60
    while True:
        with impatient.database.reading() as session:
            if load_records(session, "photo")[0].fields["measuring"] == "done":
                break
        assert time.monotonic() < until
        time.sleep(0.1)
    room.stop()
