"""A backup that grows by what is new: every photo once, and a dated copy of the database each time.

In the folder: ``originals/`` and ``recordings/`` as in the journal, ``databases/000012_2026-07-14.sqlite3`` with a
manifest of the same name (.json), which is written last: what has none is unfinished. Photos are never deleted here.
"""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from journal_server.errors import InputRefused, JournalBusy, JournalDamaged
from journal_server.services.backup.contents import (
    Copied,
    Manifest,
    copied_journal,
    copy_file_hashed,
    copy_hashed,
    parse_manifest,
)
from journal_server.services.backup.state import backup_state, note_good
from journal_server.services.feed_identity import feed_identity
from journal_server.services.journal import OWNER_ALONE, Journal
from journal_server.storage.inspection import FileSeen
from journal_server.storage.photo_files import TEMPORARY, fsync_folder, make_folder_durably, write_durably

MARK = "planting-trial-backup.json"
DATABASES = "databases"
MAY_LIE_THERE = {"lost+found", ".Trashes", "System Volume Information", ".DS_Store"}
READ_AGAIN = 16
"""Each backup reads that part of the kept files again, in turn: a disk that forgets is noticed."""
_NAME = re.compile(r"(?P<number>\d{6})_\d{4}-\d{2}-\d{2}\.json")
Tell = Callable[[int, int], None]


@dataclass(frozen=True)
class Kept:
    """One backup in the folder. Numbers count up, whatever the clock says."""

    number: int
    manifest_file: Path

    @property
    def database_file(self) -> Path:
        return self.manifest_file.with_suffix(".sqlite3")


def back_up_to_folder(journal: Journal, folder: Path, keep: int, tell: Tell = lambda done, total: None) -> Manifest:
    """Add a backup to the folder and let go of all but the newest ``keep`` copies of the database."""
    try:
        _prepare(journal, folder)
        with copied_journal(journal) as copied:
            number = max((one.number for one in kept_in(folder)), default=0) + 1
            for done, (member, source, row) in enumerate(copied.files):
                _keep_file(folder, member, source, row, number)
                tell(done + 1, len(copied.files))
            manifest = _keep_database(folder, copied, number)
        _let_go(folder, keep)
    except OSError as error:
        raise JournalBusy(
            f"The backup could not be written to {folder} ({error.strerror or error}). The journal is unchanged, and "
            "the earlier backups are whole: make room there, or choose another folder."
        ) from error
    note_good(journal, copied.made_at, into=folder)
    return manifest


def kept_in(folder: Path) -> list[Kept]:
    """The whole backups in the folder, oldest first."""
    found = []
    for path in (folder / DATABASES).glob("*.json"):
        named = _NAME.fullmatch(path.name)
        if named and path.with_suffix(".sqlite3").is_file():
            found.append(Kept(int(named["number"]), path))
    return sorted(found, key=lambda one: one.number)


def manifest_of(kept: Kept) -> Manifest:
    return parse_manifest(kept.manifest_file.read_bytes())


def _prepare(journal: Journal, folder: Path) -> None:
    """The folder is this journal's for backups, or empty and now becomes so."""
    inside, outside = folder.resolve(), journal.folder.resolve()
    if inside.is_relative_to(outside):
        raise InputRefused("The backup would lie in the journal's own folder, and be lost with it. Choose another.")
    identity = feed_identity(journal)["journal"]
    mark = folder / MARK
    if mark.exists():
        if _journal_of(mark) != identity:
            raise InputRefused(f"{folder} holds the backups of another journal. Choose another folder.")
        return
    if backup_state(journal.folder).folder == str(folder):
        raise JournalBusy(f"The backups in {folder} are not there any more. Is the disk connected? {MOVED}")
    if not folder.parent.is_dir():
        raise JournalBusy(f"There is no folder {folder.parent}. Is the disk connected?")
    folder.mkdir(exist_ok=True, mode=OWNER_ALONE)
    if {path.name for path in folder.iterdir()} - MAY_LIE_THERE:
        raise InputRefused(f"{folder} holds other things. Choose an empty folder for the backups, or a new one.")
    write_durably(
        mark, json.dumps({"format": 1, "journal": identity, "is": "backups of a planting trial journal"}).encode()
    )


MOVED = "Where you took them away yourself, choose another folder."


def _journal_of(mark: Path) -> str | None:
    try:
        found = json.loads(mark.read_text(encoding="utf-8"))["journal"]
    except (ValueError, KeyError, TypeError):
        raise JournalDamaged(f"{mark} cannot be read, so that it is not known whose backups these are.") from None
    return str(found)


def _keep_file(folder: Path, member: str, source: Path, row: FileSeen, number: int) -> None:
    kind, name = member.split("/")
    target = folder / kind / row.sha256[:2] / name
    if not _is_kept(target, row, number):
        _copy_durably(source, target, member, row.sha256)


def _is_kept(target: Path, row: FileSeen, number: int) -> bool:
    try:
        if target.stat().st_size != row.bytes:
            return False
        if int(row.sha256[-2:], 16) % READ_AGAIN != number % READ_AGAIN:
            return True
        with target.open("rb") as file:
            return copy_hashed(file) == row.sha256
    except OSError:
        return False


def _copy_durably(source: Path, target: Path, member: str, expected: str | None) -> str:
    make_folder_durably(target.parent)
    handle, name = tempfile.mkstemp(prefix=TEMPORARY, dir=target.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            sha256 = copy_file_hashed(member, source, out, expected)
            out.flush()
            os.fsync(out.fileno())
        temporary.replace(target)
        fsync_folder(target.parent)
    finally:
        temporary.unlink(missing_ok=True)
    return sha256


def _keep_database(folder: Path, copied: Copied, number: int) -> Manifest:
    name = f"{number:06d}_{_day(copied.made_at)}"
    target = folder / DATABASES / f"{name}.sqlite3"
    manifest = copied.manifest(_copy_durably(copied.database, target, target.name, None))
    write_durably(target.with_suffix(".json"), manifest.as_json())
    return manifest


def _day(moment: datetime) -> str:
    return moment.date().isoformat()


def _let_go(folder: Path, keep: int) -> None:
    """The manifest goes first: a copy without one counts as unfinished, and is cleared away with other such ones."""
    whole = kept_in(folder)
    for one in whole[: max(0, len(whole) - keep)]:
        one.manifest_file.unlink(missing_ok=True)
    named = {one.database_file for one in kept_in(folder)}
    for path in (folder / DATABASES).glob("*.sqlite3"):
        if path not in named:
            path.unlink(missing_ok=True)
    for kind in ("", DATABASES, "originals/*", "recordings/*"):
        for path in folder.glob(f"{kind}/{TEMPORARY}*" if kind else f"{TEMPORARY}*"):
            path.unlink(missing_ok=True)
