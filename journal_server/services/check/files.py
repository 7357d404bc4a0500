"""Every original and recording: there, of its size and hash, named by a record; and what lies about without one."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.engine import Connection

from journal_server.services.check.findings import NOTE, WRONG, Finding, together
from journal_server.storage.inspection import FileSeen, RecordSeen, files_seen
from journal_server.storage.photo_files import TEMPORARY

PART = "files"
FOLDERS = {"photo": "originals", "recording": "recordings"}
FRESH_S = 60.0
"""A file as young as that may be one that is just being taken in."""
SEND_AGAIN = (
    "Take the same photo in again, from the phone, the camera or a backup: the journal knows it by its bytes and puts "
    "it back. Where you have no other copy, keep this folder as it is."
)
Tell = Callable[[int, int], None]


@dataclass(frozen=True)
class Expected:
    """A file that the database names."""

    path: Path
    row: FileSeen
    name: str


def expected_files(
    connection: Connection, folder: Path, records: dict[str, RecordSeen]
) -> tuple[list[Expected], list[Finding]]:
    """The files that the database names, and where its records and its rows of files differ."""
    found: list[Finding] = []
    expected: list[Expected] = []
    for kind, name in FOLDERS.items():
        rows = files_seen(connection, kind)
        found += _check_rows(kind, rows, records)
        expected += [_expected(folder / name, row, records) for row in rows]
    return expected, found


def check_files(folder: Path, expected: list[Expected], now_s: float, *, hashing: bool, tell: Tell) -> list[Finding]:
    """What is wrong with these files on disk, and with those beside them that the database does not name."""
    found = _check_expected(expected, hashing, tell)
    return found + _check_others(folder, {file.path for file in expected}, now_s)


def _expected(root: Path, row: FileSeen, records: dict[str, RecordSeen]) -> Expected:
    record = records.get(row.record_id)
    name = str(record.fields.get("file_name")) if record else "a photo without a record"
    return Expected(root / row.sha256[:2] / row.file_name, row, name)


def _check_rows(kind: str, rows: list[FileSeen], records: dict[str, RecordSeen]) -> list[Finding]:
    of_record = {row.record_id: row for row in rows}
    mine = [record for record in records.values() if record.kind == kind]
    without = (str(r.fields.get("file_name")) for r in mine if r.id not in of_record)
    differing = (
        str(r.fields.get("file_name"))
        for r in mine
        if r.id in of_record and r.fields.get("sha256") not in (None, of_record[r.id].sha256)
    )
    mend = "Restore the last good backup into a new folder, and compare."
    return [
        *together(WRONG, PART, f"A {kind} of which the journal does not know the file", without, mend),
        *together(WRONG, PART, f"A {kind} whose record names other bytes than its file", differing, mend),
    ]


def _check_expected(expected: list[Expected], hashing: bool, tell: Tell) -> list[Finding]:
    missing, changed, unreadable = [], [], []
    for done, file in enumerate(expected):
        words = f"{file.name} ({file.path.parent.parent.name}/{file.path.parent.name}/{file.path.name})"
        try:
            if file.path.stat().st_size != file.row.bytes or (hashing and hash_of(file.path) != file.row.sha256):
                changed.append(words)
        except FileNotFoundError:
            missing.append(words)
        except OSError as error:
            unreadable.append(f"{words}: {error.strerror}")
        tell(done + 1, len(expected))
    disk = "Copy the folder to another disk before anything else; this one may be failing."
    return [
        *together(WRONG, PART, "Files are missing", missing, SEND_AGAIN),
        *together(WRONG, PART, "Files have changed on disk since they were taken in", changed, SEND_AGAIN),
        *together(WRONG, PART, "Files cannot be read", unreadable, disk),
    ]


def _check_others(folder: Path, expected: set[Path], now_s: float) -> list[Finding]:
    left: list[str] = []
    strange: list[str] = []
    for path in _all_files(folder):
        if path in expected or now_s - path.lstat().st_mtime < FRESH_S:
            continue
        (left if path.name.startswith(TEMPORARY) else strange).append(str(path.relative_to(folder)))
    return [
        *together(
            NOTE, PART, "Left over from work that was broken off", left,
            "They can be deleted; the journal does so by itself when it is served a day later.",
        ),
        *together(
            NOTE, PART, "Files that no record names (received, but never acknowledged)", strange,
            "Run “journal-server add” on a copy of each to take it in; once it is in, or not wanted, delete the file.",
        ),
    ]  # fmt: skip


def _all_files(folder: Path) -> Iterator[Path]:
    yield from (path for path in folder.glob(f"{TEMPORARY}*") if not path.is_dir())
    for name in FOLDERS.values():
        yield from (path for path in sorted((folder / name).rglob("*")) if path.is_symlink() or not path.is_dir())
    yield from (path for path in sorted((folder / "derived").rglob(f"{TEMPORARY}*")) if not path.is_dir())


def hash_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
