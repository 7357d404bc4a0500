"""Pages of the feed say what the stored rows say, each once, whatever the size of a page."""

from __future__ import annotations

import pytest
from conftest import SetUp
from feed_as_read import load_changes
from made_season import measured_season

from journal_server.services.journal import Journal
from journal_server.storage.records import all_measurements, load_by_ids


@pytest.mark.parametrize("limit", [1, 2, 7, 1000])
def test_pages_hold_every_record_once_as_it_is_stored(journal: Journal, set_up: SetUp, limit: int) -> None:
    planting = set_up.planting(note='quotes " \\ and 花\u2028\x7f')
    measured_season(journal, planting, {"2026-06-10": (0.5, 0.1), "2026-06-20": (0.6, 0.2)})
    set_up.edit("planting", planting, note=None)
    found, cursor, more = [], 0, True
    with journal.database.reading() as session:
        while more:
            page, cursor, more = load_changes(session, cursor, limit)
            assert 0 < len(page) <= limit
            assert page[-1]["seq"] == cursor
            found += page
        assert load_changes(session, cursor, limit) == ([], cursor, False)
        seqs = [one["seq"] for one in found]
        assert seqs == sorted(set(seqs))
        measured = [one for one in found if one["kind"] == "measurement"]
        assert measured == all_measurements(session)
        assert len(measured) == 2
        records = {one["id"]: one for one in found if one["kind"] != "measurement"}
        assert records == {r.id: r.as_dict() for r in load_by_ids(session, list(records))}
        assert len(records) == 6
