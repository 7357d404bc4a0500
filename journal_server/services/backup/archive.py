"""One archive with everything: a zip of stored members, sealed with a passphrase where one is given."""

from __future__ import annotations

import os
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from journal_server.errors import JournalBusy
from journal_server.services.backup.contents import (
    MANIFEST,
    Copied,
    Manifest,
    copied_journal,
    copy_file_hashed,
)
from journal_server.services.backup.state import note_good
from journal_server.services.journal import DATABASE_FILE, Journal
from journal_server.storage.photo_files import TEMPORARY, fsync_folder
from journal_server.storage.sealed import SealedWriter

Tell = Callable[[int, int], None]
FROM_2_GIB = 2**31 - 1


def make_backup(
    journal: Journal, archive: Path, passphrase: str | None = None, tell: Tell = lambda done, total: None
) -> Manifest:
    """Write the archive, also while the server runs; an earlier one of that name is replaced only by a whole one."""
    try:
        with copied_journal(journal) as copied, _written_whole(archive) as out:
            if passphrase is None:
                manifest = _write_zip(out, copied, tell)
            else:
                sealed = SealedWriter(out, passphrase)
                manifest = _write_zip(sealed, copied, tell)  # type: ignore[arg-type]
                sealed.finish()
    except OSError as error:
        raise JournalBusy(
            f"The backup could not be written ({error.strerror or error}). The journal is unchanged, and so is an "
            "earlier backup: make room or choose another place."
        ) from error
    note_good(journal, copied.made_at)
    return manifest


def _write_zip(out: IO[bytes], copied: Copied, tell: Tell) -> Manifest:
    members = [(DATABASE_FILE, copied.database, None), *((name, path, row.sha256) for name, path, row in copied.files)]
    hashes = {}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for done, (member, path, expected) in enumerate(members):
            with archive.open(_named(member), "w", force_zip64=_is_huge(path)) as target:
                hashes[member] = copy_file_hashed(member, path, target, expected)
            tell(done + 1, len(members))
        manifest = copied.manifest(hashes[DATABASE_FILE])
        archive.writestr(_named(MANIFEST), manifest.as_json())
    return manifest


def _named(member: str) -> zipfile.ZipInfo:
    """Without a time: a clock before 1980 cannot stand in a zip."""
    named = zipfile.ZipInfo(member)
    named.external_attr = 0o100600 << 16  # a regular file (APPNOTE 4.4.15; st_mode)
    return named


def _is_huge(path: Path) -> bool:
    return path.exists() and path.stat().st_size > FROM_2_GIB


@contextmanager
def _written_whole(target: Path) -> Iterator[IO[bytes]]:
    """A file beside the target that takes its name once all of it is on disk."""
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=TEMPORARY, dir=target.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        temporary.replace(target)
        fsync_folder(target.parent)
    finally:
        temporary.unlink(missing_ok=True)
