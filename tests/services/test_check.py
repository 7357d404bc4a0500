"""The check: a whole journal is whole; each kind of harm is named with how to mend it, and nothing is changed."""

import contextlib
import os
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from conftest import SetUp
from made_photos import jpeg
from made_sounds import wav

from journal_server.cli import main
from journal_server.errors import InputRefused
from journal_server.services.certificates import home_certificate
from journal_server.services.check import surroundings
from journal_server.services.check.findings import NOTE, WRONG
from journal_server.services.check.run import CheckReport, check_journal
from journal_server.services.check.surroundings import check_folder, check_libraries
from journal_server.services.journal import DATABASE_FILE, Journal, open_journal
from journal_server.services.serving_alone import alone_with
from journal_server.services.take_in_photo import take_in_photo
from journal_server.services.take_in_recording import take_in_recording
from journal_server.storage.database import Database, known_schemas
from journal_server.storage.records import save_measurement

pytestmark = pytest.mark.sqlite_only
OLD = 1_000_000_000.0


@pytest.fixture
def filled(journal: Journal, set_up: SetUp) -> Journal:
    set_up.planting("TAG-7K3Q9M")
    for seed in range(3):
        photo = take_in_photo(journal, jpeg("2026:06:12 10:14:03", seed=seed, size=(160, 120)), f"{seed}.jpg").photo
    take_in_recording(journal, wav(), "remark.wav")
    with journal.database.writing() as session:
        save_measurement(
            session, id="m", photo_id=photo.id, planting_id=None, inputs_hash="i", basis_hash="b", method="method",
            numbers={}, frame_polygon=None, frame_how=None, measured_at="2026-06-12T10:00:00+00:00",
        )  # fmt: skip
    return journal


def look(journal: Journal, **more: Any) -> CheckReport:
    return check_journal(journal.folder, datetime.now(UTC), **more)


def everything(folder: Path) -> dict[str, tuple[int, bytes]]:
    files = [path for path in folder.rglob("*") if path.is_file() and not path.name.endswith(("-shm", "-wal"))]
    return {str(path): (path.stat().st_mtime_ns, path.read_bytes()) for path in files}


def test_a_whole_journal_is_said_to_be_whole(filled: Journal) -> None:
    before = everything(filled.folder)
    report = look(filled)
    assert [(f.part, f.what) for f in report.findings] == [("backup", "The journal was never backed up.")]
    assert (report.wrong, report.files) == (0, 4)
    assert report.records == 8
    assert everything(filled.folder) == before, "looking changes nothing"


def original(journal: Journal) -> Path:
    return next(journal.files.all_originals())


def in_database(journal: Journal, *statements: str) -> None:
    with contextlib.closing(sqlite3.connect(journal.folder / DATABASE_FILE)) as database, database:
        for statement in statements:
            database.execute(statement)


def rot(journal: Journal) -> None:
    path = original(journal)
    content = bytearray(path.read_bytes())
    content[-1] ^= 1
    path.chmod(0o644)
    path.write_bytes(content)


def stray(journal: Journal, name: str) -> None:
    path = journal.folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"x")
    os.utime(path, (OLD, OLD))


def replaced_by_link(journal: Journal) -> None:
    path = original(journal)
    path.unlink()
    path.symlink_to(journal.folder / "nowhere")


