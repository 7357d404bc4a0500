"""Photos of a planting with made-up numbers, put straight into a journal."""

from __future__ import annotations

import uuid
from typing import Any

from journal_server.domain.records import KINDS
from journal_server.services.journal import Journal
from journal_server.storage.records import save_measurement, save_record


def share(value: float, half: float = 0.02) -> dict[str, float]:
    return {"value": value, "low": max(0.0, value - half), "high": min(1.0, value + half)}


def plain_photo(journal: Journal, planting_id: str, day: str, tag: str | None = None, **more: Any) -> str:
    """A photo of that day that was not measured; answers its id."""
    photo_id = str(uuid.uuid4())
    known = {
        "planting_id": planting_id,
        "set_aside": False,
        "taken_at": f"{day}T10:00:00+02:00",
        "taken_at_source": "exif",
        "taken_at_doubtful": False,
        "file_name": f"{day}.jpg",
        "sha256": uuid.uuid4().hex * 2,
        "tag": tag,
        "tags": [tag] if tag else [],
        "choices": [],
        "match": "set by hand",
        "measuring": "failed",
        "width": 1024,
        "height": 768,
    }
    with journal.database.writing() as session:
        save_record(session, "photo", photo_id, dict.fromkeys(KINDS["photo"]) | known | more)
    return photo_id


def measured_photo(journal: Journal, planting_id: str, day: str, **numbers: Any) -> str:
    """A photo of that day with the given numbers (of one measurement's JSON); answers its id."""
    photo_id = plain_photo(journal, planting_id, day, "TAG-7K3Q9M", measuring="done")
    known = {"quality": {"usable": True, "warnings": []}, "white_reference": "card", "reasons": {}}
    with journal.database.writing() as session:
        save_measurement(
            session,
            id=str(uuid.uuid4()),
            photo_id=photo_id,
            planting_id=planting_id,
            inputs_hash=uuid.uuid4().hex,
            basis_hash=uuid.uuid4().hex,
            method="made up",
            numbers=known | numbers,
            frame_polygon=[[0, 0], [900, 0], [900, 300], [0, 300]],
            frame_how="drawn",
            measured_at=f"{day}T12:00:00+00:00",
        )
    return photo_id
