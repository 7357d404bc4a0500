import contextlib
import sqlite3
import stat
import threading
import uuid
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from feed_as_read import load_changes

from journal_server.errors import JournalBusy, JournalDamaged
from journal_server.services.journal import DATABASE_FILE, Journal, open_journal
from journal_server.storage.database import Database
from journal_server.storage.inspection import integrity_problems
from journal_server.storage.photo_files import PhotoFiles, write_durably
from journal_server.storage.recordings import recording_of_bytes, save_recording_file
from journal_server.storage.records import load_record, load_records, save_record
from journal_server.storage.tables import Base


def test_the_migrations_make_exactly_the_tables_of_the_code(journal: Journal) -> None:
    with journal.database.engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []


def test_an_earlier_journal_with_records_in_it_is_brought_up_to_date(tmp_path: Path) -> None:
    """A database as the first version left it: one step of the schema, with a photo and its numbers."""
    path = tmp_path / DATABASE_FILE
    with contextlib.closing(Database(f"sqlite:///{path}")) as first:
        first.upgrade("0001")
    with contextlib.closing(sqlite3.connect(path)) as old, old:
        tables = {row[0] for row in old.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        assert "recording_files" not in tables
        old.execute("UPDATE counters SET value = 2")
        old.execute(
            "INSERT INTO records (id, kind, seq, version, deleted, fields, field_versions) VALUES (?,?,?,?,?,?,?)",
            ("p", "photo", 1, 3, False, '{"file_name": "a.jpg", "planting_id": null}', '{"file_name": 1}'),
        )
        old.execute("INSERT INTO photo_files VALUES (?, ?, ?, ?)", ("0" * 64, "p", ".jpg", 7))
        old.execute(
            "INSERT INTO measurements VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            ("m", 2, "p", None, "i", "b", "method", '{"x": 1}', None, None, "2026-06-12T10:00:00+00:00"),
        )
    with contextlib.closing(open_journal(tmp_path)) as journal, journal.database.writing() as session:
        feed, cursor, _ = load_changes(session, 0, 10)
        assert [(r["kind"], r["id"], r["version"]) for r in feed] == [("photo", "p", 3), ("measurement", "m", 1)]
        assert (feed[0]["fields"]["file_name"], cursor) == ("a.jpg", 2)
        save_record(session, "recording", "r", {"sha256": "1" * 64})
        save_recording_file(session, "1" * 64, "r", ".wav", 44)
        assert recording_of_bytes(session, "1" * 64) == "r"
        assert integrity_problems(session.connection()) == []


def test_opening_again_changes_nothing(journal: Journal) -> None:
    with journal.database.writing() as session:
        save_record(session, "trial", "a", {"title": "kept"})
    again = open_journal(journal.folder, journal.database.url)
    with contextlib.closing(again), again.database.reading() as session:
        record = load_record(session, "a")
        assert record is not None
        assert record.fields == {"title": "kept"}


def test_a_transaction_that_fails_leaves_nothing(journal: Journal) -> None:
    def half_done() -> None:
        with journal.database.writing() as session:
            save_record(session, "trial", "a", {"title": "half done"})
            raise RuntimeError("pulled the plug")

    with pytest.raises(RuntimeError):
        half_done()
    with journal.database.reading() as session:
        assert load_records(session, "trial") == []
        assert load_changes(session, 0, 10) == ([], 0, False)


def test_versions_and_order_of_fields_and_feed(journal: Journal) -> None:
    with journal.database.writing() as session:
        save_record(session, "trial", "a", {"title": "one", "year": 2026})
        save_record(session, "trial", "b", {"title": "two"})
        record = save_record(session, "trial", "a", {"title": "three"})
    assert (record.version, record.seq) == (2, 3)
    assert record.field_versions == {"title": 2, "year": 1}
    with journal.database.reading() as session:
        first, cursor, more = load_changes(session, 0, 1)
        rest, last, no_more = load_changes(session, cursor, 10)
    assert ([r["id"] for r in first], more) == (["b"], True)
    assert ([r["id"] for r in rest], last, no_more) == (["a"], 3, False)


def test_numbers_of_the_feed_are_unique_among_threads(journal: Journal) -> None:
    def write() -> None:
        for _ in range(10):
            with journal.database.writing() as session:
                save_record(session, "trial", str(uuid.uuid4()), {"title": "x"})

    threads = [threading.Thread(target=write) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with journal.database.reading() as session:
        assert sorted(r.seq for r in load_records(session, "trial")) == list(range(1, 41))


def test_a_locked_database_is_said_so(tmp_path: Path) -> None:
    path = tmp_path / "locked.sqlite3"
    database = Database(f"sqlite:///{path}", busy_wait_s=0.2)
    database.upgrade()
    with contextlib.closing(sqlite3.connect(path)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(JournalBusy, match="Another program"), database.writing():
            pass
    with database.writing() as session:
        save_record(session, "trial", "a", {"title": "works again"})
    database.close()


def test_a_file_that_is_no_database_is_said_so(tmp_path: Path) -> None:
    (tmp_path / DATABASE_FILE).write_bytes(b"this is no database at all, not even a small one" * 50)
    with pytest.raises(JournalDamaged, match="Restore"):
        open_journal(tmp_path)


def test_originals_are_read_only_and_written_once(tmp_path: Path) -> None:
    files = PhotoFiles(tmp_path)
    sha256 = "a" * 64
    path = files.keep_original(sha256, ".jpg", b"bytes")
    before = path.stat().st_mtime_ns
    assert files.keep_original(sha256, ".jpg", b"bytes") == path
    assert path.stat().st_mtime_ns == before
    assert stat.S_IMODE(path.stat().st_mode) == 0o444
    assert [p.name for p in path.parent.iterdir()] == [path.name], "no temporary file is left"


def test_a_failed_write_leaves_the_old_file(tmp_path: Path) -> None:
    target = tmp_path / "folder"
    target.write_bytes(b"a file where a folder is needed")
    with pytest.raises(JournalBusy, match="could not be written"):
        write_durably(target / "x.jpg", b"new")
    assert target.read_bytes() == b"a file where a folder is needed"


def test_paths_are_made_from_hashes_only(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="SHA-256"):
        PhotoFiles(tmp_path).original("../../etc/passwd", ".jpg")
