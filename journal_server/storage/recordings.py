"""Spoken remarks on disk: the sound files under their SHA-256, read-only, and the rows that say which is whose."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from journal_server.storage.photo_files import TEMPORARY, keep_read_only, place_of_hash
from journal_server.storage.tables import RecordingFileRow


class RecordingFiles:
    """``recordings/`` is kept for ever, also when a recording was deleted in the journal."""

    def __init__(self, folder: Path):
        self.folder = folder / "recordings"
        self.folder.mkdir(parents=True, exist_ok=True)

    def place(self, sha256: str, suffix: str) -> Path:
        return place_of_hash(self.folder, sha256) / f"{sha256}{suffix}"

    def file(self, sha256: str, suffix: str) -> Path:
        """To be read now; there is no file where none is kept."""
        return self.place(sha256, suffix)

    def keep(self, sha256: str, suffix: str, content: bytes) -> Path:
        """Write the bytes durably and read-only; the same bytes already there stay as they are."""
        return keep_read_only(self.place(sha256, suffix), content)

    def all_files(self) -> Iterator[Path]:
        yield from (p for p in sorted(self.folder.glob("*/*")) if not p.name.startswith(TEMPORARY))


def recording_of_bytes(session: Session, sha256: str) -> str | None:
    row = session.get(RecordingFileRow, sha256)
    return row.recording_id if row else None


def load_recording_file(session: Session, recording_id: str) -> RecordingFileRow | None:
    query = select(RecordingFileRow).where(RecordingFileRow.recording_id == recording_id)
    return session.scalars(query).one_or_none()


def all_recording_files(session: Session) -> list[RecordingFileRow]:
    return list(session.scalars(select(RecordingFileRow).order_by(RecordingFileRow.sha256)))


def save_recording_file(session: Session, sha256: str, recording_id: str, suffix: str, size: int) -> None:
    session.add(RecordingFileRow(sha256=sha256, recording_id=recording_id, suffix=suffix, bytes=size))
    session.flush()
