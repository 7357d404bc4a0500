"""Every reference between records, and whether each field still holds what it may."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy.engine import Connection

from journal_server.domain.records import KINDS, kind_in_words
from journal_server.errors import InputRefused
from journal_server.services.apply_changes import STAY_BEHIND
from journal_server.services.check.findings import NOTE, WRONG, Finding, together
from journal_server.storage.inspection import RecordSeen, measurements_seen, records_seen

PART = "records"
MAY_COME_LATER = {("photo", "visit_id"), ("recording", "visit_id"), ("recording", "planting_id")}
"""What a phone said is kept before it is understood: the visit may still wait on that phone."""


def check_records(connection: Connection) -> tuple[dict[str, RecordSeen], list[Finding]]:
    """The records by id, and what is wrong among them."""
    records = {record.id: record for record in records_seen(connection)}
    standing = [record for record in records.values() if not record.deleted]
    lost: list[str] = []
    later: list[str] = []
    deleted: list[str] = []
    for record in standing:
        for name, target_id, to in _references(record):
            target = records.get(target_id)
            words = f"{kind_in_words(record.kind)} {record.id} ({name})"
            if target is None or target.kind != to:
                (later if (record.kind, name) in MAY_COME_LATER else lost).append(words)
            elif target.deleted and record.kind not in STAY_BEHIND.get(to, ()):
                deleted.append(words)
    return records, [
        *together(WRONG, PART, "Records speak of a record that is not in the journal", lost, _FROM_BACKUP),
        *together(NOTE, PART, "What was sent ahead of its visit still waits for it", later, _OPEN_PHONES),
        *together(NOTE, PART, "Records speak of one that was deleted", deleted, "Open them and choose another."),
        *together(WRONG, PART, "Values that their field does not accept", _wrong_values(standing), _SET_AGAIN),
        *together(NOTE, PART, "Records of a kind that this version does not know", _unknown(standing), _NEWER),
        *_check_measurements(connection, records),
    ]


_FROM_BACKUP = "Restore the last good backup into a new folder; what came after it is to be entered again."
_OPEN_PHONES = "Open the journal on the phones that were on the walk, so that they send the rest."
_SET_AGAIN = "Open the record and set the field again."
_NEWER = "Install the newer version that made them. They are kept as they are."


def _references(record: RecordSeen) -> Iterator[tuple[str, str, str]]:
    for name, field in KINDS.get(record.kind, {}).items():
        value = record.fields.get(name)
        if field.refers_to and value is not None:
            yield name, value, field.refers_to


def _wrong_values(standing: list[RecordSeen]) -> Iterator[str]:
    for record in standing:
        for name, field in KINDS.get(record.kind, {}).items():
            if field.editable and name in record.fields:
                try:
                    field.check(record.fields[name])
                except InputRefused:
                    yield f"{name} of {kind_in_words(record.kind)} {record.id}"


def _unknown(standing: list[RecordSeen]) -> Iterator[str]:
    yield from (f"{record.kind} {record.id}" for record in standing if record.kind not in KINDS)


def _check_measurements(connection: Connection, records: dict[str, RecordSeen]) -> list[Finding]:
    measured = measurements_seen(connection)
    photos = {m.photo_id for m in measured}
    alone = (m.id for m in measured if (found := records.get(m.photo_id)) is None or found.kind != "photo")
    without = (
        str(record.fields.get("file_name"))
        for record in records.values()
        if record.kind == "photo" and record.fields.get("measuring") == "done" and record.id not in photos
    )
    return [
        *together(WRONG, PART, "Measurements without their photo", alone, _FROM_BACKUP),
        *together(
            WRONG, PART, "Photos that count as measured without a measurement", without,
            "Serve the journal: it measures them again when it starts.",
        ),
    ]  # fmt: skip
