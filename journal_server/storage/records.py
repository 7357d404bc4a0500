"""Reading and writing records, measurements and settings within a session that the caller opened."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, or_, select, update
from sqlalchemy.orm import Session

from journal_server.storage.tables import NOT_DELETED, CounterRow, MeasurementRow, PhotoFileRow, RecordRow, SettingRow

WITH_A_COLUMN = {"planting_id": RecordRow.planting_id, "measuring": RecordRow.measuring}
"""Fields that a column repeats, by which records are searched much."""


@dataclass(frozen=True)
class Record:
    """A record as read: a copy, safe to keep after the session is gone."""

    id: str
    kind: str
    seq: int
    version: int
    deleted: bool
    fields: dict[str, Any]
    field_versions: dict[str, int]

    def as_dict(self) -> dict[str, Any]:
        return {
            "kind": self.kind,
            "id": self.id,
            "seq": self.seq,
            "version": self.version,
            "deleted": self.deleted,
            "fields": self.fields,
            "field_versions": self.field_versions,
        }


def _record(row: RecordRow) -> Record:
    return Record(row.id, row.kind, row.seq, row.version, row.deleted, dict(row.fields), dict(row.field_versions))


def next_seq(session: Session) -> int:
    """The next sequence number; held against others until this transaction ends, so the feed has no gaps."""
    session.execute(update(CounterRow).where(CounterRow.name == "seq").values(value=CounterRow.value + 1))
    return session.execute(select(CounterRow.value).where(CounterRow.name == "seq")).scalar_one()


def newest_seq(session: Session) -> int:
    """The sequence number of the latest change: as long as it stays, nothing has changed."""
    return session.execute(select(CounterRow.value).where(CounterRow.name == "seq")).scalar_one()


def last_seq_beside(session: Session, kind: str) -> int:
    """The sequence number of the newest measurement, or record of any other kind than this one."""
    records = select(func.max(RecordRow.seq)).where(RecordRow.kind != kind)
    measurements = select(func.max(MeasurementRow.seq))
    return max(session.execute(newest).scalar_one() or 0 for newest in (records, measurements))


def load_record(session: Session, record_id: str) -> Record | None:
    row = session.get(RecordRow, record_id) if _may_be_there(record_id) else None
    return _record(row) if row else None


def _may_be_there(record_id: str) -> bool:
    """What no database keeps is not asked for: NUL, and halves of characters, which JSON can hold."""
    return not any(c == "\0" or "\ud800" <= c <= "\udfff" for c in record_id)


def load_by_ids(session: Session, ids: Collection[str]) -> list[Record]:
    """The records of these ids that are there, deleted ones too, in no order."""
    return [
        _record(row) for row in session.scalars(select(RecordRow).where(RecordRow.id.in_(filter(_may_be_there, ids))))
    ]


def load_records(
    session: Session,
    kind: str,
    *,
    equals: Mapping[str, str] | None = None,
    begins: Mapping[str, str] | None = None,
    among: Mapping[str, Collection[str]] | None = None,
    with_deleted: bool = False,
) -> list[Record]:
    """All records of a kind in order of change, or those whose text fields equal, begin with or are among the given."""
    query = select(RecordRow).where(RecordRow.kind == kind).order_by(RecordRow.seq)
    if not with_deleted:
        indexed = WITH_A_COLUMN.keys() & {**(equals or {}), **(among or {})}
        query = query.where(NOT_DELETED if indexed else RecordRow.deleted.is_(False))
    for name, value in (equals or {}).items():
        query = query.where(_field(name) == value)
    for name, value in (begins or {}).items():
        query = query.where(_field(name).startswith(value, autoescape=True))
    for name, values in (among or {}).items():
        query = query.where(_field(name).in_(values))
    return [_record(row) for row in session.scalars(query)]


def _field(name: str) -> Any:
    """A text field of a record to search by: its own column where it has one."""
    return WITH_A_COLUMN[name] if name in WITH_A_COLUMN else RecordRow.fields[name].as_string()


def count_pointing(session: Session, kind: str, names: Iterable[str], target_id: str) -> int:
    """How many records of a kind hold the id in any of the named fields."""
    pointing = or_(*(_field(name) == target_id for name in names))
    query = select(func.count()).where(RecordRow.kind == kind, RecordRow.deleted.is_(False), pointing)
    return session.execute(query).scalar_one()


def save_record(
    session: Session, kind: str, record_id: str, fields: Mapping[str, Any], *, deleted: bool = False
) -> Record:
    """Create the record or set the given fields of it; each given field gets the record's new version."""
    seq = next_seq(session)
    row = session.get(RecordRow, record_id)
    if row is None:
        row = RecordRow(id=record_id, kind=kind, version=0, fields={}, field_versions={}, deleted=False)
        session.add(row)
    row.version += 1
    row.seq = seq
    row.deleted = deleted
    row.fields = {**row.fields, **fields}
    row.field_versions = {**row.field_versions, **dict.fromkeys(fields, row.version)}
    row.planting_id, row.measuring = row.fields.get("planting_id"), row.fields.get("measuring")
    session.flush()
    return _record(row)


