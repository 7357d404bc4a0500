"""The change feed by pages, put together from the JSON as it is stored: a phone's first sync holds many thousands."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Executable, Text, select, type_coerce
from sqlalchemy.orm import Session

from journal_server.storage.tables import MeasurementRow, RecordRow


@dataclass(frozen=True)
class FeedPage:
    """Records and measurements in order of ``seq``, each as JSON text; ``cursor`` is the last one's."""

    records_json: list[str]
    cursor: int
    more: bool


def load_feed_page(session: Session, since: int, limit: int) -> FeedPage:
    """What changed after ``since``, the newest state of each, at most ``limit``."""
    coming = sorted(
        seq
        for table in (RecordRow, MeasurementRow)
        for seq in session.scalars(select(table.seq).where(table.seq > since).order_by(table.seq).limit(limit + 1))
    )
    if not coming:
        return FeedPage([], since, more=False)
    cursor = coming[:limit][-1]
    found: dict[int, str] = {row.seq: _record_json(row) for row in session.execute(_records(since, cursor))}
    found |= {row.seq: _measurement_json(row) for row in session.execute(_measurements(since, cursor))}
    return FeedPage([found[seq] for seq in sorted(found)], cursor, more=len(coming) > limit)


def _records(since: int, to: int) -> Executable:
    return select(
        RecordRow.kind,
        RecordRow.id,
        RecordRow.seq,
        RecordRow.version,
        RecordRow.deleted,
        type_coerce(RecordRow.fields, Text).label("fields"),
        type_coerce(RecordRow.field_versions, Text).label("field_versions"),
    ).where(RecordRow.seq > since, RecordRow.seq <= to)


def _record_json(row: Any) -> str:
    return (
        f'{{"kind":{_json(row.kind)},"id":{_json(row.id)},"seq":{row.seq},"version":{row.version},'
        f'"deleted":{_json(row.deleted)},"fields":{_stored(row.fields)},'
        f'"field_versions":{_stored(row.field_versions)}}}'
    )


def _measurements(since: int, to: int) -> Executable:
    return select(
        MeasurementRow.id,
        MeasurementRow.seq,
        MeasurementRow.photo_id,
        MeasurementRow.planting_id,
        MeasurementRow.inputs_hash,
        MeasurementRow.basis_hash,
        MeasurementRow.method,
        type_coerce(MeasurementRow.numbers, Text).label("numbers"),
        type_coerce(MeasurementRow.frame_polygon, Text).label("frame_polygon"),
        MeasurementRow.frame_how,
        MeasurementRow.measured_at,
    ).where(MeasurementRow.seq > since, MeasurementRow.seq <= to)


def _measurement_json(row: Any) -> str:
    plain = {
        name: getattr(row, name)
        for name in ("photo_id", "planting_id", "inputs_hash", "basis_hash", "method", "frame_how", "measured_at")
    }
    return (
        f'{{"kind":"measurement","id":{_json(row.id)},"seq":{row.seq},"version":1,"deleted":false,'
        f'"fields":{_json(plain)[:-1]},"numbers":{_stored(row.numbers)},"frame_polygon":{_stored(row.frame_polygon)}}}}}'
    )


_json = json.dumps


def _stored(given: Any) -> str:
    """JSON as the database hands it out: text on SQLite, decoded already by other drivers."""
    return given if isinstance(given, str) else _json(given)
