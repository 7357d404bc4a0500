"""What is in a backup: a copy of the database at one moment, the files that it names, and a manifest of both."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

from journal_server import __version__
from journal_server.errors import InputRefused, JournalDamaged
from journal_server.services.journal import DATABASE_FILE, Journal
from journal_server.storage.elsewhere import PhotosElsewhere
from journal_server.storage.inspection import FileSeen, content_lines, files_seen, looking_at, schema_of
from journal_server.storage.photo_files import TEMPORARY

MANIFEST = "manifest.json"
FORMAT = 2
PHOTOS, SOUNDS = "originals/", "recordings/"
KINDS_OF_FILE = {"photo": PHOTOS, "recording": SOUNDS}
PIECE = 1_000_000
LONGEST_MANIFEST = 200_000_000
_MEMBER = re.compile(rf"({PHOTOS}|{SOUNDS})(?P<sha256>[0-9a-f]{{64}})\.[a-z0-9]{{1,7}}")


@dataclass(frozen=True)
class Contents:
    """The rows of each table, counted, and one hash over the values of all of them in a fixed order."""

    rows: dict[str, int]
    sha256: str

    def __getitem__(self, table: str) -> int:
        return self.rows.get(table, 0)


@dataclass(frozen=True)
class Manifest:
    """``files`` gives the SHA-256 of each member. Earlier archives know no ``contents``."""

    made_at: str
    files: dict[str, str]
    version: str = __version__
    schema: str | None = None
    contents: Contents | None = None

    @property
    def photos(self) -> int:
        return sum(member.startswith(PHOTOS) for member in self.files)

    def as_json(self) -> bytes:
        inside = {"rows": self.contents.rows, "sha256": self.contents.sha256} if self.contents else None
        given = {"format": FORMAT, "made_at": self.made_at, "version": self.version, "schema": self.schema}
        return json.dumps({**given, "contents": inside, "files": self.files}, indent=1).encode()


@dataclass
class Copied:
    """A copy of the database, what is in it, and the files that it names."""

    database: Path
    schema: str | None
    contents: Contents
    made_at: datetime
    files: list[tuple[str, Path, FileSeen]] = field(default_factory=list)
    """Of each file: its name in a backup, where it is, its row."""

    def manifest(self, database_sha256: str) -> Manifest:
        files = {DATABASE_FILE: database_sha256} | {member: row.sha256 for member, _, row in self.files}
        return Manifest(self.made_at.isoformat(timespec="seconds"), files, schema=self.schema, contents=self.contents)


@contextmanager
def copied_journal(journal: Journal) -> Iterator[Copied]:
    """The database as it is at this moment, also while others write; the copy goes at the end.

    It lies in the journal's folder: elsewhere it might be too large, or be seen by others before it is sealed.
    """
    if not journal.database.url.startswith("sqlite"):
        raise InputRefused(
            "A journal on a database server is backed up with that server's own tools (pg_dump); originals/ and "
            "recordings/ in the data folder are to be copied after it. Nothing was written."
        )
    if isinstance(journal.files, PhotosElsewhere):
        raise InputRefused(
            "The photos of this journal are kept in a store: have that keep earlier versions of them (versioning or "
            "replication), and copy the database while the journal is not served. Nothing was written."
        )
    made_at = datetime.now(UTC)
    handle, name = tempfile.mkstemp(prefix=TEMPORARY, suffix=".sqlite3", dir=journal.folder)
    os.close(handle)
    copy = Path(name)
    try:
        copy_database(journal.folder / DATABASE_FILE, copy)
        with looking_at(copy) as connection:
            files = [
                (f"{kind}{row.file_name}", journal.folder / kind / row.sha256[:2] / row.file_name, row)
                for what, kind in KINDS_OF_FILE.items()
                for row in files_seen(connection, what)
            ]
            schema = schema_of(connection)
        yield Copied(copy, schema, contents_of(copy), made_at, files)
    finally:
        for left in copy.parent.glob(f"{copy.name}*"):
            left.unlink(missing_ok=True)


def copy_database(source: Path, target: Path) -> None:
    """SQLite's online backup, as one file without a log beside it."""
    with contextlib.closing(sqlite3.connect(source)) as live, contextlib.closing(sqlite3.connect(target)) as copy:
        live.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")


def contents_of(database: Path) -> Contents:
    counted: Counter[str] = Counter()
    digest = hashlib.sha256()
    with looking_at(database) as connection:
        for table, line in content_lines(connection):
            counted[table] += 1
            digest.update(f"{table} {line}\n".encode())
    return Contents(dict(counted), digest.hexdigest())


def copy_hashed(source: IO[bytes], target: IO[bytes] | None = None) -> str:
    """Copy all of it (or only read it); returns the SHA-256 of what went through."""
    digest = hashlib.sha256()
    while piece := source.read(PIECE):
        digest.update(piece)
        if target is not None:
            target.write(piece)
    return digest.hexdigest()


def copy_file_hashed(member: str, path: Path, target: IO[bytes], expected: str | None) -> str:
    """Copy a file of the journal into a backup. Raises JournalDamaged where it is not what was taken in."""
    try:
        with path.open("rb") as source:
            found = copy_hashed(source, target)
    except FileNotFoundError:
        raise JournalDamaged(f"The file {member} is missing from the journal; no backup was made. {CHECK}") from None
    if expected is not None and found != expected:
        raise JournalDamaged(f"The file {member} has changed on disk; no backup was made. {CHECK}")
    return found


CHECK = "Run “journal-server check”: it names every such file and says how to mend it."


def parse_manifest(content: bytes) -> Manifest:
    """Raises ValueError, with the reason, for what is no manifest of a backup."""
    given: Any = json.loads(content)
    files = given.get("files") if isinstance(given, dict) else None
    if not isinstance(files, dict) or DATABASE_FILE not in files:
        raise ValueError("its list of contents is missing")
    for member, sha256 in files.items():
        named = _MEMBER.fullmatch(member)
        if member != DATABASE_FILE and (named is None or sha256 != named["sha256"]):
            raise ValueError(f"it names a file that does not belong in it: {member[:80]!r}")
    schema, inside = given.get("schema"), given.get("contents")
    contents = Contents(dict(inside["rows"]), str(inside["sha256"])) if isinstance(inside, dict) else None
    return Manifest(str(given.get("made_at")), files, str(given.get("version")), schema, contents)
