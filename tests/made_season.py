"""Measured photos made up on the spot: records without files, for what looks at numbers only."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from journal_server.domain.records import PHOTO_SET_BY_THE_JOURNAL, SET_AT_INTAKE
from journal_server.services.journal import Journal
from journal_server.storage.records import save_measurement, save_record


def numbers(fill: float, bloom: float, half: float = 0.02, **more: Any) -> dict[str, Any]:
    """The JSON of a measurement with intervals of ``half`` to either side."""

    def estimate(value: float) -> dict[str, float]:
        return {"value": value, "low": max(0.0, value - half), "high": value + half}

    return {
        "canopy_fill": estimate(fill),
        "bloom_cover": estimate(bloom),
        "spent_share": estimate(0.02),
        "white_reference": "card",
        "quality": {"usable": True, "warnings": []},
    } | more


def keep_numbers(
    journal: Journal, photo_id: str, planting_id: str, measured: dict[str, Any], *, framed: bool = True
) -> None:
    """Give a photo its current measurement, in a frame or as a whole."""
    with journal.database.writing() as session:
        save_measurement(
            session,
            id=str(uuid.uuid4()),
            photo_id=photo_id,
            planting_id=planting_id,
            inputs_hash=uuid.uuid4().hex * 2,
            basis_hash=uuid.uuid4().hex * 2,
            method="made up, 1",
            numbers=measured,
            frame_polygon=[[0, 0], [100, 0], [100, 100]] if framed else None,
            frame_how="drawn on this photo" if framed else None,
            measured_at="2026-09-01T10:00:00+00:00",
        )


def photo_without_numbers(journal: Journal, planting_id: str, day: str, tag: str | None = None) -> str:
    """A photo of a planting on a day (ISO), with the card's code that was read in it; answers its id."""
    photo_id = str(uuid.uuid4())
    fields = dict.fromkeys((*SET_AT_INTAKE, *PHOTO_SET_BY_THE_JOURNAL)) | {
        "planting_id": planting_id, "taken_at": f"{day}T10:00:00+02:00", "file_name": f"{day}.jpg", "tag": tag,
        "sha256": uuid.uuid4().hex * 2, "match": "set by hand", "tags": [], "choices": [], "set_aside": False,
        "width": 1024, "height": 768,
    }  # fmt: skip
    with journal.database.writing() as session:
        save_record(session, "photo", photo_id, fields)
    return photo_id


def measured_season(
    journal: Journal, planting_id: str, days: Mapping[str, tuple[float, float]], tag: str | None = None
) -> list[str]:
    """A photo for each day (ISO date: canopy fill, bloom cover) of a planting; answers their ids."""
    ids = []
    for day, (fill, bloom) in days.items():
        photo_id = photo_without_numbers(journal, planting_id, day, tag)
        keep_numbers(journal, photo_id, planting_id, numbers(fill, bloom))
        ids.append(photo_id)
    return ids
