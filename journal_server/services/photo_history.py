"""All that was ever measured of one photo: nothing is overwritten, so that every number can be looked up again."""

from __future__ import annotations

from typing import Any

from journal_server.services.journal import Journal
from journal_server.storage.records import load_record, measurements_of


def photo_history(journal: Journal, photo_id: str) -> list[dict[str, Any]]:
    """The measurements of a photo, the newest first; ``current`` is the one that counts for the planting it shows."""
    with journal.database.reading() as session:
        photo = load_record(session, photo_id)
        rows = measurements_of(session, photo_id)
    planting_id = photo.fields["planting_id"] if photo else None
    counts = rows[0]["id"] if rows and rows[0]["fields"]["planting_id"] == planting_id else None
    return [
        {
            "id": row["id"],
            "current": row["id"] == counts,
            **{name: value for name, value in row["fields"].items() if name not in ("photo_id", "basis_hash")},
            "method": row["fields"]["numbers"].get("method") or row["fields"]["method"],
            "by_hand": row["fields"]["numbers"].get("by_hand"),
        }
        for row in rows
    ]
