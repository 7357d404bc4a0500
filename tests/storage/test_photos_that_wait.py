"""The photos that wait to be measured are found by an index, however many are measured already."""

import uuid
from typing import Any

from sqlalchemy import event, text

from journal_server.services.journal import Journal
from journal_server.storage.claims import claim_next
from journal_server.storage.records import load_records, save_record

MEASURED = text(
    "INSERT INTO records (id, kind, seq, version, deleted, fields, field_versions, measuring) WITH RECURSIVE n(at) AS"
    " (SELECT 1 UNION ALL SELECT at + 1 FROM n WHERE at < 5000)"
    " SELECT 'done ' || at, 'photo', 1000 + at, 1, false, '{\"measuring\": \"done\"}', '{}', 'done' FROM n"
)


def plan_of_claiming(journal: Journal) -> str:
    """How the database finds the photo that is claimed, as it tells it."""
    asked: list[Any] = []
    event.listen(
        journal.database.engine, "before_cursor_execute", lambda *given: asked.append((given[2], given[3])), named=False
    )
    with journal.database.claiming() as session:
        assert claim_next(session, str(uuid.uuid4())) == "waits"
    statement, given = next(one for one in asked if "FROM records" in one[0])
    how = "EXPLAIN QUERY PLAN " if journal.database.on_sqlite else "EXPLAIN "
    with journal.database.engine.connect() as connection:
        return str(connection.exec_driver_sql(how + statement, given).all())


def test_claiming_reads_none_of_those_that_are_measured(journal: Journal) -> None:
    with journal.database.writing() as session:
        session.execute(MEASURED)
        save_record(session, "photo", "waits", {"measuring": "waiting"})
        session.execute(text("ANALYZE records"))
    assert "ix_records_measuring_seq" in plan_of_claiming(journal)


def test_a_photo_waits_as_long_as_it_says_so(journal: Journal) -> None:
    def waiting() -> list[str]:
        with journal.database.reading() as session:
            return [one.id for one in load_records(session, "photo", equals={"measuring": "waiting"})]

    with journal.database.writing() as session:
        for name in ("a", "b"):
            save_record(session, "photo", name, {"measuring": "waiting"})
    assert waiting() == ["a", "b"]
    with journal.database.writing() as session:
        save_record(session, "photo", "a", {"measuring": "done"})
        save_record(session, "photo", "b", {"file_name": "b.jpg"})
    assert waiting() == ["b"]
