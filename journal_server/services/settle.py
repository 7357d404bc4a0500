"""Settling the tray: taking suggestions as they stand."""

from __future__ import annotations

from collections.abc import Sequence

from journal_server.services.apply_changes import apply_changes
from journal_server.services.home import unsettled
from journal_server.services.journal import Journal
from journal_server.storage.records import load_records


def accept_suggestions(journal: Journal, photo_ids: Sequence[str] | None) -> int:
    """Take the suggestions of the given photos, or of all that have one; returns how many were taken."""
    with journal.database.reading() as session:
        waiting = unsettled(load_records(session, "photo"))
    changes = [
        {"kind": "photo", "id": p.id, "fields": {"planting_id": p.fields["suggested_planting_id"]}}
        for p in waiting
        if p.fields["suggested_planting_id"] and (photo_ids is None or p.id in photo_ids)
    ]
    return sum(result.status == "applied" for result in apply_changes(journal, changes)) if changes else 0
