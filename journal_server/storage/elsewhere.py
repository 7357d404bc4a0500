"""Photos and recordings kept in an S3-compatible store, through fsspec; what lies in the folder is then only a copy.

A file has the name there that it has in the folder (``originals/ab/abcd….jpg``).
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from journal_server.errors import InputRefused, JournalBusy, JournalDamaged, JournalError
from journal_server.storage.photo_files import PhotoFiles, write_durably
from journal_server.storage.recordings import RecordingFiles

HASH_LENGTH = 64


class FileStore:
    """The one place where files are kept; ``here`` and ``keep`` speak of them by where they lie in the folder."""

    def __init__(self, url: str, folder: Path):
        if not url.startswith("s3://") or not url.removeprefix("s3://").strip("/"):
            raise InputRefused("--photos is the address of a bucket, like s3://bucket/garden.", "photos")
        try:
            import fsspec
            import s3fs  # noqa: F401  # fsspec imports it when it is first used, and words its absence less plainly
        except ImportError:
            raise InputRefused(
                "Keeping photos in a store needs the extra “s3” (pip install 'planting-trial-journal[s3]').", "photos"
            ) from None
        # Who else writes there is not to be overlooked: listings are never kept.
        self._files: Any = fsspec.filesystem("s3", use_listings_cache=False)
        self._root = url.removeprefix("s3://").strip("/")
        self._folder = folder

    def keep(self, path: Path, content: bytes) -> None:
        """Put the bytes there and read them back: what is not there whole is not said to be kept."""
        with _plain_store_errors():
            if self._content(path) != content:
                self._files.pipe_file(self._name(path), content)
                if self._content(path) != content:
                    raise JournalBusy("The photo store gave back other bytes than it was given. Send the photo again.")

    def put(self, path: Path, content: bytes) -> None:
        """Put there what can be made again."""
        with _plain_store_errors():
            self._files.pipe_file(self._name(path), content)

    def here(self, path: Path, *, hashed: bool) -> Path:
        """The path, with the file brought to it where it is kept and not here yet; checked by the hash in its name."""
        if path.exists():
            return path
        with _plain_store_errors():
            content = self._content(path)
        if content is not None:
            if hashed and hashlib.sha256(content).hexdigest() != path.name[:HASH_LENGTH]:
                raise JournalDamaged(f"{path.name} is damaged in the photo store; restore that file there.")
            write_durably(path, content, mode=0o444 if hashed else 0o644)
        return path

    def holds_any(self, pattern: str) -> bool:
        with _plain_store_errors():
            return bool(self._files.glob(f"{self._root}/{pattern}"))

    def _content(self, path: Path) -> bytes | None:
        try:
            found: bytes = self._files.cat_file(self._name(path))
        except FileNotFoundError:
            return None
        return found

    def _name(self, path: Path) -> str:
        return f"{self._root}/{path.relative_to(self._folder).as_posix()}"


class PhotosElsewhere(PhotoFiles):
    def __init__(self, folder: Path, store: FileStore):
        super().__init__(folder)
        self._store = store

    def original(self, sha256: str, suffix: str) -> Path:
        return self._store.here(self.place_of_original(sha256, suffix), hashed=True)

    def derived_file(self, sha256: str, name: str) -> Path:
        return self._store.here(self.place_of_derived(sha256, name), hashed=False)

    def keep_original(self, sha256: str, suffix: str, content: bytes) -> Path:
        self._store.keep(self.place_of_original(sha256, suffix), content)
        return super().keep_original(sha256, suffix, content)

    def keep_derived(self, sha256: str, name: str, content: bytes) -> Path:
        self._store.put(self.place_of_derived(sha256, name), content)
        return super().keep_derived(sha256, name, content)

    def has_class_maps(self) -> bool:
        return super().has_class_maps() or self._store.holds_any("derived/*/*.overlay-*")


class RecordingsElsewhere(RecordingFiles):
    def __init__(self, folder: Path, store: FileStore):
        super().__init__(folder)
        self._store = store

    def file(self, sha256: str, suffix: str) -> Path:
        return self._store.here(self.place(sha256, suffix), hashed=True)

    def keep(self, sha256: str, suffix: str, content: bytes) -> Path:
        self._store.keep(self.place(sha256, suffix), content)
        return super().keep(sha256, suffix, content)


@contextmanager
def _plain_store_errors() -> Iterator[None]:
    try:
        yield
    except JournalError:
        raise
    except Exception as error:  # each kind of store and each of its layers raises errors of its own
        raise JournalBusy(
            f"The photo store does not answer or refuses ({type(error).__name__}). Nothing was changed; see that its "
            "address and the access to it are right, and try again."
        ) from error
