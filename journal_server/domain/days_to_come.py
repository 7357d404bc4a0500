"""What has not been yet can be planned or forecast, but not noted as measured, done or counted. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from journal_server.domain.dates import full_day_words
from journal_server.errors import InputRefused

CLOCK_AHEAD = timedelta(days=1)
"""A phone east of the garden, or past midnight by a clock that is fast, may be a day ahead."""

DAY_OF = {
    "weather": "day",
    "care": "done_on",
    "plant_count": "counted_on",
    "point_count": "counted_on",
    "correction": "corrected_on",
}
"""Kinds that tell what was, and their day."""

INSTEAD = {
    "weather": "mark it as a forecast, or choose the day that was measured",
    "care": "plan it instead, or choose the day on which it was done",
    "plant_count": "choose the day on which the plants were counted",
    "point_count": "choose the day on which the points were counted",
    "correction": "choose the day on which it was corrected",
}


def refuse_days_to_come(
    kind: str, before: Mapping[str, Any], edit: Mapping[str, Any], today: date
) -> list[InputRefused]:
    """A refusal where the edit would tell of a day to come as if it had been; what a record says already stays."""
    after = {**before, **edit}
    name = DAY_OF.get(kind)
    if name is None or after.get("forecast") or all(before.get(n) == after.get(n) for n in (name, "forecast")):
        return []
    try:
        day = date.fromisoformat(str(after.get(name)))
    except ValueError:
        return []
    if day <= today + CLOCK_AHEAD:
        return []
    return [InputRefused(f"{full_day_words(day)} has not been yet: {INSTEAD[kind]}.", name)]
