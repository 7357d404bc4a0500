"""Backups into a folder: photos once, the database each time, made on a schedule, failures said."""

import contextlib
import json
import sqlite3
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from conftest import SetUp
from feed_as_read import load_changes
from flask.testing import FlaskClient
from made_photos import jpeg

from journal_server.app import create_app
from journal_server.errors import InputRefused, JournalBusy, JournalDamaged
from journal_server.services.backup import back_up_to_folder, backup_state, contents, restore_backup, state
from journal_server.services.backup.folder import READ_AGAIN, kept_in
from journal_server.services.backup.schedule import BackupKeeper, is_due
from journal_server.services.backup.state import BackupState, note_failure
from journal_server.services.home import describe_home
from journal_server.services.journal import Journal, open_journal
from journal_server.services.take_in_photo import take_in_photo

pytestmark = pytest.mark.sqlite_only
NOW = datetime(2026, 7, 14, 8, 0, tzinfo=UTC)


def take(journal: Journal, seed: int) -> None:
    take_in_photo(journal, jpeg("2026:06:12 10:14:03", seed=seed, size=(160, 120)), f"{seed}.jpg")


def times_of(folder: Path) -> dict[str, int]:
    return {path.name: path.stat().st_mtime_ns for path in (folder / "originals").glob("*/*")}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "disk" / "backups"


@pytest.fixture
def filled(journal: Journal, set_up: SetUp, folder: Path) -> Journal:
    folder.parent.mkdir()
    set_up.planting("TAG-7K3Q9M")
    for seed in range(3):
        take(journal, seed)
    return journal


def test_photos_are_copied_once_and_each_backup_can_be_restored(
    filled: Journal, folder: Path, tmp_path: Path, set_up: SetUp
) -> None:
    back_up_to_folder(filled, folder, 9)
    first = times_of(folder)
    with filled.database.reading() as session:
        then = load_changes(session, 0, 10_000)
    take(filled, 7)
    set_up.make("trial", title="Later", year=2027)
    assert back_up_to_folder(filled, folder, 9).photos == 4
    assert len(times_of(folder)) == 4
    assert {name: at for name, at in times_of(folder).items() if name in first} == first, "copied once"
    assert restore_backup(folder, tmp_path / "new").photos == 4
    earlier = kept_in(folder)[0].manifest_file
    assert restore_backup(earlier, tmp_path / "earlier").photos == 3
    with contextlib.closing(open_journal(tmp_path / "earlier")) as restored, restored.database.reading() as session:
        assert load_changes(session, 0, 10_000) == then


def test_only_the_newest_are_kept_and_photos_always(filled: Journal, folder: Path) -> None:
    for _ in range(5):
        back_up_to_folder(filled, folder, 2)
    assert [one.number for one in kept_in(folder)] == [4, 5]
    assert len(list((folder / "databases").iterdir())) == 4
    assert len(times_of(folder)) == 3


def test_what_was_broken_off_counts_for_nothing_and_is_cleared_away(
    filled: Journal, folder: Path, tmp_path: Path
) -> None:
    back_up_to_folder(filled, folder, 5)
    (folder / "databases" / "000002_2026-07-14.sqlite3").write_bytes(b"half a database, killed before its manifest")
    (folder / "originals" / "ab").mkdir(exist_ok=True)
    (folder / "originals" / "ab" / ".new-x").write_bytes(b"half a photo")
    assert restore_backup(folder, tmp_path / "new").photos == 3
    back_up_to_folder(filled, folder, 5)
    assert [one.number for one in kept_in(folder)] == [1, 2]
    assert not (folder / "originals" / "ab" / ".new-x").exists()
    assert restore_backup(folder, tmp_path / "again").photos == 3


def test_a_copy_that_rotted_is_noticed_in_turn_and_made_anew(filled: Journal, folder: Path, tmp_path: Path) -> None:
    back_up_to_folder(filled, folder, 50)
    rotten = next((folder / "originals").glob("*/*"))
    whole = rotten.read_bytes()
    rotten.chmod(0o644)
    rotten.write_bytes(whole[:-1] + bytes([whole[-1] ^ 1]))
    with pytest.raises(JournalDamaged):
        restore_backup(folder, tmp_path / "new")
    for _ in range(READ_AGAIN):
        back_up_to_folder(filled, folder, 50)
    assert rotten.read_bytes() == whole


