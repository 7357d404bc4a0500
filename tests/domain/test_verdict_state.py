"""How far a verdict is and which of its numbers have changed, by a table of cases that phones share."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from journal_server.domain.verdict_state import changed_numbers, missing, state

HERE = Path(__file__).parent
STATES: dict[str, Any] = json.loads((HERE / "verdict_state_cases.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", STATES["states"], ids=lambda case: json.dumps(case["fields"])[:50])
def test_how_far_a_verdict_is(case: dict[str, Any]) -> None:
    assert (state(case["fields"]), missing(case["fields"] or {})) == (case["state"], case["missing"])


@pytest.mark.parametrize("case", STATES["changes"], ids=lambda case: case["about"])
def test_which_numbers_have_changed(case: dict[str, Any]) -> None:
    assert changed_numbers([case["quoted"]], case["now"]) == case["changed"]
