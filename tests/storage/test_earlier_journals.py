"""Journals as every earlier version left them: opened with all that is in them, and never by a version that is older.

The journals were made by the code of their day (see make_earlier_journal.py).
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import re
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from alembic import op
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from feed_as_read import load_changes
from made_photos import jpeg
from made_sounds import wav
from sqlalchemy.exc import OperationalError

from journal_server.app import create_app
from journal_server.cli import main
from journal_server.errors import JournalBusy
from journal_server.services.backup import make_backup, restore_backup
from journal_server.services.check.run import check_journal
from journal_server.services.journal import DATABASE_FILE, open_journal
from journal_server.services.take_in_photo import take_in_photo
from journal_server.services.take_in_recording import take_in_recording
from journal_server.storage.database import known_schemas, newest_schema
from journal_server.storage.folder_lock import serving_alone
from journal_server.storage.tables import Base

EARLIER = Path(__file__).parent / "earlier"
JOURNALS = sorted(path.stem for path in EARLIER.glob("*.zip"))
OF_EACH = {"records": "id, kind, seq, version, deleted, fields, field_versions",
           "measurements": "id, seq, photo_id, planting_id, inputs_hash, method, numbers, frame_polygon",
           "photo_files": "*", "settings": "*"}  # fmt: skip


@pytest.fixture
def earlier(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    folder = tmp_path / "earlier"
    with zipfile.ZipFile(EARLIER / f"{request.param}.zip") as kept:
        kept.extractall(folder)
    return folder


def contents(folder: Path) -> dict[str, list[Any]]:
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        return {
            name: database.execute(f"SELECT {what} FROM {name} ORDER BY 1").fetchall() for name, what in OF_EACH.items()
        }


def step_of(folder: Path) -> str:
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        found: str = database.execute("SELECT version_num FROM alembic_version").fetchone()[0]
    return found


def test_there_is_one_of_every_step_that_ever_was() -> None:
    kept = {name.split("_")[1] for name in JOURNALS}
    earlier = known_schemas() - {newest_schema()}
    assert earlier <= kept <= known_schemas(), "keep one with make_earlier_journal.py before the tables change"


@pytest.mark.parametrize("earlier", JOURNALS, indirect=True)
def test_it_is_opened_with_all_that_is_in_it(earlier: Path) -> None:
    before = contents(earlier)
    assert [len(before[name]) for name in ("records", "measurements", "photo_files")] >= [9, 2, 2]
    with contextlib.closing(open_journal(earlier)) as journal:
        with journal.database.engine.connect() as connection:
            assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []
        assert contents(earlier) == before
        assert journal.setting("heat_day_c") == 33
        with journal.database.reading() as session:
            feed, _, _ = load_changes(session, 0, 1000)
        assert len(feed) == len(before["records"]) + len(before["measurements"])
        client = create_app(journal).test_client()
        for address in (
            "/api/home",
            "/api/numbers?format=json",
            "/api/unsettled",
            "/api/changes",
            "/api/method-change",
        ):
            assert client.get(address).status_code == 200, address
        planting = next(r for r in feed if r["kind"] == "planting")
        assert client.get(f"/api/plantings/{planting['id']}/summary").status_code == 200
        photo = take_in_photo(journal, jpeg("2026:06:12 10:14:03", seed=9, codes=("TAG-7K3Q9M",)), "new.jpg")
        assert photo.photo.fields["planting_id"] == planting["id"]
        take_in_recording(journal, wav(seconds=2), "new.wav")
    assert check_journal(earlier, datetime.now(UTC)).wrong == 0


@pytest.mark.parametrize("earlier", JOURNALS, indirect=True)
def test_its_devices_and_recordings_are_still_there(earlier: Path) -> None:
    step = int(step_of(earlier))
    open_journal(earlier).close()
    with contextlib.closing(sqlite3.connect(earlier / DATABASE_FILE)) as database:
        counted = [
            database.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
            for table in ("devices", "recording_files", "keyed_addresses")
        ]
        unlike = database.execute(
            "SELECT count(*) FROM records WHERE planting_id IS NOT json_extract(fields, '$.planting_id')"
            " OR measuring IS NOT json_extract(fields, '$.measuring')"
        ).fetchone()[0]
    assert counted == [int(step >= 2), int(step >= 3), int(step >= 5) + int(step >= 8)]
    assert unlike == 0, "the columns that repeat a field are filled in for what is old"


@pytest.mark.parametrize("earlier", JOURNALS, indirect=True)
def test_a_backup_of_it_is_restored_and_then_opened(earlier: Path, tmp_path: Path) -> None:
    before, step = contents(earlier), step_of(earlier)
    archive = tmp_path / "archive.zip"
    hashes = {DATABASE_FILE: sha256(earlier / DATABASE_FILE)}
    hashes |= {f"{p.parent.parent.name}/{p.name}": p.stem for p in earlier.glob("*/*/*")}
    with zipfile.ZipFile(archive, "w") as out:
        out.write(earlier / DATABASE_FILE, DATABASE_FILE)
        for path in earlier.glob("*/*/*"):
            out.write(path, f"{path.parent.parent.name}/{path.name}")
        out.writestr("manifest.json", json.dumps({"made_at": "then", "version": "0.1.0", "files": hashes}))
    restore_backup(archive, tmp_path / "new")
    assert step_of(tmp_path / "new") == step, "restoring changes nothing; opening brings up to date"
    with contextlib.closing(open_journal(tmp_path / "new")) as journal:
        assert contents(tmp_path / "new") == before
        make_backup(journal, tmp_path / "again.zip")
    assert restore_backup(tmp_path / "again.zip", tmp_path / "third").photos == 2


def sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize("earlier", JOURNALS, indirect=True)
def test_a_step_that_breaks_off_leaves_the_journal_as_it_was(earlier: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is full at the last statement of all steps."""
    before, step = (earlier / DATABASE_FILE).read_bytes(), step_of(earlier)
    seen = contents(earlier)
    real = MigrationContext.run_migrations

    def break_off(self: MigrationContext, **more: Any) -> None:
        real(self, **more)
        raise OperationalError("COMMIT", {}, sqlite3.OperationalError("database or disk is full"))

    with monkeypatch.context() as patched:
        patched.setattr(MigrationContext, "run_migrations", break_off)
        with pytest.raises(JournalBusy, match="disk is full"):
            open_journal(earlier)
    assert (step_of(earlier), contents(earlier)) == (step, seen)
    assert len(before) == len((earlier / DATABASE_FILE).read_bytes())
    open_journal(earlier).close()
    assert step_of(earlier) == newest_schema()
    assert contents(earlier) == seen