HARMS: dict[str, tuple[Callable[[Journal], None], str, str, str, str]] = {
    "a photo is gone": (lambda j: original(j).unlink(), WRONG, "files", "Files are missing", "Take the same photo"),
    "a photo is a link to nothing": (replaced_by_link, WRONG, "files", "Files are missing", "Take the same photo"),
    "one bit of a photo": (rot, WRONG, "files", "have changed on disk", "Take the same photo in again"),
    "a stray file": (
        lambda j: stray(j, f"originals/ab/{'ab' * 32}.jpg"), NOTE, "files", "no record names", "journal-server add",
    ),
    "a broken-off write": (
        lambda j: stray(j, "originals/ab/.new-xyz"), NOTE, "files", "broken off", "can be deleted",
    ),
    "a broken-off picture": (
        lambda j: stray(j, "derived/ab/.new-xyz"), NOTE, "files", "broken off", "can be deleted",
    ),
    "a record is gone": (
        lambda j: in_database(j, "DELETE FROM records WHERE kind = 'planter'"),
        WRONG, "records", "a record that is not in the journal", "Restore the last good backup",
    ),
    "a planter was deleted under its planting": (
        lambda j: in_database(j, "UPDATE records SET deleted = 1 WHERE kind = 'planter'"),
        NOTE, "records", "one that was deleted", "choose another",
    ),
    "a visit has not come yet": (
        lambda j: in_database(
            j, "UPDATE records SET fields = json_set(fields, '$.visit_id', 'v') WHERE kind = 'recording'"
        ),
        NOTE, "records", "waits for it", "phones",
    ),
    "a value that cannot be": (
        lambda j: in_database(
            j, "UPDATE records SET fields = json_set(fields, '$.planted_on', 'May') WHERE kind = 'planting'"
        ),
        WRONG, "records", "planted_on of planting", "set the field again",
    ),
    "a kind of a newer version": (
        lambda j: in_database(j, "INSERT INTO records VALUES ('x', 'sonnet', 99, 1, 0, '{}', '{}', NULL, NULL)",
                              "UPDATE counters SET value = 99"),
        NOTE, "records", "sonnet x", "newer version",
    ),
    "the row of a file is gone": (
        lambda j: in_database(j, "DELETE FROM photo_files WHERE rowid = 1"),
        WRONG, "files", "does not know the file", "Restore",
    ),
    "a record names other bytes": (
        lambda j: in_database(
            j, "UPDATE records SET fields = json_set(fields, '$.sha256', 'x') WHERE kind = 'recording'"
        ),
        WRONG, "files", "names other bytes", "compare",
    ),
    "a measurement without its photo": (
        lambda j: in_database(j, "UPDATE measurements SET photo_id = 'none'"),
        WRONG, "records", "Measurements without their photo", "Restore",
    ),
    "measured without a measurement": (
        lambda j: in_database(
            j, "DELETE FROM measurements",
            "UPDATE records SET fields = json_set(fields, '$.measuring', 'done') WHERE kind = 'photo'",
        ),
        WRONG, "records", "without a measurement", "Serve the journal",
    ),
    "the counter fell behind": (
        lambda j: in_database(j, "UPDATE counters SET value = 2"), WRONG, "database", "stands at 2", "Restore",
    ),
    "a setting that cannot be": (
        lambda j: in_database(j, "UPDATE settings SET value = '\"Mars/Olympus\"' WHERE name = 'time_zone'"),
        WRONG, "settings", "Time zone of the garden", "Set-up",
    ),
    "a newer schema": (
        lambda j: in_database(j, "UPDATE alembic_version SET version_num = '9999'"),
        WRONG, "database", "newer version", "Install the newer version",
    ),
    "a foreign key": (
        lambda j: in_database(j, "UPDATE photo_files SET photo_id = 'none' WHERE rowid = 1"),
        WRONG, "database", "names no row of records", "Restore",
    ),
    "a table is gone": (
        lambda j: in_database(j, "DROP TABLE claims"), WRONG, "database", "are missing: claims", "Restore",
    ),
    "a photo that is filed elsewhere": (
        lambda j: in_database(j, "UPDATE records SET planting_id = 'x' WHERE kind = 'photo'"),
        WRONG, "database", "filed where they do not belong: photo", "Restore",
    ),
    "a moment to come": (
        lambda j: in_database(j, "UPDATE measurements SET measured_at = '2100-01-01T00:00:00+00:00'"),
        NOTE, "clock", "2100-01-01", "Set the clock",
    ),
}  # fmt: skip


@pytest.mark.parametrize("harm", HARMS)
def test_each_harm_is_named_with_how_to_mend_it(filled: Journal, harm: str) -> None:
    do_harm, grade, part, what, mend = HARMS[harm]
    do_harm(filled)
    before = everything(filled.folder)
    report = look(filled)
    found = [f for f in report.findings if f.grade == grade and f.part == part and what in f.what]
    assert len(found) == 1, [f.as_dict() for f in report.findings]
    assert mend in found[0].mend
    assert found[0].what.endswith(".")
    assert everything(filled.folder) == before


def test_the_mend_for_a_rotten_or_lost_photo_mends_it(filled: Journal) -> None:
    for harm in (rot, lambda j: original(j).unlink()):
        harm(filled)
        assert look(filled).wrong == 1
        for seed in range(3):
            content = jpeg("2026:06:12 10:14:03", seed=seed, size=(160, 120))
            assert take_in_photo(filled, content, f"{seed}.jpg").outcome == "already here"
        assert look(filled).wrong == 0


def test_quick_sees_a_cut_photo_but_reads_none(filled: Journal) -> None:
    rot(filled)
    assert look(filled, hashing=False).wrong == 0
    path = original(filled)
    path.write_bytes(path.read_bytes()[:-1])
    assert look(filled, hashing=False).wrong == 1


def test_torn_pages_of_the_database_are_found_and_the_rest_is_looked_at(filled: Journal) -> None:
    filled.close()
    in_database(filled, "PRAGMA wal_checkpoint(TRUNCATE)")
    path = filled.folder / DATABASE_FILE
    content = bytearray(path.read_bytes())
    content[4096 * 2 : 4096 * 12] = os.urandom(4096 * 10)
    path.write_bytes(content)
    report = look(filled)
    assert report.wrong >= 1
    assert {"database", "backup"} <= {f.part for f in report.findings}


