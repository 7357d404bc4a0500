"""The fade in a planting's summary: with its interval, and with the doubt where there is one."""

from __future__ import annotations

from typing import Any

import pytest
from conftest import SetUp
from made_season import keep_numbers, numbers, photo_without_numbers

from journal_server.services.journal import Journal
from journal_server.services.planting_summary import planting_summary

FIRST = {"lab": [40.0, 50.0, -40.0], "hex": "#8a3fa0", "error_de00": 2.0}
PALER = {"lab": [55.0, 35.0, -28.0], "hex": "#a873b4", "error_de00": 3.0}


def fade_row(journal: Journal, planting_id: str) -> dict[str, Any]:
    (row,) = [row for row in planting_summary(journal, planting_id)["rows"] if row["name"].startswith("fade")]
    return row


@pytest.mark.parametrize(
    ("error", "doubt"), [(3.0, None), (9.0, "doubtful: in that light the colour could not be read surely")]
)
def test_the_fade_has_its_interval(journal: Journal, set_up: SetUp, error: float, doubt: str | None) -> None:
    planting_id = set_up.planting()
    assert fade_row(journal, planting_id)["value"] is None
    for day, colour in (("2026-06-10", FIRST), ("2026-07-10", PALER | {"error_de00": error})):
        photo_id = photo_without_numbers(journal, planting_id, day)
        keep_numbers(journal, photo_id, planting_id, numbers(0.5, 0.3, bloom_colour=colour))
    row = fade_row(journal, planting_id)
    assert row["name"] == "fade (CIEDE2000), most on 10 July"
    low, high = (float(bound) for bound in row["interval"].split("–"))
    assert low < float(row["value"]) < high
    assert row["reason"] == doubt