def test_breaking_off_between_the_statements_of_one_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Step 0004 adds a column, fills it and makes an index: with two of the three done, none may stay."""
    folder = tmp_path / "earlier"
    with zipfile.ZipFile(EARLIER / "step_0003.zip") as kept:
        kept.extractall(folder)

    def full(*given: Any, **more: Any) -> None:
        raise OperationalError("CREATE INDEX", {}, sqlite3.OperationalError("database or disk is full"))

    with monkeypatch.context() as patched:
        patched.setattr(op, "create_index", full)
        with pytest.raises(JournalBusy, match="disk is full"):
            open_journal(folder)
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        columns = {row[1] for row in database.execute("PRAGMA table_info(records)")}
    assert (step_of(folder), "planting_id" in columns) == ("0003", False)
    open_journal(folder).close()
    assert step_of(folder) == newest_schema()


def test_the_tables_do_not_change_under_a_server_of_an_earlier_version(tmp_path: Path) -> None:
    folder = tmp_path / "earlier"
    with zipfile.ZipFile(EARLIER / "step_0008.zip") as kept:
        kept.extractall(folder)
    with serving_alone(folder), pytest.raises(JournalBusy, match="served by an earlier version"):
        open_journal(folder)
    assert step_of(folder) == "0008"
    open_journal(folder).close()
    assert step_of(folder) == newest_schema()
    with serving_alone(folder):
        open_journal(folder).close()


@pytest.mark.parametrize("call", ["serve --port 0 --no-browser", "add nothing.jpg", "numbers", "backup {tmp}/b.zip"])
def test_a_newer_journal_is_refused_and_not_touched(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], call: str
) -> None:
    folder = tmp_path / "journal"
    open_journal(folder).close()
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database, database:
        database.execute("UPDATE alembic_version SET version_num = '0999'")
        database.execute("ALTER TABLE records ADD COLUMN of_a_later_day TEXT")
        database.execute("PRAGMA journal_mode=DELETE")
    kept = shutil.copy(folder / DATABASE_FILE, tmp_path / "kept")
    assert main([*call.replace("{tmp}", str(tmp_path)).split(), "--data", str(folder)]) == 2
    said = capsys.readouterr().err
    assert "newer version of the program" in said
    assert re.search(r"step 0999; this version knows steps up to \d{4}", said)
    with (
        contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as now,
        contextlib.closing(sqlite3.connect(kept)) as then,
    ):
        assert list(now.iterdump()) == list(then.iterdump())


def test_two_that_open_an_earlier_journal_at_once_bring_it_up_to_date_once(tmp_path: Path) -> None:
    folder = tmp_path / "earlier"
    with zipfile.ZipFile(EARLIER / "step_0001.zip") as kept:
        kept.extractall(folder)
    before = contents(folder)
    call = [sys.executable, "-m", "journal_server", "numbers", "--data", str(folder)]
    started = [subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(3)]
    assert [(one.communicate(timeout=120)[1], one.returncode) for one in started] == [("", 0)] * 3
    assert (step_of(folder), contents(folder)) == (newest_schema(), before)
