"""Restoring: all is verified before anything is written, and what was written is read again and compared."""

from __future__ import annotations

import os
import shutil
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from journal_server.errors import InputRefused, JournalBusy, JournalDamaged, JournalNewer
from journal_server.services.backup.contents import KINDS_OF_FILE, Contents, contents_of, copy_hashed
from journal_server.services.backup.source import Source, open_source
from journal_server.services.journal import DATABASE_FILE, OWNER_ALONE
from journal_server.storage.database import known_schemas
from journal_server.storage.inspection import files_seen, has_own_code, integrity_problems, looking_at, schema_of
from journal_server.storage.photo_files import fsync_folder, make_folder_durably

UNFINISHED = ".restoring"
"""All is written in here first. A folder with it holds a restore that was broken off, and nothing else."""
FOLDERS = tuple(kind.rstrip("/") for kind in KINDS_OF_FILE.values())
Tell = Callable[[int, int], None]


@dataclass(frozen=True)
class Restored:
    """What came back, each proved to be equal to what was backed up."""

    made_at: str
    photos: int
    recordings: int
    contents: Contents


def restore_backup(
    given: Path, folder: Path, passphrase: str | None = None, tell: Tell = lambda done, total: None
) -> Restored:
    """Verify the whole backup, then write it into an empty folder, read that again, and compare."""
    _refuse_used(folder)
    with _plain_words(given), open_source(given, passphrase) as source:
        steps = 3 * len(source.manifest.files)
        _verify(source, lambda done: tell(done, steps))
        _refuse_too_large(source, folder)
        staging = _begin(folder)
        try:
            _write(source, staging, lambda done: tell(steps // 3 + done, steps))
            contents = _prove(source, staging, lambda done: tell(2 * steps // 3 + done, steps))
            _put_in_place(staging, folder)
        except BaseException:
            _undo(folder)
            raise
        return _restored(source, contents)


def verify_backup(given: Path, passphrase: str | None = None, tell: Tell = lambda done, total: None) -> int:
    """Read all of a backup and compare each hash; writes nothing. Returns how many photos are in it."""
    with _plain_words(given), open_source(given, passphrase) as source:
        _verify(source, lambda done: tell(done, len(source.manifest.files)))
        return source.manifest.photos


def _restored(source: Source, contents: Contents) -> Restored:
    manifest = source.manifest
    return Restored(manifest.made_at, manifest.photos, len(manifest.files) - 1 - manifest.photos, contents)


@contextmanager
def _plain_words(given: Path) -> Iterator[None]:
    try:
        yield
    except (zipfile.BadZipFile, EOFError, ValueError, KeyError, TypeError, RuntimeError, NotImplementedError) as error:
        # RuntimeError and NotImplementedError are how the library refuses what it does not know.
        raise JournalDamaged(f"{given} is not a whole backup ({error}). Nothing was restored.") from error
    except OSError as error:
        raise JournalBusy(
            f"The backup could not be restored ({error.strerror or error}). Nothing was restored."
        ) from error


def _refuse_used(folder: Path) -> None:
    there = {path.name for path in folder.iterdir()} if folder.is_dir() else set()
    broken_off = UNFINISHED in there and there <= {UNFINISHED, *FOLDERS}
    if folder.is_file() or (there and not broken_off):
        raise InputRefused(f"The folder {folder} is not empty; restore into a new one, so that nothing is overwritten.")


def _verify(source: Source, tell: Callable[[int], None]) -> None:
    for done, (member, sha256) in enumerate(source.manifest.files.items()):
        with source.open(member) as stream:
            if copy_hashed(stream) != sha256:
                raise JournalDamaged(
                    f"The backup is damaged: {member} is not what was backed up. Nothing was restored."
                )
        tell(done + 1)


def _refuse_too_large(source: Source, folder: Path) -> None:
    needed = sum(source.size(member) for member in source.manifest.files)
    there = next(path for path in (folder, *folder.absolute().parents) if path.exists())
    free = shutil.disk_usage(there).free
    if needed > free:
        raise JournalBusy(
            f"There is not enough room for the backup: it needs {needed / 1e6:.0f} MB, and {free / 1e6:.0f} MB are "
            "free. Nothing was restored."
        )


def _begin(folder: Path) -> Path:
    _undo(folder)
    staging = folder / UNFINISHED
    make_folder_durably(folder, OWNER_ALONE)
    make_folder_durably(staging)
    return staging


def _undo(folder: Path) -> None:
    """Take away all that a restore has written; the folder itself stays only where something else is in it."""
    if folder.is_dir() and (folder / UNFINISHED).exists():
        for name in (DATABASE_FILE, *FOLDERS, UNFINISHED):  # the mark goes last
            path = folder / name
            shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
        if not any(folder.iterdir()):
            folder.rmdir()


def _place_of(member: str, root: Path) -> Path:
    if member == DATABASE_FILE:
        return root / DATABASE_FILE
    kind, name = member.split("/")
    return root / kind / name[:2] / name


def _write(source: Source, staging: Path, tell: Callable[[int], None]) -> None:
    for done, member in enumerate(source.manifest.files):
        target = _place_of(member, staging)
        make_folder_durably(target.parent)
        with source.open(member) as stream, target.open("xb") as out:
            copy_hashed(stream, out)
            out.flush()
            os.fsync(out.fileno())
        if member != DATABASE_FILE:
            target.chmod(0o444)
        tell(done + 1)
    for folder in {_place_of(member, staging).parent for member in source.manifest.files}:
        fsync_folder(folder)


def _prove(source: Source, staging: Path, tell: Callable[[int], None]) -> Contents:
    """Read what was written: the same bytes, a sound database, the files that it names, the same rows and numbers."""
    manifest = source.manifest
    for done, (member, sha256) in enumerate(manifest.files.items()):
        with _place_of(member, staging).open("rb") as file:
            if copy_hashed(file) != sha256:
                raise JournalBusy(
                    f"The disk did not keep {member} as it was written. Nothing was restored; try another."
                )
        tell(done + 1)
    database = staging / DATABASE_FILE
    try:
        _prove_database(database, set(manifest.files) - {DATABASE_FILE})
        contents = contents_of(database)
    except (JournalDamaged, JournalBusy, DBAPIError) as error:
        raise ValueError(f"its database cannot be read: {error.__cause__ or error}") from error
    if manifest.contents not in (None, contents):
        raise ValueError("its records or numbers are not those that were backed up")
    return contents


def _prove_database(database: Path, files: set[str]) -> None:
    with looking_at(database) as connection:
        if has_own_code(connection):
            raise ValueError("its database brings code along, which no journal's does")
        problems = integrity_problems(connection)
        if problems:
            raise ValueError(f"its database is damaged: {problems[0]}")
        schema = schema_of(connection)
        if schema is None:
            raise ValueError("its database holds no journal")
        if schema not in known_schemas():
            raise JournalNewer(
                f"The backup was made by a newer version of the program (step {schema}). Nothing was restored: install "
                "that version first."
            )
        named = {
            f"{folder}{row.sha256}{row.suffix}"
            for kind, folder in KINDS_OF_FILE.items()
            for row in files_seen(connection, kind)
        }
    if not named <= files:
        raise ValueError("its database names photos that are not in it")


def _put_in_place(staging: Path, folder: Path) -> None:
    """The database comes last: a restore that was broken off leaves no journal that looks whole."""
    for name in (*FOLDERS, DATABASE_FILE):
        if (staging / name).exists():
            (staging / name).rename(folder / name)
            fsync_folder(folder)
    staging.rmdir()
    fsync_folder(folder)
