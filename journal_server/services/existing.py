"""Records that a caller named: they are there, or it is said that they are not."""

from __future__ import annotations

from sqlalchemy.orm import Session

from journal_server.errors import NotFound
from journal_server.storage.records import Record, load_record


def existing(session: Session, kind: str, record_id: str) -> Record:
    """The record of this kind; NotFound where there is none or it was deleted."""
    found = load_record(session, record_id)
    if found is None or found.kind != kind or found.deleted:
        raise NotFound(f"There is no such {kind}.")
    return found
