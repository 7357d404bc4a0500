"""A backup that someone else made to do harm: refused with a sentence, nothing outside the folder, nothing half."""

import hashlib
import json
import os
import shutil
import sqlite3
import stat
import warnings
import zipfile
from collections.abc import Callable
from contextlib import closing
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from conftest import SetUp
from made_photos import jpeg

from journal_server.errors import JournalBusy, JournalDamaged, JournalError, JournalNewer
from journal_server.services.backup import back_up_to_folder, make_backup, restore_backup
from journal_server.services.backup.contents import MANIFEST
from journal_server.services.journal import DATABASE_FILE, Journal
from journal_server.services.take_in_photo import take_in_photo
from journal_server.storage import sealed as sealing

pytestmark = pytest.mark.sqlite_only
PASSPHRASE = "seven plain troughs"


@pytest.fixture
def filled(journal: Journal, set_up: SetUp) -> Journal:
    set_up.planting("TAG-7K3Q9M")
    take_in_photo(journal, jpeg("2026:06:12 10:14:03", size=(320, 240)), "a.jpg")
    return journal


@pytest.fixture
def archive(filled: Journal, tmp_path: Path) -> Path:
    make_backup(filled, tmp_path / "in" / "backup.zip")
    return tmp_path / "in" / "backup.zip"


@pytest.fixture
def refused(tmp_path: Path) -> Any:
    """Restores what must be refused: nothing may be anywhere afterwards that was not there before."""
    (tmp_path / "in").mkdir(exist_ok=True)

    def try_it(given: Path, kind: type[JournalError] = JournalDamaged, passphrase: str | None = None) -> str:
        before = {path: path.lstat().st_mtime_ns for path in tmp_path.rglob("*") if path.is_file()}
        with pytest.raises(kind) as caught:
            restore_backup(given, tmp_path / "new" / "deep", passphrase)
        after = {path: path.lstat().st_mtime_ns for path in tmp_path.rglob("*") if path.is_file()}
        assert after == before
        assert not (tmp_path / "new" / "deep").exists()
        said = str(caught.value)
        assert said.endswith(".")
        assert "Nothing was restored" in said or "archive" in said
        return said

    return try_it


def rebuilt(archive: Path, change: Callable[[dict[str, bytes], dict[str, Any]], None], **packing: Any) -> Path:
    """The archive again with changed members and manifest."""
    with zipfile.ZipFile(archive) as source:
        members = {name: source.read(name) for name in source.namelist() if name != MANIFEST}
        manifest = json.loads(source.read(MANIFEST))
    change(members, manifest)
    made = archive.with_name("hostile.zip")
    with zipfile.ZipFile(made, "w", **packing) as target:
        for name, content in members.items():
            target.writestr(name, content)
        target.writestr(MANIFEST, json.dumps(manifest))
    return made


@pytest.mark.parametrize(
    "name",
    [
        "../outside.jpg",
        "/etc/outside.jpg",
        "originals/../../outside.jpg",
        "originals/..",
        "originals/" + "0" * 64 + "/../../x.jpg",
        "originals/" + "0" * 64 + ".jpg\x00.sh",
        "C:\\outside.jpg",
        "originals\\..\\outside.jpg",
        "certificates/authority.pem",
        "extra.txt",
    ],
)
@pytest.mark.parametrize("listed", [True, False])
def test_a_strange_name_is_refused(archive: Path, refused: Any, name: str, listed: bool) -> None:
    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        members[name] = b"gotcha"
        if listed:
            manifest["files"][name] = "0" * 64

    refused(rebuilt(archive, change))


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFCHR, stat.S_IFBLK, stat.S_IFDIR, stat.S_IFSOCK])
def test_a_member_that_is_a_link_or_a_device_is_refused(archive: Path, refused: Any, kind: int) -> None:
    made = archive.with_name("hostile.zip")
    with zipfile.ZipFile(archive) as source, zipfile.ZipFile(made, "w") as target:
        for member in source.infolist():
            copy = zipfile.ZipInfo(member.filename)
            copy.external_attr = ((kind if member.filename.startswith("originals/") else stat.S_IFREG) | 0o777) << 16
            target.writestr(copy, source.read(member))
    assert "plain file" in refused(made)


