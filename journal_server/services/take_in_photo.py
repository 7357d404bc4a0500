"""Taking a photo in: kept untouched under its hash, its moment and card read, matched, and queued for measuring."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy.exc import IntegrityError

from journal_server.domain.dates import full_day_words
from journal_server.errors import PhotoRefused
from journal_server.measurement.moment import Moment
from journal_server.measurement.photo_file import MAX_BYTES
from journal_server.services.decoding import THUMB_PX, ReadPhoto, decode_apart, read_photo, smaller_jpeg
from journal_server.services.from_phone import NOTHING_SAID, FromPhone, clean_name, hash_as_sent, receipt
from journal_server.services.journal import Journal
from journal_server.services.matching import BY_PERSON, WAITING, day_of, placed_by_person, rematch
from journal_server.storage.records import (
    Record,
    load_photo_file,
    load_record,
    photo_of_bytes,
    save_photo_file,
    save_record,
)

SUFFIXES = {"JPEG": ".jpg", "HEIF": ".heic", "PNG": ".png", "WEBP": ".webp", "TIFF": ".tif"}
RENDITIONS = {"thumb": THUMB_PX, "screen": 1600, "full": 4096}


@dataclass(frozen=True)
class TakenIn:
    """``outcome`` is 'taken in' or 'already here'; ``says`` is the sentence for people."""

    outcome: str
    says: str
    photo: Record
    received: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        return {"outcome": self.outcome, "says": self.says, "photo": self.photo.as_dict(), "received": self.received}


def take_in_photo(
    journal: Journal,
    content: bytes,
    file_name: str,
    *,
    file_time: datetime | None = None,
    said: FromPhone = NOTHING_SAID,
) -> TakenIn:
    """Take one photo in; the same bytes a second time are recognised and nothing is doubled.

    Raises PhotoRefused for what is not a photo, TransferDamaged for bytes that are not those sent; the journal is then
    unchanged. A visit or planting that is not here yet refuses nothing.
    """
    sha256 = hash_as_sent(content, said)
    name = clean_name(file_name, "photo")
    known = _already_here(journal, sha256, name, content, said)
    if known:
        return known
    file_time_s = file_time.timestamp() if file_time else None
    read = decode_apart(read_photo, content, name, file_time_s, journal.setting("time_zone"))
    suffix = SUFFIXES[read.format]
    journal.files.keep_original(sha256, suffix, content)
    journal.files.keep_derived(sha256, "thumb.jpg", read.thumb)
    about_file = {"sha256": sha256, "file_name": name, "bytes": len(content)}
    try:
        record = _save_new(journal, about_file | _fields(read, said), suffix, said)
    except IntegrityError:  # the same bytes arrived twice at the same time; the other one won
        known = _already_here(journal, sha256, name, content, said)
        assert known is not None
        return known
    return TakenIn("taken in", _says(record), record, receipt(said, record))


def _save_new(journal: Journal, fields: dict[str, Any], suffix: str, said: FromPhone) -> Record:
    with journal.database.writing() as session:
        identity = said.id if said.id and load_record(session, said.id) is None else str(uuid.uuid4())
        if said.planting_id:
            fields = fields | placed_by_person(session, said.planting_id)
        record = save_record(session, "photo", identity, fields)
        save_photo_file(session, fields["sha256"], identity, suffix, fields["bytes"])
        rematch(session, {day_of(record)})
        return load_record(session, identity) or record


def take_in_file(journal: Journal, path: Path) -> TakenIn:
    """Take in a photo from a file, with the file's time as the last resort for its moment."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise PhotoRefused(f"The file is larger than {MAX_BYTES // 1_000_000} MB, the most that is taken in.")
        content = path.read_bytes()
        file_time = datetime.fromtimestamp(path.stat().st_mtime, tz=UTC)
    except OSError as error:
        raise PhotoRefused(f"The file cannot be read ({error.strerror}).") from error
    return take_in_photo(journal, content, path.name, file_time=file_time, said=FromPhone(how="added later"))


def picture(journal: Journal, sha256: str, suffix: str, size: str) -> bytes:
    """A picture of the photo upright, without any metadata; made once, then kept."""
    kept = journal.files.derived_file(sha256, f"{size}.jpg")
    if kept.exists():
        return kept.read_bytes()
    made = decode_apart(smaller_jpeg, journal.files.original(sha256, suffix), RENDITIONS[size])
    journal.files.keep_derived(sha256, f"{size}.jpg", made)
    return made


def _fields(read: ReadPhoto, said: FromPhone) -> dict[str, Any]:
    moment = read.moment
    if said.taken_at and moment.source not in ("exif", "gps"):
        moment = Moment(said.taken_at, "phone", note="The clock of the phone that took it.")
    return {
        "format": read.format,
        "width": read.width,
        "height": read.height,
        "taken_at": moment.taken_at,
        "taken_at_source": moment.source,
        "taken_at_doubtful": moment.doubtful,
        "moment_note": moment.note,
        "tag": read.codes[0] if len(read.codes) == 1 else None,
        "tags": read.codes,
        "card_corners": read.card_corners,
        "focal_35mm": read.camera.focal_length_35mm,
        "has_location": read.camera.has_gps_position,
        "how": said.how,
        "visit_id": said.visit_id,
        "named_planting_id": None,
        "planting_id": None,
        "set_aside": False,
        "match": "question",
        "match_reason": "Not looked at yet.",
        "suggested_planting_id": None,
        "choices": [],
        "taken_in_at": datetime.now(UTC).isoformat(timespec="seconds"),
        "measuring": "waiting",
        "measuring_note": None,
    }


def _already_here(journal: Journal, sha256: str, name: str, content: bytes, said: FromPhone) -> TakenIn | None:
    with journal.database.reading() as session:
        photo_id = photo_of_bytes(session, sha256)
        record = load_record(session, photo_id) if photo_id else None
        file = load_photo_file(session, photo_id) if photo_id else None
    if record is None or file is None:
        return None
    journal.files.keep_original(sha256, file.suffix, content)
    record = _add_what_was_missing(journal, record, said)
    earlier = record.fields["file_name"]
    again = "" if earlier == name else f" as {earlier}"
    says = f"This photo is already here{again}; it was not taken in a second time."
    return TakenIn("already here", says, record, receipt(said, record))


def _add_what_was_missing(journal: Journal, record: Record, said: FromPhone) -> Record:
    """Keep what a second phone knows about a photo and the first did not; nothing that is there is replaced."""
    with journal.database.writing() as session:
        stored = load_record(session, record.id) or record
        added: dict[str, Any] = {}
        if said.visit_id and not stored.fields.get("visit_id"):
            added["visit_id"] = said.visit_id
        if said.planting_id and stored.fields["match"] not in BY_PERSON:
            added |= placed_by_person(session, said.planting_id)
        if all(stored.fields.get(name) == value for name, value in added.items()):
            return stored
        moved = added.get("planting_id", stored.fields["planting_id"]) != stored.fields["planting_id"]
        save_record(session, "photo", record.id, added | (WAITING if moved else {}))
        rematch(session, {day_of(stored)})
        return load_record(session, record.id) or stored


def _says(record: Record) -> str:
    fields = record.fields
    taken_at = datetime.fromisoformat(fields["taken_at"]) if fields["taken_at"] else None
    when = f"taken {full_day_words(taken_at.date())}, {taken_at:%H:%M}" if taken_at else "moment unknown"
    state = {
        "matched": "matched",
        "set by hand": "matched",
        "suggested": "suggested, to be confirmed",
        "question": "not matched",
    }
    return f"{when}; {state[fields['match']]}: {fields['match_reason']}"
