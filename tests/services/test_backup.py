import contextlib
import json
import zipfile
from pathlib import Path

import pytest
from conftest import SetUp
from feed_as_read import load_changes
from made_photos import jpeg
from made_sounds import wav

from journal_server.errors import InputRefused, JournalDamaged
from journal_server.services.backup import MANIFEST, last_backup, make_backup, restore_backup
from journal_server.services.journal import DATABASE_FILE, Journal, open_journal
from journal_server.services.take_in_photo import take_in_photo
from journal_server.services.take_in_recording import take_in_recording


@pytest.fixture
def archive(journal: Journal, set_up: SetUp, tmp_path: Path) -> Path:
    set_up.planting("TAG-7K3Q9M")
    for seed in range(3):
        take_in_photo(journal, jpeg("2026:06:12 10:14:03", seed=seed), f"{seed}.jpg")
    take_in_recording(journal, wav(), "remark.wav")
    made = tmp_path / "backup.zip"
    assert make_backup(journal, made) == 3
    return made


def test_what_is_restored_equals_what_was_backed_up(journal: Journal, archive: Path, tmp_path: Path) -> None:
    assert restore_backup(archive, tmp_path / "new") == 3
    with contextlib.closing(open_journal(tmp_path / "new")) as restored:
        with journal.database.reading() as mine, restored.database.reading() as theirs:
            assert load_changes(mine, 0, 10_000) == load_changes(theirs, 0, 10_000)
        ours = {p.name: p.read_bytes() for p in journal.files.all_originals()}
        assert {p.name: p.read_bytes() for p in restored.files.all_originals()} == ours
        assert len(ours) == 3
        (sound,) = restored.recordings.all_files()
        assert sound.read_bytes() == wav()
        assert sound.relative_to(restored.folder) == next(journal.recordings.all_files()).relative_to(journal.folder)
    assert last_backup(journal) is not None


@pytest.mark.parametrize("kind", ["originals/", "recordings/"])
def test_a_changed_byte_is_found_and_nothing_is_restored(archive: Path, tmp_path: Path, kind: str) -> None:
    content = bytearray(archive.read_bytes())
    with zipfile.ZipFile(archive) as whole:
        member = next(name for name in whole.namelist() if name.startswith(kind))
        inside = whole.getinfo(member).header_offset + 700
    content[inside] ^= 0xFF
    archive.write_bytes(content)
    with pytest.raises(JournalDamaged, match="Nothing was restored"):
        restore_backup(archive, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_member_marked_as_encrypted_is_refused(archive: Path, tmp_path: Path) -> None:
    content = bytearray(archive.read_bytes())
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):  # local and central headers (APPNOTE 4.3.7, 4.3.12)
        at = content.find(mark)
        content[at + flags] |= 1
    archive.write_bytes(content)
    with pytest.raises(JournalDamaged, match="not a whole backup archive"):
        restore_backup(archive, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_packed_member_with_broken_packing_is_refused(archive: Path, tmp_path: Path) -> None:
    broken = tmp_path / "packed.zip"
    with zipfile.ZipFile(archive) as source, zipfile.ZipFile(broken, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            target.writestr(name, source.read(name))
    content = bytearray(broken.read_bytes())
    content[200:260] = b"\xff" * 60
    broken.write_bytes(content)
    with pytest.raises(JournalDamaged):
        restore_backup(broken, tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("keep", [0, 10, 5000])
def test_a_cut_archive_is_refused(archive: Path, tmp_path: Path, keep: int) -> None:
    archive.write_bytes(archive.read_bytes()[:keep])
    with pytest.raises(JournalDamaged):
        restore_backup(archive, tmp_path / "new")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("name", ["../outside.jpg", "/etc/outside.jpg", "originals/../../outside.jpg", "extra.txt"])
def test_an_archive_with_strange_members_is_refused(archive: Path, tmp_path: Path, name: str) -> None:
    with zipfile.ZipFile(archive, "a") as hostile:
        hostile.writestr(name, b"gotcha")
    with pytest.raises(JournalDamaged):
        restore_backup(archive, tmp_path / "new")
    hostile_manifest = tmp_path / "other.zip"
    with zipfile.ZipFile(archive) as source, zipfile.ZipFile(hostile_manifest, "w") as target:
        manifest = json.loads(source.read(MANIFEST))
        manifest["files"][name] = "0" * 64
        target.writestr(DATABASE_FILE, source.read(DATABASE_FILE))
        target.writestr(name, b"gotcha")
        target.writestr(MANIFEST, json.dumps(manifest))
    with pytest.raises(JournalDamaged):
        restore_backup(hostile_manifest, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_folder_in_use_is_never_overwritten(journal: Journal, archive: Path) -> None:
    with pytest.raises(InputRefused, match="not empty"):
        restore_backup(archive, journal.folder)


@pytest.mark.parametrize("kind", ["originals", "recordings"])
def test_a_damaged_file_stops_the_backup_and_keeps_the_last_one(journal: Journal, archive: Path, kind: str) -> None:
    before = archive.read_bytes()
    original = next((journal.folder / kind).glob("*/*"))
    original.chmod(0o644)
    original.write_bytes(b"bit rot")
    with pytest.raises(JournalDamaged, match="changed on disk"):
        make_backup(journal, archive)
    assert archive.read_bytes() == before
    assert [p.name for p in archive.parent.iterdir() if p.name.startswith(".new-")] == []
