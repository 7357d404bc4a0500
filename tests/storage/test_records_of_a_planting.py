"""The records of a planting are found by their own column, in old journals too."""

import contextlib
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import text

from journal_server.services.journal import DATABASE_FILE, Journal, open_journal
from journal_server.storage.database import Database
from journal_server.storage.records import load_records, save_record


def test_a_record_is_found_where_it_was_last_put(journal: Journal) -> None:
    with journal.database.writing() as session:
        save_record(session, "photo", "p", {"planting_id": "first", "file_name": "a.jpg"})
        save_record(session, "photo", "q", {"planting_id": None})
        save_record(session, "photo", "p", {"planting_id": "second"})
        save_record(session, "photo", "p", {"file_name": "b.jpg"})
    with journal.database.reading() as session:
        assert load_records(session, "photo", equals={"planting_id": "first"}) == []
        (found,) = load_records(session, "photo", equals={"planting_id": "second"})
        assert (found.id, found.fields["file_name"]) == ("p", "b.jpg")
        assert [r.id for r in load_records(session, "photo", among={"planting_id": ["second", "third"]})] == ["p"]


@pytest.mark.sqlite_only
def test_the_column_has_an_index_that_is_used(journal: Journal) -> None:
    with journal.database.reading() as session:
        plan = session.execute(
            text("EXPLAIN QUERY PLAN SELECT id FROM records WHERE kind = 'photo' AND planting_id = 'second'")
        )
        assert "ix_records_planting_id_kind" in str(plan.all())


def test_an_old_journal_learns_which_records_belong_to_a_planting(tmp_path: Path) -> None:
    path = tmp_path / DATABASE_FILE
    with contextlib.closing(Database(f"sqlite:///{path}")) as first:
        first.upgrade("0003")
    with contextlib.closing(sqlite3.connect(path)) as old, old:
        for seq, fields in enumerate(('{"planting_id": "it"}', '{"planting_id": null}', '{"title": "Terrace"}'), 1):
            old.execute(
                "INSERT INTO records (id, kind, seq, version, deleted, fields, field_versions)"
                " VALUES (?, 'photo', ?, 1, 0, ?, '{}')",
                (str(seq), seq, fields),
            )
    with contextlib.closing(open_journal(tmp_path)) as journal, journal.database.reading() as session:
        assert [r.id for r in load_records(session, "photo", equals={"planting_id": "it"})] == ["1"]
        assert len(load_records(session, "photo")) == 3
