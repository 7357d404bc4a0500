"""The photo files: originals under their SHA-256, read-only, and what can be made from them again."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from journal_server.errors import JournalBusy

TEMPORARY = ".new-"
"""How the name of a file begins that is still being written."""
LEFT_OVER_AFTER_S = 24 * 3600.0
_SHA256 = re.compile(r"[0-9a-f]{64}")


class PhotoFiles:
    """``originals/`` is kept for ever; ``derived/`` can be thrown away and made again."""

    def __init__(self, folder: Path):
        self.originals = folder / "originals"
        self.derived = folder / "derived"
        for made in (self.originals, self.derived):
            made.mkdir(parents=True, exist_ok=True)

    def place_of_original(self, sha256: str, suffix: str) -> Path:
        """Where it lies once it is here; only ``original`` sees to that."""
        return place_of_hash(self.originals, sha256) / f"{sha256}{suffix}"

    def place_of_derived(self, sha256: str, name: str) -> Path:
        return place_of_hash(self.derived, sha256) / f"{sha256}.{name}"

    def original(self, sha256: str, suffix: str) -> Path:
        """To be read now; there is no file where none is kept."""
        return self.place_of_original(sha256, suffix)

    def derived_file(self, sha256: str, name: str) -> Path:
        return self.place_of_derived(sha256, name)

    def keep_original(self, sha256: str, suffix: str, content: bytes) -> Path:
        """Write the bytes durably and read-only; the same bytes already there stay as they are."""
        return keep_read_only(self.place_of_original(sha256, suffix), content)

    def keep_derived(self, sha256: str, name: str, content: bytes) -> Path:
        path = self.place_of_derived(sha256, name)
        write_durably(path, content)
        return path

    def has_class_maps(self) -> bool:
        return any(self.derived.glob("*/*.overlay-*"))

    def all_originals(self) -> Iterator[Path]:
        yield from (p for p in sorted(self.originals.glob("*/*")) if not p.name.startswith(TEMPORARY))


def place_of_hash(root: Path, sha256: str) -> Path:
    """The folder for a file of that hash; a path is made of nothing else."""
    if not _SHA256.fullmatch(sha256):
        raise ValueError(f"not a SHA-256: {sha256!r}")
    return root / sha256[:2]


def keep_read_only(path: Path, content: bytes) -> Path:
    """Write the bytes durably and read-only; the same bytes already there stay as they are, others are replaced."""
    if not _holds(path, content):
        write_durably(path, content, mode=0o444)
    return path


def _holds(path: Path, content: bytes) -> bool:
    try:
        return path.stat().st_size == len(content) and path.read_bytes() == content
    except OSError:
        return False


def remove_leftovers(folder: Path, now_s: float) -> int:
    """Delete what writes that were broken off have left, once it is a day old; returns how many files."""
    old = [path for path in folder.rglob(f"{TEMPORARY}*") if now_s - path.lstat().st_mtime > LEFT_OVER_AFTER_S]
    for path in old:
        path.unlink(missing_ok=True)
    return len(old)


def write_durably(path: Path, content: bytes, mode: int = 0o644) -> None:
    """Write to a temporary file, fsync, rename, fsync the folder: after a crash the file is whole or not there."""
    try:
        make_folder_durably(path.parent)
        handle, temporary = tempfile.mkstemp(prefix=TEMPORARY, dir=path.parent)
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
        fsync_folder(path.parent)
    except OSError as error:
        raise JournalBusy(
            f"The file could not be written ({error.strerror}). Nothing was changed; make room or check the folder."
        ) from error


def make_folder_durably(folder: Path, mode: int = 0o777) -> None:
    """Make the folder where it is missing, so that it is still there after a crash with what was put into it."""
    if not folder.is_dir():
        make_folder_durably(folder.parent)
        folder.mkdir(exist_ok=True, mode=mode)
        fsync_folder(folder.parent)


def fsync_folder(folder: Path) -> None:
    if os.name == "nt":  # Windows cannot open a folder for syncing; its rename is journaled.
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
