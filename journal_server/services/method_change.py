"""A new version of the method: photos are measured anew, the old numbers stay, and what changed is said."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean
from typing import Any

from journal_server.services.journal import Journal
from journal_server.services.matching import WAITING
from journal_server.services.measuring_inputs import METHOD
from journal_server.storage.records import (
    all_measurements,
    current_measurements,
    load_records,
    save_record,
)

COMPARED = ("canopy_fill", "bloom_cover", "spent_share")


def ask_anew_after_update(journal: Journal) -> int:
    """Let photos whose numbers come from another version of the method wait for measuring; returns how many.

    All of them, where no class map is there any more (after a restore): it is made anew, the numbers stay.
    """
    with journal.database.writing() as session:
        # Looked for only now: nobody else is between keeping a class map and saying that the photo is measured.
        pictures_gone = not journal.files.has_class_maps()
        current = current_measurements(session)
        outdated = [
            photo
            for photo in load_records(session, "photo", equals={"measuring": "done"})
            if pictures_gone or photo.id not in current or current[photo.id]["fields"]["method"] != METHOD
        ]
        for photo in outdated:
            save_record(session, "photo", photo.id, WAITING)
    return len(outdated)


def describe_method_change(journal: Journal) -> dict[str, Any]:
    """By how much the numbers moved between the method before and the method now, over photos measured by both.

    ``changes`` is None where no photo was measured by an earlier method with the same frame, colours and plants.
    """
    with journal.database.reading() as session:
        rows = [row["fields"] for row in all_measurements(session)]
        names = {p.id: p.fields["file_name"] for p in load_records(session, "photo")}
    pairs = _pairs(rows)
    if not pairs:
        return {"method": METHOD, "before": None, "photos": 0, "changes": None}
    return {
        "method": METHOD,
        "before": sorted({before["method"] for before, _ in pairs}),
        "photos": len(pairs),
        "changes": {name: change for name in COMPARED if (change := _change(name, pairs, names))},
    }


Pair = tuple[dict[str, Any], dict[str, Any]]


def _pairs(rows: Sequence[dict[str, Any]]) -> list[Pair]:
    before: dict[tuple[str, str], dict[str, Any]] = {}
    after: dict[tuple[str, str], dict[str, Any]] = {}
    for row in rows:
        (after if row["method"] == METHOD else before)[row["photo_id"], row["basis_hash"]] = row
    return [(before[key], after[key]) for key in after if key in before]


def _change(name: str, pairs: Sequence[Pair], names: dict[str, str]) -> dict[str, Any] | None:
    moved = [
        (new["numbers"][name]["value"] - old["numbers"][name]["value"], new["photo_id"])
        for old, new in pairs
        if old["numbers"].get(name) and new["numbers"].get(name)
    ]
    if not moved:
        return None
    most, photo_id = max(moved, key=lambda pair: abs(pair[0]))
    return {
        "photos": len(moved),
        "mean": fmean(change for change, _ in moved),
        "mean_size": fmean(abs(change) for change, _ in moved),
        "most": most,
        "most_photo": names.get(photo_id),
        "most_photo_id": photo_id,
    }
