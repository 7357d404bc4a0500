"""Trying once more to measure what could not be measured."""

from __future__ import annotations

from collections.abc import Sequence

from journal_server.services.journal import Journal
from journal_server.services.matching import WAITING
from journal_server.storage.records import load_records, save_record


def measure_again(journal: Journal, photo_ids: Sequence[str] | None) -> int:
    """Let the given photos whose measuring failed, or all such photos, wait again; returns how many."""
    with journal.database.writing() as session:
        failed = load_records(session, "photo", equals={"measuring": "failed"})
        asked = [photo for photo in failed if photo_ids is None or photo.id in photo_ids]
        for photo in asked:
            save_record(session, "photo", photo.id, WAITING)
    return len(asked)