def test_the_same_name_twice_is_refused(archive: Path, refused: Any) -> None:
    with zipfile.ZipFile(archive) as source:
        photo = next(name for name in source.namelist() if name.startswith("originals/"))
    for name in (photo, DATABASE_FILE, MANIFEST):
        made = archive.with_name(f"twice_{name.split('/')[0]}.zip")
        made.write_bytes(archive.read_bytes())
        with warnings.catch_warnings(), zipfile.ZipFile(made, "a") as hostile:
            warnings.simplefilter("ignore")  # the library warns of what is done here on purpose
            hostile.writestr(name, b"the other one")
        refused(made)


def test_a_bomb_is_refused_before_it_is_unpacked(archive: Path, refused: Any) -> None:
    """A tenth of a gigabyte of zeros in a hundredth of a megabyte, under the name of a photo."""

    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        members[f"originals/{'0' * 64}.jpg"] = bytes(100_000_000)
        manifest["files"][f"originals/{'0' * 64}.jpg"] = "0" * 64

    made = rebuilt(archive, change, compression=zipfile.ZIP_DEFLATED)
    assert made.stat().st_size < 1_000_000
    assert "packed or locked" in refused(made)


def test_packed_and_locked_members_are_refused(archive: Path, refused: Any) -> None:
    """This program writes neither, so neither is taken: nothing is unpacked that was not weighed."""
    assert "packed or locked" in refused(rebuilt(archive, lambda members, manifest: None, compression=zipfile.ZIP_LZMA))
    content = bytearray(archive.read_bytes())
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):  # local and central headers (APPNOTE 4.3.7, 4.3.12)
        at = content.find(mark)
        content[at + flags] |= 1
    archive.write_bytes(content)
    assert "packed or locked" in refused(archive)


def test_members_that_share_their_bytes_are_refused(archive: Path, refused: Any) -> None:
    """The other kind of bomb: many entries in the directory that all point at the same stored bytes."""
    content = archive.read_bytes()
    with zipfile.ZipFile(archive) as source:
        count, start = len(source.namelist()), source.start_dir
        largest = max(source.infolist(), key=lambda one: one.file_size)
    entry_at = content.index(b"PK\x01\x02", start)
    directory = content[start : content.index(b"PK\x05\x06", start)]
    while content[entry_at + 46 : entry_at + 46 + len(largest.filename)].decode() != largest.filename:
        entry_at = content.index(b"PK\x01\x02", entry_at + 4)
    entry = content[entry_at : entry_at + 46 + len(largest.filename)]
    many = 50
    total, size = (count + many).to_bytes(2, "little"), (len(directory) + many * len(entry)).to_bytes(4, "little")
    end = b"PK\x05\x06" + bytes(4) + total + total + size + start.to_bytes(4, "little") + bytes(2)
    made = archive.with_name("overlapping.zip")
    made.write_bytes(content[:start] + directory + entry * many + end)
    with zipfile.ZipFile(made) as check:
        assert len(check.infolist()) == count + many
    assert "larger than it is" in refused(made)


