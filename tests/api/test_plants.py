"""Over HTTP: plants living, in the summary of a planting."""

from __future__ import annotations

from typing import Any

import pytest
from conftest import SetUp
from flask.testing import FlaskClient
from made_season import measured_season

from journal_server.services.journal import Journal


def summary(client: FlaskClient, planting: str) -> tuple[dict[str, Any], dict[str, Any]]:
    answer = client.get(f"/api/plantings/{planting}/summary").get_json()
    (row,) = [row for row in answer["rows"] if row["name"] == "plants living"]
    return answer["survival"], row


def test_the_summary_of_a_planting_says_how_many_live(client: FlaskClient, journal: Journal, set_up: SetUp) -> None:
    planting = set_up.planting(plants=5)
    measured_season(journal, planting, {"2026-06-01": (0.4, 0.2), "2026-06-10": (0.6, 0.3)})
    survived, row = summary(client, planting)
    assert (survived["living"], survived["counted"]) == (5, False)
    assert (row["value"], row["reason"]) == (None, "5 planted, none counted as lost")
    set_up.make("plant_count", planting_id=planting, counted_on="2026-06-12", plants=4, reason="died", note="stem rot")
    survived, row = summary(client, planting)
    # Wilson's interval by hand, z = 1.6449: (0.8 + 0.2706 -+ 1.6449 sqrt(0.032 + 0.02706)) / 1.5411.
    low, high = 0.4353, 0.9541
    assert (survived["planted"], survived["living"], survived["share"]["value"]) == (5, 4, 0.8)
    assert (survived["share"]["low"], survived["share"]["high"]) == pytest.approx((low, high), abs=1e-4)
    assert (row["value"], row["interval"], row["reason"]) == ("80 %", f"{low * 100:.0f}–{high * 100:.0f}", None)


def test_a_planting_whose_number_was_never_said_has_no_survival_and_a_reason(
    client: FlaskClient, journal: Journal, set_up: SetUp
) -> None:
    planting = set_up.planting()
    survived, row = summary(client, planting)
    assert survived["share"] is None
    assert (row["value"], row["reason"]) == (None, "how many were planted is not said")
