"""What has not been yet is forecast or planned, never noted as measured or done."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from journal_server.domain.days_to_come import refuse_days_to_come

TODAY = date(2026, 7, 14)


@pytest.mark.parametrize(
    ("kind", "before", "edit", "says"),
    [
        ("weather", {}, {"day": "2026-07-14"}, None),
        ("weather", {}, {"day": "2026-07-15"}, None),
        ("weather", {}, {"day": "2026-07-16"}, "16 July 2026 has not been yet: mark it as a forecast"),
        ("weather", {}, {"day": "2026-07-16", "forecast": True}, None),
        ("weather", {"day": "2026-07-16", "forecast": True}, {"tmax_c": 31.0}, None),
        ("weather", {"day": "2026-07-16", "forecast": True}, {"forecast": False}, "16 July 2026 has not been yet"),
        ("weather", {"day": "2026-07-16", "forecast": False}, {"tmax_c": 31.0}, None),
        ("weather", {"day": "2026-07-10", "forecast": False}, {"day": "2026-08-10"}, "10 August 2026 has not"),
        ("care", {}, {"done_on": "2026-07-15"}, None),
        ("care", {}, {"done_on": "2026-07-16"}, "16 July 2026 has not been yet: plan it instead"),
        ("care", {"done_on": "2026-08-01"}, {"note": "as it was"}, None),
        ("plant_count", {}, {"counted_on": "2027-07-14"}, "14 July 2027 has not been yet"),
        ("care_plan", {}, {"begins_on": "2027-05-01"}, None),
        ("weather", {}, {"day": "soon"}, None),
        ("weather", {}, {}, None),
    ],
)
def test_days_to_come(kind: str, before: dict[str, Any], edit: dict[str, Any], says: str | None) -> None:
    refused = refuse_days_to_come(kind, before, edit, TODAY)
    assert bool(refused) == bool(says)
    if says:
        assert str(refused[0]).startswith(says)
        assert refused[0].field in ("day", "done_on", "counted_on")