def test_a_clock_set_back_loses_no_backup(filled: Journal, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Clock(datetime):
        year_now = 2026

        @classmethod
        def now(cls, tz: Any = None) -> datetime:
            return datetime(cls.year_now, 7, 14, tzinfo=tz)

    monkeypatch.setattr(contents, "datetime", Clock)
    back_up_to_folder(filled, folder, 1)
    Clock.year_now = 1970
    take(filled, 5)
    back_up_to_folder(filled, folder, 1)
    (kept,) = kept_in(folder)
    assert kept.number == 2
    assert json.loads(kept.manifest_file.read_text())["contents"]["rows"]["photo_files"] == 4


def test_folders_that_are_not_for_it_are_refused(filled: Journal, folder: Path, tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="own folder"):
        back_up_to_folder(filled, filled.folder / "backups", 3)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "tax.txt").write_text("mine")
    with pytest.raises(InputRefused, match="holds other things"):
        back_up_to_folder(filled, tmp_path / "full", 3)
    with pytest.raises(JournalBusy, match="Is the disk connected"):
        back_up_to_folder(filled, tmp_path / "not" / "mounted", 3)
    back_up_to_folder(filled, folder, 3)
    opened = contextlib.closing(open_journal(tmp_path / "other"))
    with opened as other, pytest.raises(InputRefused, match="another journal"):
        back_up_to_folder(other, folder, 3)


def test_a_disk_that_is_not_connected_is_not_taken_for_an_empty_folder(filled: Journal, folder: Path) -> None:
    """Where a disk was mounted an empty folder stays: filling that would look like a backup and be none."""
    back_up_to_folder(filled, folder, 3)
    folder.rename(folder.parent / "away")
    folder.mkdir()
    with pytest.raises(JournalBusy, match="not there any more"):
        back_up_to_folder(filled, folder, 3)
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize(
    ("known", "due"),
    [
        (BackupState(), True),
        (BackupState("x", "/d", (NOW - timedelta(days=6)).isoformat()), False),
        (BackupState("x", "/d", (NOW - timedelta(days=7)).isoformat()), True),
        (BackupState("x", "/elsewhere", NOW.isoformat()), True),
        (BackupState("x", "/d", (NOW + timedelta(hours=2)).isoformat()), False),
        (BackupState("x", "/d", (NOW + timedelta(days=400)).isoformat()), True),
    ],
)
def test_when_a_backup_is_due(known: BackupState, due: bool) -> None:
    assert is_due(known, "/d", 7, NOW) is due


def wait_for(happened: Callable[[], object]) -> None:
    deadline = time.monotonic() + 20
    while not happened():
        assert time.monotonic() < deadline
        time.sleep(0.02)


def test_the_serving_process_backs_up_by_itself(filled: Journal, folder: Path) -> None:
    filled.change_settings({"backup_folder": str(folder), "backup_every_days": 3})
    keeper = BackupKeeper(filled)
    keeper.start()
    wait_for(lambda: backup_state(filled.folder).made_at)
    keeper.stop()
    assert len(kept_in(folder)) == 1
    keeper = BackupKeeper(filled, lambda: datetime.now(UTC) + timedelta(days=2))
    keeper.look()
    assert len(kept_in(folder)) == 1, "not due yet"
    BackupKeeper(filled, lambda: datetime.now(UTC) + timedelta(days=3)).look()
    assert len(kept_in(folder)) == 2


def test_a_failure_is_said_on_today_until_a_backup_succeeds(filled: Journal, folder: Path) -> None:
    filled.change_settings({"backup_folder": str(folder)})
    folder.parent.rename(folder.parent.with_name("unplugged"))
    keeper = BackupKeeper(filled)
    keeper.look()
    told = describe_home(filled)["backup"]
    assert "Is the disk connected?" in told["failure"]["says"]
    assert (told["last_good"], told["scheduled"]) == (None, True)
    keeper.look()
    assert describe_home(filled)["backup"]["failure"]["at"] == told["failure"]["at"], "not tried again at once"
    folder.parent.with_name("unplugged").rename(folder.parent)
    keeper.ask()
    keeper.look()
    told = describe_home(filled)["backup"]
    assert told["failure"] is None
    assert told["last_good"] is not None


