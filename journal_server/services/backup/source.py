"""A backup to restore from: an archive, a sealed archive or a folder, all read the same way and none trusted."""

from __future__ import annotations

import io
import stat
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Protocol

from journal_server.errors import InputRefused
from journal_server.services.backup.contents import LONGEST_MANIFEST, MANIFEST, Manifest, parse_manifest
from journal_server.services.backup.folder import DATABASES, MARK, Kept, kept_in
from journal_server.services.journal import DATABASE_FILE
from journal_server.storage.sealed import PIECE, SealedReader, is_sealed

ENCRYPTED = 0x1


class Source(Protocol):
    manifest: Manifest

    def size(self, member: str) -> int:
        """How many bytes it has, before any is read."""

    def open(self, member: str) -> IO[bytes]: ...


@contextmanager
def open_source(given: Path, passphrase: str | None = None) -> Iterator[Source]:
    """Raises InputRefused where nothing is there, and ValueError or BadZipFile for what is no backup."""
    if given.is_dir() or given.suffix == ".json":
        yield FolderSource(given)
        return
    if not given.is_file():
        raise InputRefused(f"There is no archive {given}.")
    with given.open("rb") as file:
        if not is_sealed(given):
            yield ZipSource(file)
        elif passphrase is None:
            says = "This archive is sealed with a passphrase; give it with --passphrase-file FILE."
            raise InputRefused(says, "passphrase")
        else:
            yield ZipSource(io.BufferedReader(SealedReader(file, passphrase), PIECE))  # type: ignore[type-var]


class ZipSource:
    """Members are stored, never packed, each once, each a plain file, and together no larger than the archive."""

    def __init__(self, file: IO[bytes]):
        self._zip = zipfile.ZipFile(file)
        size = file.seek(0, io.SEEK_END)
        members = self._zip.infolist()
        for member in members:
            _refuse_odd(member)
        if sum(member.file_size for member in members) > size:
            raise ValueError("it would become larger than it is")
        found = next((member for member in members if member.filename == MANIFEST), None)
        if found is None or found.file_size > LONGEST_MANIFEST:
            raise ValueError("its list of contents is missing")
        self.manifest = parse_manifest(self._zip.read(MANIFEST))
        if sorted(member.filename for member in members) != sorted([*self.manifest.files, MANIFEST]):
            raise ValueError("it holds other files than its list of contents names, or one of them twice")

    def size(self, member: str) -> int:
        return self._zip.getinfo(member).file_size

    def open(self, member: str) -> IO[bytes]:
        return self._zip.open(member)


def _refuse_odd(member: zipfile.ZipInfo) -> None:
    kind = stat.S_IFMT(member.external_attr >> 16)
    if member.compress_type != zipfile.ZIP_STORED or member.flag_bits & ENCRYPTED:
        raise ValueError("its files are packed or locked in a way that this program does not use")
    if kind not in (0, stat.S_IFREG) or member.is_dir():
        raise ValueError(f"it holds something that is no plain file: {member.filename[:80]!r}")


class FolderSource:
    """The newest backup in a folder, or the one whose manifest is given."""

    def __init__(self, given: Path):
        self._kept = self._newest(given) if given.is_dir() else Kept(0, given)
        self._folder = self._kept.manifest_file.parent.parent
        self.manifest = parse_manifest(_plain(self._kept.manifest_file).read_bytes())

    @staticmethod
    def _newest(folder: Path) -> Kept:
        kept = kept_in(folder)
        if not kept:
            raise InputRefused(f"There is no whole backup in {folder}; it should hold {MARK} and {DATABASES}/.")
        return kept[-1]

    def size(self, member: str) -> int:
        return self._path(member).stat().st_size

    def open(self, member: str) -> IO[bytes]:
        return self._path(member).open("rb")

    def _path(self, member: str) -> Path:
        if member == DATABASE_FILE:
            return _plain(self._kept.database_file)
        kind, name = member.split("/")
        return _plain(self._folder / kind / name[:2] / name)


def _plain(path: Path) -> Path:
    """Raises ValueError for a link, a device or a pipe in the place of a file."""
    try:
        kind = path.lstat().st_mode
    except FileNotFoundError:
        raise ValueError(f"{path.name} is missing") from None
    if not stat.S_ISREG(kind):
        raise ValueError(f"{path.name} is no plain file")
    return path
