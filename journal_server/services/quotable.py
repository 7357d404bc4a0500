"""The numbers that a review may quote, from stored records and measurements."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from journal_server.analysis.quotable import QuotableNumber, quotable_numbers
from journal_server.analysis.survival import PlantCount, survival
from journal_server.services.journal import Journal
from journal_server.services.season import StoredSeason
from journal_server.storage.records import load_records


def load_quotable(journal: Journal, seasons: Sequence[StoredSeason]) -> dict[str, list[QuotableNumber]]:
    """For each planting its numbers, each with its estimate or the reason why there is none."""
    counts: dict[str, list[dict[str, Any]]] = {stored.planting.id: [] for stored in seasons}
    with journal.database.reading() as session:
        for record in load_records(session, "plant_count", among={"planting_id": list(counts)}):
            counts[record.fields["planting_id"]].append(record.fields)
    return {stored.planting.id: _kept(journal, stored, counts[stored.planting.id]) for stored in seasons}


def _kept(journal: Journal, stored: StoredSeason, counts: Sequence[dict[str, Any]]) -> list[QuotableNumber]:
    """Worked out once as long as the planting's season and counts stay the same."""
    stamp = (stored, tuple((c["counted_on"], c["plants"], c["reason"]) for c in counts))
    found: list[QuotableNumber] | None = journal.kept_quotable.get(stored.planting.id, stamp)
    if found is None:
        found = _numbers(stored, counts)
        journal.kept_quotable.keep(stored.planting.id, stamp, found)
    return found


def _numbers(stored: StoredSeason, counts: Sequence[dict[str, Any]]) -> list[QuotableNumber]:
    counted = [PlantCount(date.fromisoformat(c["counted_on"]), c["plants"], c["reason"]) for c in counts]
    return quotable_numbers(
        stored.season,
        {photo_id: facts.method for photo_id, facts in stored.photos.items()},
        survival=survival(stored.planting.fields["plants"], counted),
        counted_on=max((count.counted_on for count in counted), default=None),
    )
