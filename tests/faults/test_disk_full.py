"""The disk runs full in the middle of each kind of work: refused in words, nothing damaged, and then it goes on."""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from faults.asking import photos_of, send_photo, send_trial
from faults.journal_process import Serving, call, wait_for
from faults.room import LimitedFiles, Room, small_disk_or_limit
from made_photos import jpeg

from journal_server.services.journal import open_journal

EARLIER = Path(__file__).parents[1] / "storage" / "earlier" / "step_0002.zip"
HARDLY = 16_384
SMALL, LARGE = (160, 120), (1600, 1200)


@pytest.fixture(params=["small disk", "limited files"])
def room(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Room]:
    made = small_disk_or_limit(tmp_path / "disk") if request.param == "small disk" else LimitedFiles(tmp_path / "disk")
    yield made
    made.close()


def photo(seed: int, size: tuple[int, int] = SMALL) -> bytes:
    return jpeg("2026:06:12 10:14:03", seed=seed, size=size)


def is_whole(folder: Path) -> bool:
    checked = call("check", "--data", folder)
    # How full the disk is is said too: only this one may be wrong here.
    wrong = [line for line in checked.stdout.splitlines() if line.startswith("WRONG") and "(disk)" not in line]
    assert wrong == [], checked.stdout
    assert "Left over" not in checked.stdout, "temporary files are cleared away"
    return checked.returncode in (0, 1)


def test_uploads_and_notes(room: Room) -> None:
    folder = room.folder / "journal"
    server = Serving(folder)
    try:
        kept = {send_photo(server.address, photo(0))[1]["received"]["sha256"]}
        assert len(photos_of(server.address)) == 1
        room.take(server, HARDLY)
        for _ in range(3):
            status, answer = send_photo(server.address, photo(1, LARGE))
            assert status == 503
            assert "Nothing was changed" in answer["error"]["message"]
        refused = [send_trial(server.address, "x" * 100)[0] for _ in range(300)]
        assert 503 in refused, "the database found no room either"
        assert {p["fields"]["sha256"] for p in photos_of(server.address)} == kept
        room.give(server)
        assert send_photo(server.address, photo(1, LARGE))[0] == 201
        assert send_trial(server.address, "again")[0] == 200
        assert len(photos_of(server.address)) == 2
        assert "Traceback" not in server.said()
    finally:
        server.kill()
    assert is_whole(folder)


def test_adding_from_the_command_line(room: Room, tmp_path: Path) -> None:
    folder, photos = room.folder / "journal", tmp_path / "photos"
    photos.mkdir()
    open_journal(folder).close()
    for seed in range(4):
        (photos / f"{seed}.jpg").write_bytes(photo(seed, LARGE))
    room.take(None, 200_000)
    refused = call("add", "--no-measuring", photos, "--data", folder, most_bytes=room.most_bytes())
    assert refused.returncode == 2
    assert "make room" in refused.stderr
    assert "Traceback" not in refused.stderr
    room.give(None)
    done = call("add", "--no-measuring", photos, "--data", folder)
    assert done.returncode == 0
    counted = [int(word) for word in done.stdout.splitlines()[-1].split() if word.isdigit()]
    assert sum(counted) == 4, "each is in once"
    assert is_whole(folder)


def test_measuring(room: Room) -> None:
    folder = room.folder / "journal"
    server = Serving(folder)
    try:
        send_photo(server.address, photo(0))
        wait_for(lambda: photos_of(server.address)[0]["fields"]["measuring"] == "done")
        send_photo(server.address, photo(1, LARGE))
        room.take(server, 2_000)
        wait_for(lambda: "Measuring waits: " in server.said())
        assert len(photos_of(server.address)) == 2, "the server goes on"
        room.give(server)
        wait_for(lambda: {p["fields"]["measuring"] for p in photos_of(server.address)} == {"done"})
    finally:
        server.kill()
    assert is_whole(folder)


def test_bringing_an_earlier_journal_up_to_date(room: Room) -> None:
    folder = room.folder / "journal"
    with zipfile.ZipFile(EARLIER) as kept:
        kept.extractall(folder)
    database = (folder / "journal.sqlite3").read_bytes()
    room.take(None, HARDLY)
    refused = call("numbers", "--data", folder, most_bytes=room.most_bytes())
    assert refused.returncode == 2
    assert "Traceback" not in refused.stderr
    room.give(None)
    for log in folder.glob("*-wal"):
        assert not log.stat().st_size, "nothing of it stayed in the log"
    header = 100  # SQLite counts there that the file was opened for writing
    assert (folder / "journal.sqlite3").read_bytes()[header:] == database[header:]
    assert call("numbers", "--data", folder).returncode == 0
    assert is_whole(folder)


@pytest.mark.parametrize("into", ["archive", "sealed archive", "folder"])
def test_backups(room: Room, tmp_path: Path, into: str) -> None:
    folder, target = tmp_path / "journal", room.folder / "backup"
    (tmp_path / "photos").mkdir()
    (tmp_path / "passphrase").write_text("seven plain troughs")
    more = {"archive": [], "sealed archive": ["--passphrase-file", tmp_path / "passphrase"], "folder": ["--folder"]}[
        into
    ]
    opening = ["--passphrase-file", tmp_path / "passphrase"] if into == "sealed archive" else []
    for seed in range(3):
        (tmp_path / "photos" / f"{seed}.jpg").write_bytes(photo(seed, LARGE))
    assert call("add", "--no-measuring", tmp_path / "photos" / "0.jpg", "--data", folder).returncode == 0
    assert call("backup", target, *more, "--data", folder).returncode == 0
    assert call("add", "--no-measuring", tmp_path / "photos", "--data", folder).returncode == 0
    room.take(None, 300_000)
    refused = call("backup", target, *more, "--data", folder, most_bytes=room.most_bytes())
    assert refused.returncode == 2
    assert "could not be written" in refused.stderr
    assert "Traceback" not in refused.stderr
    room.give(None)
    assert not list(room.folder.rglob(".new-*"))
    assert not list(folder.glob(".new-*"))
    assert "1 photos" in call("restore", target, *opening, "--data", tmp_path / "r1").stdout, "the earlier one is whole"
    assert call("backup", target, *more, "--data", folder).returncode == 0
    assert "3 photos" in call("restore", target, *opening, "--data", tmp_path / "r2").stdout


def test_restoring_and_leaving(room: Room, tmp_path: Path) -> None:
    folder = tmp_path / "journal"
    (tmp_path / "photos").mkdir()
    for seed in range(3):
        (tmp_path / "photos" / f"{seed}.jpg").write_bytes(photo(seed, LARGE))
    assert call("add", "--no-measuring", tmp_path / "photos", "--data", folder).returncode == 0
    assert call("backup", tmp_path / "b.zip", "--data", folder).returncode == 0
    room.take(None, 300_000)
    for words in (["restore", tmp_path / "b.zip", "--data", room.folder / "new"],):
        refused = call(*words, most_bytes=room.most_bytes())
        assert refused.returncode == 2
        assert "Nothing was restored" in refused.stderr
        assert not (room.folder / "new").exists()
    refused = call("export", room.folder / "out", "--data", folder, most_bytes=room.most_bytes())
    assert refused.returncode == 2
    assert "The journal is unchanged" in refused.stderr
    room.give(None)
    shutil.rmtree(room.folder / "out")
    assert call("restore", tmp_path / "b.zip", "--data", room.folder / "new").returncode == 0
    assert call("export", room.folder / "out", "--data", folder).returncode == 0
    assert is_whole(room.folder / "new")