def test_a_file_that_is_no_database(filled: Journal) -> None:
    filled.close()
    (filled.folder / DATABASE_FILE).write_bytes(b"not at all" * 500)
    (finding,) = (f for f in look(filled).findings if f.grade == WRONG)
    assert "cannot be read" in finding.what
    assert "backup" in finding.mend


@pytest.mark.parametrize("step", sorted(known_schemas()))
def test_an_earlier_schema_is_looked_at_and_not_changed(tmp_path: Path, step: str) -> None:
    with contextlib.closing(Database(f"sqlite:///{tmp_path / DATABASE_FILE}")) as early:
        early.upgrade(step)
    before = everything(tmp_path)
    report = check_journal(tmp_path, datetime.now(UTC))
    assert report.wrong == 0
    assert everything(tmp_path) == before


def test_where_there_is_no_journal_none_is_made(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="There is no journal"):
        check_journal(tmp_path, datetime.now(UTC))
    assert list(tmp_path.iterdir()) == []


def test_certificates_that_end_or_are_open_to_others(filled: Journal) -> None:
    folder = filled.folder / "certificates"
    now = datetime.now(UTC)
    home_certificate(folder, ["192.168.1.20"], now)
    assert [f for f in look(filled).findings if f.part == "certificate"] == []
    later = check_journal(filled.folder, now + timedelta(days=390))
    assert [(f.grade, "ends on" in f.what) for f in later.findings if f.part == "certificate"] == [(NOTE, True)]
    ended = check_journal(filled.folder, now + timedelta(days=400))
    assert [(f.grade, "ended on" in f.what) for f in ended.findings if f.part == "certificate"] == [(WRONG, True)]
    early = check_journal(filled.folder, now - timedelta(days=3))
    assert {(f.grade, "valid only from" in f.what) for f in early.findings if f.part == "certificate"} == {
        (WRONG, True)
    }
    (folder / "server.pem").chmod(0o644)
    (open_to_others,) = (f for f in look(filled).findings if f.part == "certificate")
    assert open_to_others.mend.startswith("chmod 600")
    (folder / "server.pem").write_bytes(b"torn")
    assert any("cannot be read" in f.what for f in look(filled).findings if f.part == "certificate")


def test_a_disk_that_runs_full_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for free, grades in ((2e9, []), (5e8, [NOTE]), (5e7, [WRONG])):
        monkeypatch.setattr(surroundings.shutil, "disk_usage", lambda path, free=free: type("U", (), {"free": free})())
        assert [f.grade for f in check_folder(tmp_path)] == grades


def test_libraries_that_are_missing_or_do_not_load() -> None:
    assert check_libraries() == []
    assert "no-such-library" in check_libraries(["no-such-library"], [])[0].what
    assert "no_such_module" in check_libraries([], ["no_such_module"])[0].what


def test_an_old_backup_and_a_failed_one_are_said(filled: Journal) -> None:
    stamp = filled.folder / "last_backup.json"
    stamp.write_text('{"made_at": "2020-01-01T00:00:00+00:00", "failure": "The disk was full."}')
    found = {f.grade: f.what for f in look(filled).findings}
    assert found == {
        NOTE: "The last good backup is from 2020-01-01.",
        WRONG: "The last backup failed. The disk was full.",
    }


def test_the_call_says_it_in_sentences_and_by_its_status(filled: Journal, capsys: pytest.CaptureFixture[str]) -> None:
    call = ["check", "--data", str(filled.folder)]
    assert main(call) == 0
    assert "4 photos and recordings, read and compared by hash." in capsys.readouterr().out
    name = original(filled).name
    original(filled).unlink()
    assert main([*call, "--quick"]) == 1
    out = capsys.readouterr().out
    assert "WRONG (files): Files are missing: " in out
    assert name in out
    assert "1 wrong, 1 to note." in out
    assert main([*call, "--json"]) == 1
    assert '"wrong": 1' in capsys.readouterr().out
    assert main(["check", "--data", str(filled.folder / "nowhere")]) == 2


def test_serving_clears_away_what_is_a_day_old(filled: Journal) -> None:
    stray(filled, "originals/ab/.new-old")
    young = filled.folder / "derived" / ".new-young"
    young.write_bytes(b"being written")
    with alone_with(filled):
        assert not (filled.folder / "originals" / "ab" / ".new-old").exists()
        assert young.exists()


def test_it_looks_at_a_journal_that_is_being_written(filled: Journal) -> None:
    with contextlib.closing(open_journal(filled.folder)) as other, other.database.writing():
        assert look(filled).wrong == 0
