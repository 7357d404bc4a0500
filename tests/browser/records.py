"""Looks into a journal from tests, and makes records in it without a screen."""

from __future__ import annotations

import uuid
from typing import Any

from journal_server.services.apply_changes import apply_changes
from journal_server.services.journal import Journal
from journal_server.storage.records import Record, load_records


def records(journal: Journal, kind: str) -> list[Record]:
    with journal.database.reading() as session:
        return [record for record in load_records(session, kind) if not record.deleted]


def make(journal: Journal, kind: str, **fields: Any) -> str:
    identity = str(uuid.uuid4())
    (result,) = apply_changes(journal, [{"kind": kind, "id": identity, "fields": fields}])
    assert not result.errors, [(error.field, str(error)) for error in result.errors]
    return identity


def make_planting(journal: Journal, trial_id: str, name: str, **fields: Any) -> str:
    """A planting of a new cultivar in a new planter of that name."""
    planter_id = make(journal, "planter", trial_id=trial_id, name=f"Trough of {name}"[:80], planter_kind="trough")
    cultivar_id = make(journal, "cultivar", genus="Petunia", name=name)
    return make(
        journal, "planting", trial_id=trial_id, planter_id=planter_id, cultivar_id=cultivar_id,
        **({"planted_on": "2026-05-16"} | fields),
    )  # fmt: skip


def photo_named(journal: Journal, file_name: str) -> Record:
    return next(photo for photo in records(journal, "photo") if photo.fields["file_name"] == file_name)