def measurement_dict(row: MeasurementRow) -> dict[str, Any]:
    return {
        "kind": "measurement",
        "id": row.id,
        "seq": row.seq,
        "version": 1,
        "deleted": False,
        "fields": {
            "photo_id": row.photo_id,
            "planting_id": row.planting_id,
            "inputs_hash": row.inputs_hash,
            "basis_hash": row.basis_hash,
            "method": row.method,
            "numbers": row.numbers,
            "frame_polygon": row.frame_polygon,
            "frame_how": row.frame_how,
            "measured_at": row.measured_at,
        },
    }


def save_measurement(session: Session, **columns: Any) -> None:
    """Add a measurement; one already there with the same inputs is made the newest again, unchanged."""
    existing = find_measurement(session, columns["photo_id"], columns["inputs_hash"])
    if existing is not None:
        existing.seq = next_seq(session)
    else:
        session.add(MeasurementRow(seq=next_seq(session), **columns))
    session.flush()


def find_measurement(session: Session, photo_id: str, inputs_hash: str) -> MeasurementRow | None:
    return session.scalars(
        select(MeasurementRow).where(MeasurementRow.photo_id == photo_id, MeasurementRow.inputs_hash == inputs_hash)
    ).one_or_none()


def measurements_of(session: Session, photo_id: str) -> list[dict[str, Any]]:
    """Every measurement of a photo, the newest first."""
    query = select(MeasurementRow).where(MeasurementRow.photo_id == photo_id).order_by(MeasurementRow.seq.desc())
    return [measurement_dict(row) for row in session.scalars(query)]


def current_measurements(session: Session, photo_ids: Iterable[str] | None = None) -> dict[str, dict[str, Any]]:
    """The newest measurement of each photo (of the given ones, or of all), by photo id."""
    newest = select(func.max(MeasurementRow.seq)).group_by(MeasurementRow.photo_id)
    if photo_ids is not None:
        newest = newest.where(MeasurementRow.photo_id.in_(list(photo_ids)))
    query = select(MeasurementRow).where(MeasurementRow.seq.in_(newest))
    return {row.photo_id: measurement_dict(row) for row in session.scalars(query)}


def photo_stamps(session: Session, planting_ids: Collection[str]) -> dict[str, tuple[int, int, int]]:
    """For each planting: how many photos show it, and the newest sequence number of these and of their measurements.

    As long as they stand, the planting's photos and measurements are the same; a planting without photos has none.
    """
    query = (
        select(
            RecordRow.planting_id,
            func.count(RecordRow.id.distinct()),
            func.max(RecordRow.seq),
            func.coalesce(func.max(MeasurementRow.seq), 0),
        )
        .outerjoin(MeasurementRow, MeasurementRow.photo_id == RecordRow.id)
        .where(RecordRow.kind == "photo", NOT_DELETED, RecordRow.planting_id.in_(planting_ids))
        .group_by(RecordRow.planting_id)
    )
    return {str(id_): (photos, newest, measured) for id_, photos, newest, measured in session.execute(query)}


def all_measurements(session: Session) -> list[dict[str, Any]]:
    """Every measurement ever made, in order."""
    return [measurement_dict(row) for row in session.scalars(select(MeasurementRow).order_by(MeasurementRow.seq))]


def photo_of_bytes(session: Session, sha256: str) -> str | None:
    row = session.get(PhotoFileRow, sha256)
    return row.photo_id if row else None


def load_photo_file(session: Session, photo_id: str) -> PhotoFileRow | None:
    return session.scalars(select(PhotoFileRow).where(PhotoFileRow.photo_id == photo_id)).one_or_none()


def all_photo_files(session: Session) -> list[PhotoFileRow]:
    return list(session.scalars(select(PhotoFileRow).order_by(PhotoFileRow.sha256)))


def save_photo_file(session: Session, sha256: str, photo_id: str, suffix: str, size: int) -> None:
    session.add(PhotoFileRow(sha256=sha256, photo_id=photo_id, suffix=suffix, bytes=size))
    session.flush()


def load_settings(session: Session) -> dict[str, str]:
    return {row.name: row.value for row in session.scalars(select(SettingRow))}


def save_setting(session: Session, name: str, value: str) -> None:
    session.merge(SettingRow(name=name, value=value))
