"""The photo files: originals under their SHA-256, read-only, and what can be made from them again."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from journal_server.errors import JournalBusy

_SHA256 = re.compile(r"[0-9a-f]{64}")


class PhotoFiles:
    """``originals/`` is kept for ever; ``derived/`` can be thrown away and made again."""

    def __init__(self, folder: Path):
        self.originals = folder / "originals"
        self.derived = folder / "derived"
        for made in (self.originals, self.derived):
            made.mkdir(parents=True, exist_ok=True)

    def original(self, sha256: str, suffix: str) -> Path:
        return place_of_hash(self.originals, sha256) / f"{sha256}{suffix}"

    def derived_file(self, sha256: str, name: str) -> Path:
        return place_of_hash(self.derived, sha256) / f"{sha256}.{name}"

    def keep_original(self, sha256: str, suffix: str, content: bytes) -> Path:
        """Write the bytes durably and read-only; the same bytes already there stay as they are."""
        return keep_read_only(self.original(sha256, suffix), content)

    def keep_derived(self, sha256: str, name: str, content: bytes) -> Path:
        path = self.derived_file(sha256, name)
        write_durably(path, content)
        return path

    def all_originals(self) -> Iterator[Path]:
        yield from (p for p in sorted(self.originals.glob("*/*")) if not p.name.startswith(".new-"))


def place_of_hash(root: Path, sha256: str) -> Path:
    """The folder for a file of that hash; a path is made of nothing else."""
    if not _SHA256.fullmatch(sha256):
        raise ValueError(f"not a SHA-256: {sha256!r}")
    return root / sha256[:2]


def keep_read_only(path: Path, content: bytes) -> Path:
    """Write the bytes durably and read-only; a file of that size already there stays as it is."""
    if not (path.exists() and path.stat().st_size == len(content)):
        write_durably(path, content, mode=0o444)
    return path


def write_durably(path: Path, content: bytes, mode: int = 0o644) -> None:
    """Write to a temporary file, fsync, rename, fsync the folder: after a crash the file is whole or not there."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=".new-", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(content)
                out.flush()
                os.fsync(out.fileno())
            Path(temporary).chmod(mode)
            Path(temporary).replace(path)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
        _fsync_folder(path.parent)
    except OSError as error:
        raise JournalBusy(
            f"The file could not be written ({error.strerror}). Nothing was changed; make room or check the folder."
        ) from error


def _fsync_folder(folder: Path) -> None:
    if os.name == "nt":  # Windows cannot open a folder for syncing; its rename is journaled.
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
