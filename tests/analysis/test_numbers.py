"""The tidy table keeps its columns."""

from __future__ import annotations

import pytest
from analysis.sample_season import seasons

from journal_server.analysis.numbers import DATA_DICTIONARY, PhotoFacts, number_rows
from journal_server.analysis.series import PlantingSeason

FIXED = ["photo", "sha256", "planting", "cultivar", "planter", "taken_at", "days_after_planting", "canopy_fill"]


def facts_of(season: PlantingSeason) -> dict[str, PhotoFacts]:
    return {
        p.photo_id: PhotoFacts(f"{p.photo_id}.jpg", "0" * 64, f"{p.taken_on}T10:00:00+01:00", "shares 1")
        for p in season.points
    }


def test_one_row_a_photo_with_exactly_the_columns_of_the_dictionary() -> None:
    season = seasons()[0]
    rows = number_rows(season, facts_of(season))
    names = [column.name for column in DATA_DICTIONARY]
    assert names[:8] == FIXED
    assert all(column.description for column in DATA_DICTIONARY)
    assert len(rows) == 8
    assert all(list(row) == names for row in rows)


def test_fade_counts_from_the_reference_date_and_unknown_is_none() -> None:
    season = seasons()[0]
    rows = number_rows(season, facts_of(season))
    assert rows[0]["fade_de00"] is None
    assert rows[1]["fade_de00"] == pytest.approx(0, abs=1e-9)
    assert rows[4]["fade_de00"] == pytest.approx(6.8, abs=0.1)
    assert (rows[0]["fade_de00_low"], rows[1]["fade_de00_low"]) == (None, 0)
    assert rows[4]["fade_de00_low"] is None or rows[4]["fade_de00_low"] <= rows[4]["fade_de00"]
    assert rows[0]["spill_cm"] is None
    assert (rows[3]["days_after_planting"], rows[3]["canopy_fill"]) == (46, 0.64823)


def test_a_photo_without_facts_is_named() -> None:
    season = seasons()[0]
    with pytest.raises(KeyError, match="P1-2026-05-22"):
        number_rows(season, {})
