"""One archive with all that cannot be made again: records, original photos and recordings, with their hashes."""

from __future__ import annotations

import hashlib
import json
import os
import re
import sqlite3
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from journal_server import __version__
from journal_server.errors import InputRefused, JournalBusy, JournalDamaged
from journal_server.services.journal import DATABASE_FILE, Journal
from journal_server.storage.photo_files import write_durably
from journal_server.storage.recordings import all_recording_files
from journal_server.storage.records import all_photo_files

MANIFEST = "manifest.json"
PHOTOS, SOUNDS = "originals/", "recordings/"
_MEMBER = re.compile(rf"({PHOTOS}|{SOUNDS})(?P<sha256>[0-9a-f]{{64}})\.[a-z0-9]{{1,7}}")
STAMP = "last_backup.json"
Tell = Callable[[int, int], None]


def last_backup(journal: Journal) -> str | None:
    """The moment of the last good backup, ISO 8601, or None."""
    stamp = journal.folder / STAMP
    try:
        moment = json.loads(stamp.read_text())["made_at"]
        return moment if isinstance(moment, str) else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def make_backup(journal: Journal, archive: Path, tell: Tell = lambda done, total: None) -> int:
    """Write the archive (also while the server runs); returns how many photos are in it."""
    if not journal.database.url.startswith("sqlite"):
        raise InputRefused("A journal on a database server is backed up with that server's own tools.")
    made_at = datetime.now(UTC).isoformat(timespec="seconds")
    handle, name = _temporary_beside(archive)
    os.close(handle)
    temporary = Path(name)
    try:
        with (
            tempfile.TemporaryDirectory() as scratch,
            zipfile.ZipFile(temporary, "w", zipfile.ZIP_STORED) as out,
        ):
            copy = Path(scratch) / DATABASE_FILE
            _copy_database(journal.folder / DATABASE_FILE, copy)
            files = _files(journal)  # after the copy, so that what comes in meanwhile is not missing from its files
            members = [(DATABASE_FILE, copy, _hash(copy)), *files]
            for done, (member, path, sha256) in enumerate(members):
                _add_member(out, member, path, sha256)
                tell(done + 1, len(members))
            manifest = {"made_at": made_at, "version": __version__, "files": {m: h for m, _, h in members}}
            out.writestr(MANIFEST, json.dumps(manifest, indent=1))
        with temporary.open("rb") as written:
            os.fsync(written.fileno())
        temporary.replace(archive)
    except OSError as error:
        raise JournalBusy(f"The backup could not be written ({error.strerror}). The journal is unchanged.") from error
    finally:
        temporary.unlink(missing_ok=True)
    write_durably(journal.folder / STAMP, json.dumps({"made_at": made_at}).encode())
    return _count_photos(name for name, _, _ in files)


def restore_backup(archive: Path, folder: Path, tell: Tell = lambda done, total: None) -> int:
    """Verify the whole archive, then write it into an empty folder; returns how many photos came back."""
    if folder.exists() and any(folder.iterdir()):
        raise InputRefused(f"The folder {folder} is not empty; restore into a new one, so that nothing is overwritten.")
    try:
        with zipfile.ZipFile(archive) as source:
            expected = _read_manifest(source)
            for done, (member, sha256) in enumerate(expected.items()):
                if _hash_stream(source, member) != sha256:
                    raise JournalDamaged(
                        f"The archive is damaged: {member} is not what was backed up. Nothing was restored."
                    )
                tell(done + 1, 2 * len(expected))
            _write_members(source, expected, folder, tell)
    except FileNotFoundError as error:
        raise InputRefused(f"There is no archive {archive}.") from error
    except (zipfile.BadZipFile, zlib.error, EOFError, ValueError, KeyError, RuntimeError) as error:
        # RuntimeError is how the library says that a member is encrypted or packed in a way it does not know.
        raise JournalDamaged(f"{archive} is not a whole backup archive ({error}). Nothing was restored.") from error
    except OSError as error:
        raise JournalBusy(f"The backup could not be restored ({error.strerror}).") from error
    return _count_photos(expected)


def _files(journal: Journal) -> list[tuple[str, Path, str]]:
    """Of each file: its name in the archive, where it is, its hash."""
    with journal.database.reading() as session:
        photos, sounds = all_photo_files(session), all_recording_files(session)
    return [
        *((f"{PHOTOS}{f.sha256}{f.suffix}", journal.files.original(f.sha256, f.suffix), f.sha256) for f in photos),
        *((f"{SOUNDS}{f.sha256}{f.suffix}", journal.recordings.file(f.sha256, f.suffix), f.sha256) for f in sounds),
    ]


def _count_photos(members: Iterable[str]) -> int:
    return sum(member.startswith(PHOTOS) for member in members)


def _temporary_beside(archive: Path) -> tuple[int, str]:
    try:
        archive.parent.mkdir(parents=True, exist_ok=True)
        return tempfile.mkstemp(prefix=".new-", dir=archive.parent)
    except OSError as error:
        raise JournalBusy(f"The backup cannot be written to {archive.parent} ({error.strerror}).") from error


def _copy_database(source: Path, target: Path) -> None:
    with sqlite3.connect(source) as live, sqlite3.connect(target) as copy:
        live.backup(copy)
    live.close()
    copy.close()


def _add_member(out: zipfile.ZipFile, member: str, path: Path, sha256: str) -> None:
    try:
        found = _hash(path)
    except FileNotFoundError:
        raise JournalDamaged(f"The file {member} is missing from the journal; no backup was made.") from None
    if found != sha256:
        raise JournalDamaged(f"The file {member} has changed on disk; no backup was made.")
    out.write(path, member)


def _hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _hash_stream(source: zipfile.ZipFile, member: str) -> str:
    with source.open(member) as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()  # type: ignore[arg-type]


def _read_manifest(source: zipfile.ZipFile) -> dict[str, str]:
    manifest: Any = json.loads(source.read(MANIFEST))
    files = manifest["files"] if isinstance(manifest, dict) else None
    if not isinstance(files, dict) or DATABASE_FILE not in files:
        raise ValueError("its list of contents is missing")
    for member in files:
        named = _MEMBER.fullmatch(member)
        if member != DATABASE_FILE and (named is None or files[member] != named["sha256"]):
            raise ValueError(f"it names a file that does not belong in it: {member[:80]!r}")
    extra = set(source.namelist()) - set(files) - {MANIFEST}
    if extra or len(source.namelist()) != len(files) + 1:
        raise ValueError("it holds files that are not in its list of contents")
    return files


def _write_members(source: zipfile.ZipFile, expected: dict[str, str], folder: Path, tell: Tell) -> None:
    for done, (member, sha256) in enumerate(expected.items()):
        if member == DATABASE_FILE:
            continue
        kind, name = member.split("/")
        target = folder / kind / sha256[:2] / name
        write_durably(target, source.read(member), mode=0o444)
        tell(len(expected) + done + 1, 2 * len(expected))
    # The database comes last: a restore that was broken off leaves no journal that looks whole.
    write_durably(folder / DATABASE_FILE, source.read(DATABASE_FILE))
