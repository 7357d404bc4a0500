"""One planting in a few numbers, each there or missing with a reason."""

from __future__ import annotations

import json
from datetime import date

import pytest
from analysis.sample_season import seasons

from journal_server.analysis.series import PlantingSeason
from journal_server.analysis.summary import summarise

NULLABLE = ("asymptote", "days_to_50", "days_to_90", "peak", "weeks_in_bloom", "season_bloom", "fade_most_de00")


@pytest.mark.parametrize("season", seasons(), ids=lambda s: s.planting_id)
def test_every_null_has_a_reason_and_every_reason_a_null(season: PlantingSeason) -> None:
    found = summarise(season).as_dict()
    missing = {name for name in NULLABLE if found[name] is None}
    missing |= {name for name, latest in found["latest"].items() if latest is None}
    assert missing == set(found["reasons"])
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_a_planting_without_photos_has_only_reasons() -> None:
    found = summarise(PlantingSeason("p", "Chalk Path", "Sutera", "wall", date(2026, 5, 16))).as_dict()
    assert found["dates"] == 0
    assert all(found[name] is None and found["reasons"][name] for name in NULLABLE)


def test_the_latest_number_names_its_photo() -> None:
    latest = summarise(seasons()[0]).latest["canopy_fill"]
    assert latest
    assert (latest.photo_id, latest.taken_on) == ("P1-2026-08-22", date(2026, 8, 22))
