"""What PostgreSQL does otherwise than SQLite: who waits for whom, and how it says that something is wrong."""

import contextlib
import json
import subprocess
import sys
import threading
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import pytest
from conftest import FreshDatabase
from made_photos import jpeg
from postgresql import GUARDED
from sqlalchemy import text

from journal_server.errors import InputRefused, JournalBusy
from journal_server.services.backup import make_backup
from journal_server.services.check.findings import WRONG
from journal_server.services.check.run import check_journal
from journal_server.services.feed_identity import JOURNAL, feed_identity
from journal_server.services.journal import Journal, open_journal
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage.database import Database
from journal_server.storage.database_errors import SQLSTATES
from journal_server.storage.records import load_record, save_record, save_setting

pytestmark = pytest.mark.postgresql_only


def at_once(*jobs: Callable[[], None]) -> list[BaseException]:
    failed: list[BaseException] = []

    def run(job: Callable[[], None]) -> None:
        try:
            job()
        except BaseException as error:
            failed.append(error)

    threads = [threading.Thread(target=run, args=(job,)) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return failed


def test_what_a_decision_was_read_from_stays_true_until_it_is_written(journal: Journal) -> None:
    """Eight writers of two processes' worth of pools add one to the same number, each from what it read."""
    with contextlib.closing(Database(journal.database.url)) as other:
        with journal.database.writing() as session:
            save_record(session, "trial", "a", {"year": 0})

        def add(database: Database) -> None:
            for _ in range(10):
                with database.writing() as session:
                    record = load_record(session, "a")
                    assert record is not None
                    save_record(session, "trial", "a", {"year": record.fields["year"] + 1})

        assert at_once(*(lambda d=d: add(d) for d in [journal.database, other] * 4)) == []  # type: ignore[misc]
    with journal.database.reading() as session:
        record = load_record(session, "a")
        assert record is not None
        assert record.fields == {"year": 80}


def test_who_reads_sees_one_state_of_all(journal: Journal) -> None:
    with journal.database.reading() as session:
        assert load_record(session, "a") is None
        with journal.database.writing() as writer:
            save_record(writer, "trial", "a", {"year": 2026})
        assert load_record(session, "a") is None
    with journal.database.reading() as session:
        assert load_record(session, "a") is not None


def test_who_reads_cannot_write(journal: Journal) -> None:
    with pytest.raises(JournalBusy, match="takes no changes"), journal.database.reading() as session:
        save_record(session, "trial", "a", {"year": 2026})


def test_who_waits_too_long_for_another_is_told_so(journal: Journal) -> None:
    hasty = Database(journal.database.url, busy_wait_s=0.2)
    with contextlib.closing(hasty), journal.database.writing() as session:
        save_record(session, "trial", "a", {"year": 2026})
        with pytest.raises(JournalBusy, match="Another program"), hasty.writing():
            pass
    with journal.database.reading() as session:
        assert load_record(session, "a") is not None


def test_two_servers_that_begin_at_once_upgrade_one_after_the_other(journal: Journal) -> None:
    plain = Database(journal.database.url)
    with contextlib.closing(plain), plain.engine.begin() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
    upgrade = f"from journal_server.storage.database import Database; Database({journal.database.url!r}).upgrade()"
    servers = [subprocess.Popen([sys.executable, "-c", upgrade]) for _ in range(3)]
    assert [server.wait(timeout=120) for server in servers] == [0, 0, 0]
    with journal.database.writing() as session:
        save_record(session, "trial", "a", {"year": 2026})


@pytest.mark.parametrize("sqlstate", sorted(SQLSTATES))
def test_what_the_server_complains_of_is_said_plainly(journal: Journal, sqlstate: str) -> None:
    complain = text(f"DO $$ BEGIN RAISE EXCEPTION USING ERRCODE = '{sqlstate}'; END $$")

    def write() -> None:
        with journal.database.writing() as session:
            save_record(session, "trial", "a", {"year": 2026})
            session.execute(complain)

    with pytest.raises(JournalBusy, match="Nothing was changed"):
        write()
    with journal.database.writing() as session:
        assert load_record(session, "a") is None


def test_a_server_that_ended_is_said_to_be_away_and_found_again(journal: Journal) -> None:
    others = "FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
    other = Database(journal.database.url)

    def write() -> None:
        with journal.database.writing() as session:
            save_record(session, "trial", "a", {"year": 2026})
            with other.engine.begin() as connection:
                connection.execute(text(f"SELECT pg_terminate_backend(pid) {others}"))
            save_record(session, "trial", "b", {"year": 2026})

    with contextlib.closing(other), pytest.raises(JournalBusy, match="does not answer"):
        write()
    with journal.database.reading() as session:
        assert (load_record(session, "a"), load_record(session, "b")) == (None, None)


def test_why_no_one_is_let_in_is_said_plainly(journal: Journal) -> None:
    with journal.database.writing() as session:
        session.execute(text(f"CREATE ROLE {GUARDED} LOGIN PASSWORD 'right'"))
    try:
        for user, name, says in (
            (f"{GUARDED}:wrong", None, "does not accept this user"),
            (GUARDED, None, "password file"),
            ("journal", "no_such_database", "knows no such database"),
        ):
            url = journal.database.url.replace("journal@", f"{user}@", 1)
            if name:
                url = url.replace(url.split("@/")[1].split("?")[0], name)
            with contextlib.closing(Database(url)) as database, pytest.raises(JournalBusy, match=says):
                database.upgrade()
    finally:
        with journal.database.writing() as session:
            session.execute(text(f"DROP ROLE {GUARDED}"))


def test_no_server_at_all_is_said_plainly() -> None:
    database = Database("postgresql+psycopg://nobody@127.0.0.1:1/none")
    with contextlib.closing(database), pytest.raises(JournalBusy, match="does not answer"):
        database.upgrade()


def test_an_address_for_a_driver_that_is_not_there_is_refused() -> None:
    with pytest.raises(InputRefused, match="not installed"):
        Database("postgresql+nosuchdriver://nobody@127.0.0.1/none")


def test_the_feed_is_the_same_from_every_folder_and_another_in_a_copy(
    journal: Journal, tmp_path: Path, fresh_database: FreshDatabase
) -> None:
    ours = feed_identity(journal)
    with contextlib.closing(open_journal(tmp_path / "elsewhere", journal.database.url)) as elsewhere:
        assert feed_identity(elsewhere) == ours
    with fresh_database() as url, contextlib.closing(open_journal(tmp_path / "copy", url)) as copy:
        with copy.database.writing() as session:
            save_setting(session, JOURNAL, json.dumps(ours["journal"]))
        restored = feed_identity(copy)
    assert (restored["journal"], restored["feed"] != ours["feed"]) == (ours["journal"], True)


def test_a_backup_is_left_to_the_database_server(journal: Journal, tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="pg_dump"):
        make_backup(journal, tmp_path / "backup.zip")
    assert list(tmp_path.glob("backup*")) == []


def test_the_check_reads_the_database_and_the_files(journal: Journal) -> None:
    photo = take_in_photo(journal, jpeg("2026:06:12 10:14:03"), "a.jpg").photo
    check = partial(check_journal, journal.folder, datetime.now(UTC), url=journal.database.url)
    assert (check().wrong, check().files) == (0, 1)
    next(journal.files.all_originals()).unlink()
    (finding,) = (found for found in check().findings if found.grade == WRONG)
    assert photo.fields["file_name"] in finding.what
