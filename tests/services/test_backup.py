"""Archives: what comes back is what was backed up, and what is not whole is refused with nothing written."""

import contextlib
import json
import os
import threading
import time
import zipfile
from pathlib import Path

import pytest
from conftest import SetUp
from feed_as_read import load_changes
from made_photos import jpeg
from made_sounds import wav

from journal_server.errors import InputRefused, JournalDamaged
from journal_server.services.apply_changes import apply_changes
from journal_server.services.backup import backup_state, make_backup, restore_backup, verify_backup
from journal_server.services.backup.contents import MANIFEST
from journal_server.services.journal import DATABASE_FILE, Journal, open_journal
from journal_server.services.take_in_photo import take_in_photo
from journal_server.services.take_in_recording import take_in_recording
from journal_server.storage.photo_files import TEMPORARY
from journal_server.storage.records import load_records, save_measurement

pytestmark = pytest.mark.sqlite_only
PASSPHRASE = "seven plain troughs"


def fill(journal: Journal, set_up: SetUp) -> None:
    set_up.planting("TAG-7K3Q9M")
    for seed in range(3):
        photo = take_in_photo(journal, jpeg("2026:06:12 10:14:03", seed=seed), f"{seed}.jpg").photo
    take_in_recording(journal, wav(), "remark.wav")
    with journal.database.writing() as session:
        save_measurement(
            session, id="m", photo_id=photo.id, planting_id=None, inputs_hash="i", basis_hash="b", method="method",
            numbers={"canopy_fill": {"value": 0.83, "low": 0.8, "high": 0.86}}, frame_polygon=None, frame_how=None,
            measured_at="2026-06-12T10:00:00+00:00",
        )  # fmt: skip


@pytest.fixture
def archive(journal: Journal, set_up: SetUp, tmp_path: Path) -> Path:
    fill(journal, set_up)
    made = tmp_path / "backup.zip"
    assert make_backup(journal, made).photos == 3
    return made


@pytest.mark.parametrize("passphrase", [None, PASSPHRASE])
def test_what_is_restored_equals_what_was_backed_up(
    journal: Journal, set_up: SetUp, tmp_path: Path, passphrase: str | None
) -> None:
    fill(journal, set_up)
    made_at = make_backup(journal, tmp_path / "made", passphrase).made_at
    back = restore_backup(tmp_path / "made", tmp_path / "new", passphrase)
    assert (back.photos, back.recordings, back.contents["measurements"], back.made_at) == (3, 1, 1, made_at)
    with contextlib.closing(open_journal(tmp_path / "new")) as restored:
        with journal.database.reading() as mine, restored.database.reading() as theirs:
            assert load_changes(mine, 0, 10_000) == load_changes(theirs, 0, 10_000)
        ours = {p.name: p.read_bytes() for p in journal.files.all_originals()}
        assert {p.name: p.read_bytes() for p in restored.files.all_originals()} == ours
        assert len(ours) == 3
        (sound,) = restored.recordings.all_files()
        assert sound.read_bytes() == wav()
        assert sound.relative_to(restored.folder) == next(journal.recordings.all_files()).relative_to(journal.folder)
    assert backup_state(journal.folder).made_at == made_at


def test_a_backup_while_others_write_is_one_state(journal: Journal, set_up: SetUp, tmp_path: Path) -> None:
    """Photo and note go in together; a backup in between must hold both or neither."""
    ended = threading.Event()

    def write() -> None:
        for number in range(1000):
            if ended.is_set():
                return
            batch = [
                {"kind": "trial", "id": f"00000000-0000-4000-8000-{half}{number:011d}", "fields": fields}
                for half, fields in ((1, {"title": "one", "year": 2026}), (2, {"title": "two", "year": 2026}))
            ]
            apply_changes(journal, batch)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for number in range(4):
            time.sleep(0.1)
            make_backup(journal, tmp_path / f"{number}.zip")
    finally:
        ended.set()
        writer.join()
    counts = []
    for number in range(4):
        restore_backup(tmp_path / f"{number}.zip", tmp_path / f"r{number}")
        opened = contextlib.closing(open_journal(tmp_path / f"r{number}"))
        with opened as restored, restored.database.reading() as session:
            counts.append(sum(r.fields["title"] in ("one", "two") for r in load_records(session, "trial")))
    assert [count % 2 for count in counts] == [0, 0, 0, 0]
    assert counts[0] < counts[-1], "something was written meanwhile"


def test_verifying_reads_all_and_writes_nothing(archive: Path, tmp_path: Path) -> None:
    before = sorted(tmp_path.rglob("*"))
    assert verify_backup(archive) == 3
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("kind", ["originals/", "recordings/", DATABASE_FILE])
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


def test_a_file_kept_by_an_earlier_version_is_restored(journal: Journal, archive: Path, tmp_path: Path) -> None:
    """Before the contents were counted, a manifest held the files alone, and members carried their time."""
    earlier = tmp_path / "earlier.zip"
    with zipfile.ZipFile(archive) as source, zipfile.ZipFile(earlier, "w", zipfile.ZIP_STORED) as target:
        manifest = json.loads(source.read(MANIFEST))
        for name in manifest["files"]:
            target.writestr(name, source.read(name))
        target.writestr(MANIFEST, json.dumps({name: manifest[name] for name in ("made_at", "version", "files")}))
    back = restore_backup(earlier, tmp_path / "new")
    assert (back.photos, back.contents["measurements"]) == (3, 1)


def test_a_folder_in_use_is_never_overwritten(journal: Journal, archive: Path) -> None:
    with pytest.raises(InputRefused, match="not empty"):
        restore_backup(archive, journal.folder)


@pytest.mark.parametrize("kind", ["originals", "recordings"])
@pytest.mark.parametrize("gone", [True, False])
def test_a_damaged_file_stops_the_backup_and_keeps_the_last_one(
    journal: Journal, archive: Path, kind: str, gone: bool
) -> None:
    before, state = archive.read_bytes(), backup_state(journal.folder)
    original = next((journal.folder / kind).glob("*/*"))
    original.chmod(0o644)
    original.write_bytes(b"bit rot")
    if gone:
        original.unlink()
    with pytest.raises(JournalDamaged, match="is missing" if gone else "changed on disk"):
        make_backup(journal, archive)
    assert archive.read_bytes() == before
    assert backup_state(journal.folder) == state
    assert [p for folder in (archive.parent, journal.folder) for p in folder.glob(f"{TEMPORARY}*")] == []


def test_a_restore_that_was_broken_off_can_be_done_again(archive: Path, tmp_path: Path) -> None:
    """As a kill at two moments leaves it: while writing, and while putting in place."""
    for left in (".restoring/originals/ab/half.jpg", "originals/ab/whole.jpg"):
        new = tmp_path / left.replace("/", "_")
        (new / ".restoring").mkdir(parents=True)
        (new / left).parent.mkdir(parents=True, exist_ok=True)
        (new / left).write_bytes(b"half")
        assert restore_backup(archive, new).photos == 3
        assert len(list((new / "originals").glob("*/*"))) == 3
        assert not (new / ".restoring").exists()


def test_a_clock_before_1980_makes_a_backup_all_the_same(journal: Journal, set_up: SetUp, tmp_path: Path) -> None:
    """A zip knows no earlier time; a computer without a battery begins in 1970."""

    fill(journal, set_up)
    for path in journal.files.all_originals():
        os.utime(path, (0, 0))
    make_backup(journal, tmp_path / "early.zip")
    assert restore_backup(tmp_path / "early.zip", tmp_path / "new").photos == 3