def test_a_failure_that_cannot_be_written_down_is_said_all_the_same(
    filled: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*given: Any, **more: Any) -> None:
        raise JournalBusy("The file could not be written (No space left on device).")

    monkeypatch.setattr(state, "write_durably", full)
    note_failure(filled, "The disk is full.", NOW)
    assert describe_home(filled)["backup"]["failure"] == {
        "says": "The disk is full.",
        "at": "2026-07-14T08:00:00+00:00",
    }


def test_a_damaged_photo_fails_the_scheduled_backup_by_name(filled: Journal, folder: Path) -> None:
    original = next(filled.files.all_originals())
    original.chmod(0o644)
    original.write_bytes(b"bit rot")
    filled.change_settings({"backup_folder": str(folder)})
    BackupKeeper(filled).look()
    says = describe_home(filled)["backup"]["failure"]["says"]
    assert original.name in says
    assert "journal-server check" in says


def test_stopping_ends_a_backup_under_way_and_the_next_one_is_whole(
    filled: Journal, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled.change_settings({"backup_folder": str(folder)})
    keeper = BackupKeeper(filled)
    begun, go_on = threading.Event(), threading.Event()
    tell = keeper._tell

    def slow(done: int, total: int) -> None:
        begun.set()
        go_on.wait(20)
        tell(done, total)

    monkeypatch.setattr(keeper, "_tell", slow)
    keeper.start()
    assert begun.wait(20)
    ending = threading.Thread(target=keeper.stop)
    ending.start()
    wait_for(lambda: keeper._stopping)
    go_on.set()
    ending.join()
    assert kept_in(folder) == []
    assert describe_home(filled)["backup"]["failure"] is None
    BackupKeeper(filled).look()
    assert restore_backup(folder, tmp_path / "new").photos == 3


def test_the_screens_call_begins_one_and_lists_what_there_is(filled: Journal, folder: Path) -> None:
    keeper = BackupKeeper(filled)
    client = create_app(filled, backups_keeper=keeper).test_client()
    assert client.post("/api/backups").status_code == 422, "no folder yet"
    client.post("/api/settings", json={"backup_folder": str(folder), "backup_keep": 5})
    answer = client.post("/api/backups")
    assert (answer.status_code, answer.get_json()["making"]) == (202, {"done": 0, "total": 0})
    keeper.start()  # only now, or the schedule might make one of its own first
    try:
        wait_for(lambda: client.get("/api/backups").get_json()["state"]["last_good"])
        wait_for(lambda: client.get("/api/backups").get_json()["making"] is None)
    finally:
        keeper.stop()
    told = client.get("/api/backups").get_json()
    assert (told["folder"], told["keep"], told["problem"]) == (str(folder), 5, None)
    assert [(one["photos"], one["manifest"][:6]) for one in told["kept"]] == [(3, "000001")]


def test_a_relative_folder_is_refused(client: FlaskClient) -> None:
    answer = client.post("/api/settings", json={"backup_folder": "backups"})
    assert answer.status_code == 422
    assert "whole path" in answer.get_json()["error"]["message"]


def test_a_torn_state_file_counts_as_never_backed_up(filled: Journal) -> None:
    for content in (b"", b"{", b"[]", b'{"made_at": 7}', b"\xff"):
        (filled.folder / "last_backup.json").write_bytes(content)
        assert backup_state(filled.folder) == BackupState()


def test_the_copies_in_the_folder_are_single_files(filled: Journal, folder: Path) -> None:
    """No log beside them that could be left behind when they are carried elsewhere."""
    back_up_to_folder(filled, folder, 1)
    (kept,) = kept_in(folder)
    with contextlib.closing(sqlite3.connect(kept.database_file)) as database:
        assert database.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        assert database.execute("SELECT count(*) FROM photo_files").fetchone() == (3,)