def test_a_photo_under_another_hash_is_refused(archive: Path, refused: Any) -> None:
    def swap(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        photo = next(name for name in members if name.startswith("originals/"))
        members[photo] = b"another picture"

    assert "not what was backed up" in refused(rebuilt(archive, swap))

    def say_so(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        photo = next(name for name in members if name.startswith("originals/"))
        manifest["files"][photo] = "1" * 64

    assert "does not belong" in refused(rebuilt(archive, say_so))


@pytest.mark.parametrize("sealed", [False, True])
def test_cut_off_at_every_place_it_is_refused(
    filled: Journal, tmp_path: Path, refused: Any, sealed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sealing, "derive_key", lru_cache(sealing.derive_key))  # slow on purpose
    passphrase = PASSPHRASE if sealed else None
    whole = tmp_path / "in" / "whole"
    make_backup(filled, whole, passphrase)
    content = whole.read_bytes()
    ends = {*range(0, 60), *range(len(content) - 300, len(content)), *range(0, len(content), len(content) // 150)}
    for keep in sorted(ends):
        (tmp_path / "in" / "cut").write_bytes(content[:keep])
        refused(tmp_path / "in" / "cut", JournalDamaged, passphrase)
    assert restore_backup(whole, tmp_path / "back", passphrase).photos == 1


@pytest.mark.parametrize(
    "manifest",
    [
        b"",
        b"{}",
        b"[]",
        b"null",
        b'"x"',
        b'{"files": []}',
        b'{"files": {"journal.sqlite3": 7}}',
        b"\xff\xfe",
        b"[" * 9999,
    ],
)
def test_a_manifest_that_is_none_is_refused(archive: Path, refused: Any, manifest: bytes) -> None:
    made = archive.with_name("hostile.zip")
    with zipfile.ZipFile(archive) as source, zipfile.ZipFile(made, "w") as target:
        for name in source.namelist():
            target.writestr(name, manifest if name == MANIFEST else source.read(name))
    refused(made)


def edited_database(archive: Path, tmp_path: Path, *statements: str, forget_contents: bool = True) -> Path:
    """The archive with its database changed and every hash made right again."""

    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        file = tmp_path / "in" / "edited.sqlite3"
        file.write_bytes(members[DATABASE_FILE])
        with closing(sqlite3.connect(file)) as database, database:
            for statement in statements:
                database.execute(statement)
        members[DATABASE_FILE] = file.read_bytes()
        file.unlink()
        manifest["files"][DATABASE_FILE] = hashlib.sha256(members[DATABASE_FILE]).hexdigest()
        if forget_contents:
            manifest["contents"] = None

    return rebuilt(archive, change)


def test_a_database_that_leads_out_of_the_folder_is_refused(archive: Path, tmp_path: Path, refused: Any) -> None:
    made = edited_database(archive, tmp_path, "UPDATE photo_files SET suffix = '/../../../../x'")
    assert "photos that are not in it" in refused(made)


def test_a_database_with_code_in_it_is_refused(archive: Path, tmp_path: Path, refused: Any) -> None:
    trigger = "CREATE TRIGGER t AFTER INSERT ON records BEGIN DELETE FROM records; END"
    assert "brings code" in refused(edited_database(archive, tmp_path, trigger))
    assert "brings code" in refused(edited_database(archive, tmp_path, "CREATE VIEW v AS SELECT 1"))


def test_changed_numbers_under_right_hashes_are_noticed(archive: Path, tmp_path: Path, refused: Any) -> None:
    change = "UPDATE records SET fields = json_set(fields, '$.title', 'another')"
    made = edited_database(archive, tmp_path, change, forget_contents=False)
    assert "not those that were backed up" in refused(made)


def test_a_backup_of_a_newer_version_is_refused_by_name(archive: Path, tmp_path: Path, refused: Any) -> None:
    made = edited_database(archive, tmp_path, "UPDATE alembic_version SET version_num = '9999'")
    assert "newer version" in refused(made, JournalNewer)


def test_a_file_that_is_no_database_is_refused(archive: Path, refused: Any) -> None:
    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        members[DATABASE_FILE] = b"no database at all" * 100
        manifest["files"][DATABASE_FILE] = hashlib.sha256(members[DATABASE_FILE]).hexdigest()

    refused(rebuilt(archive, change))


def test_what_does_not_fit_is_refused_before_anything_is_written(
    archive: Path, refused: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda path: type("Usage", (), {"free": 1000})())
    assert "not enough room" in refused(archive, JournalBusy)


@pytest.mark.parametrize("instead", ["link", "pipe", "folder", "other bytes", "nothing"])
def test_a_folder_with_something_else_in_the_place_of_a_photo_is_refused(
    filled: Journal, tmp_path: Path, refused: Any, instead: str
) -> None:
    folder = tmp_path / "in" / "folder"
    back_up_to_folder(filled, folder, 3)
    (photo,) = (folder / "originals").glob("*/*")
    content = photo.read_bytes()
    photo.unlink()
    if instead == "link":
        elsewhere = tmp_path / "in" / "elsewhere"
        elsewhere.write_bytes(content)
        photo.symlink_to(elsewhere)
    elif instead == "pipe":
        os.mkfifo(photo)
    elif instead == "folder":
        photo.mkdir()
    elif instead == "other bytes":
        photo.write_bytes(content[:-1] + b"\x00")
    refused(folder)


def test_a_folder_with_a_cut_database_is_refused(filled: Journal, tmp_path: Path, refused: Any) -> None:
    folder = tmp_path / "in" / "folder"
    back_up_to_folder(filled, folder, 3)
    (database,) = (folder / "databases").glob("*.sqlite3")
    database.write_bytes(database.read_bytes()[:-4096])
    refused(folder)
    (manifest,) = (folder / "databases").glob("*.json")
    manifest.write_bytes(manifest.read_bytes()[:-40])
    refused(folder)
