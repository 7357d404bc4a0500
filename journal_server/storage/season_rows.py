"""What a season is worked out from, for many plantings in few queries: only the columns that are needed."""

from __future__ import annotations

import json
from collections.abc import Collection
from typing import Any, NamedTuple

from sqlalchemy import Text, func, select, type_coerce
from sqlalchemy.orm import Session

from journal_server.storage.tables import NOT_DELETED, MeasurementRow, RecordRow


class PhotoRow(NamedTuple):
    """A photo of a planting with its newest numbers; ``measured_as`` is the planting that they were made for.

    Numbers and frame are JSON text as stored: thousands of them are read at once and few need decoding anew.
    """

    photo_id: str
    planting_id: str
    taken_at: str | None
    tag: str | None
    measured_as: str | None
    numbers_json: str | None
    frame_json: str | None


class CareRow(NamedTuple):
    """Care that was done; without a planting at all of the trial."""

    planting_id: str | None
    done_on: str
    action: str
    note: str | None


def load_photo_rows(session: Session, planting_ids: Collection[str]) -> list[PhotoRow]:
    """The photos of these plantings, in no order."""
    newest = (
        select(func.max(MeasurementRow.seq)).where(MeasurementRow.photo_id == RecordRow.id).correlate(RecordRow)
    ).scalar_subquery()
    query = (
        select(
            RecordRow.id,
            RecordRow.planting_id,
            RecordRow.fields["taken_at"].as_string(),
            RecordRow.fields["tag"].as_string(),
            MeasurementRow.planting_id,
            type_coerce(MeasurementRow.numbers, Text),
            type_coerce(MeasurementRow.frame_polygon, Text),
        )
        .outerjoin(MeasurementRow, MeasurementRow.seq == newest)
        .where(RecordRow.kind == "photo", RecordRow.planting_id.in_(planting_ids), NOT_DELETED)
    )
    return [
        PhotoRow(id_, str(planting_id), taken_at, tag, measured_as, _as_text(numbers), _as_text(polygon))
        for id_, planting_id, taken_at, tag, measured_as, numbers, polygon in session.execute(query)
    ]


def load_care_rows(session: Session, trial_id: str, planting_ids: Collection[str]) -> list[CareRow]:
    """Care of these plantings and of the whole trial, in no order."""
    whole_trial = RecordRow.planting_id.is_(None) & (RecordRow.fields["trial_id"].as_string() == trial_id)
    rows = select(
        RecordRow.planting_id,
        RecordRow.fields["done_on"].as_string(),
        RecordRow.fields["action"].as_string(),
        RecordRow.fields["note"].as_string(),
    ).where(RecordRow.kind == "care", NOT_DELETED)
    # Two queries, since for one with "or" the index of plantings would not be used.
    queries = (rows.where(RecordRow.planting_id.in_(planting_ids)), rows.where(whole_trial))
    return [CareRow(*row) for query in queries for row in session.execute(query)]


def _as_text(given: Any) -> str | None:
    """JSON as the database hands it out: text on SQLite, decoded already by other drivers; None for null."""
    text = given if given is None or isinstance(given, str) else json.dumps(given)
    return None if text == "null" else text
