"""Taking a spoken remark in: kept untouched under its hash, with the visit and planting that it is about."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from journal_server.errors import NotFound
from journal_server.services.from_phone import NOTHING_SAID, FromPhone, clean_name, hash_as_sent, receipt
from journal_server.services.journal import Journal
from journal_server.services.sound_kinds import SoundKind, refuse_oversized, sound_kind
from journal_server.storage.recordings import load_recording_file, recording_of_bytes, save_recording_file
from journal_server.storage.records import Record, load_record, save_record


@dataclass(frozen=True)
class RecordingTakenIn:
    """``outcome`` is 'taken in' or 'already here'; ``says`` is the sentence for people."""

    outcome: str
    says: str
    recording: Record
    received: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        recording = self.recording.as_dict()
        return {"outcome": self.outcome, "says": self.says, "recording": recording, "received": self.received}


def take_in_recording(
    journal: Journal, content: bytes, file_name: str, said: FromPhone = NOTHING_SAID
) -> RecordingTakenIn:
    """Take one recording in; the same bytes a second time are recognised and nothing is doubled.

    Raises RecordingRefused for what is no recording, TransferDamaged for bytes that are not those sent. A visit or
    planting that is not here yet refuses nothing: its id is kept, and it may arrive later.
    """
    refuse_oversized(content)  # before the hash: what was cut off for its size would seem damaged
    sha256 = hash_as_sent(content, said)
    kind = sound_kind(content)
    journal.recordings.keep(sha256, kind.suffix, content)
    try:
        with journal.database.writing() as session:
            known = recording_of_bytes(session, sha256)
            record = (
                _add_visit(session, known, said)
                if known
                else _save_new(session, sha256, kind, content, file_name, said)
            )
    except IntegrityError:  # the same bytes arrived twice at the same time; the other one won
        return take_in_recording(journal, content, file_name, said)
    if known:
        return RecordingTakenIn("already here", "This recording is already here.", record, receipt(said, record))
    return RecordingTakenIn("taken in", "The recording is kept.", record, receipt(said, record))


def sound_of(journal: Journal, recording_id: str) -> tuple[Path, str]:
    """The file of a recording and its type."""
    with journal.database.reading() as session:
        record, file = load_record(session, recording_id), load_recording_file(session, recording_id)
    if record is None or file is None:
        raise NotFound("There is no such recording.")
    if record.deleted:
        raise NotFound("This recording was deleted.")
    path = journal.recordings.file(file.sha256, file.suffix)
    if not path.exists():
        raise NotFound("The sound file is missing from the data folder; restore it from a backup.")
    return path, record.fields["mime"]


def _save_new(
    session: Session, sha256: str, kind: SoundKind, content: bytes, file_name: str, said: FromPhone
) -> Record:
    identity = said.id if said.id and load_record(session, said.id) is None else str(uuid.uuid4())
    fields = {
        "sha256": sha256,
        "file_name": clean_name(file_name, "recording"),
        "mime": kind.mime,
        "bytes": len(content),
        "seconds": said.seconds,
        "recorded_at": said.recorded_at,
        "taken_in_at": datetime.now(UTC).isoformat(timespec="seconds"),
        "planting_id": said.planting_id,
        "visit_id": said.visit_id,
        "note": None,
    }
    record = save_record(session, "recording", identity, fields)
    save_recording_file(session, sha256, identity, kind.suffix, len(content))
    return record


def _add_visit(session: Session, recording_id: str, said: FromPhone) -> Record:
    """Keep what a second phone knows and the first did not; nothing that is there is replaced."""
    record = load_record(session, recording_id)
    assert record is not None
    told = {"visit_id": said.visit_id, "planting_id": said.planting_id}
    added = {name: value for name, value in told.items() if value and not record.fields[name]}
    return save_record(session, "recording", recording_id, added) if added and not record.deleted else record
