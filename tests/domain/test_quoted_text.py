"""Quoted numbers are found in a text and told as changed by tables of cases that phones share."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal_server.domain.quoted_text import quoted_parts, still_quoted
from journal_server.domain.verdict_state import changed_numbers, missing, state

HERE = Path(__file__).parent
CASES: list[dict[str, Any]] = json.loads((HERE / "quoted_text_cases.json").read_text(encoding="utf-8"))
STATES: dict[str, Any] = json.loads((HERE / "verdict_state_cases.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["about"])
def test_numbers_are_found_in_the_text(case: dict[str, Any]) -> None:
    found = quoted_parts(case["texts"], case["quoted"])
    assert [[list(part) for part in parts] for parts in found] == case["parts"]


def test_those_that_still_stand_are_told() -> None:
    quoted = [{"shown": "61 %", "interval": None}, {"shown": "4 days", "interval": None}]
    assert still_quoted(["full after 4 days"], quoted) == [1]


@given(st.lists(st.text(max_size=30), max_size=3), st.lists(st.text(min_size=1, max_size=6), max_size=4))
def test_no_text_gains_or_loses_a_character(texts: list[str], shown: list[str]) -> None:
    quoted = [{"shown": one, "interval": None, "before": one} for one in shown]
    assert ["".join(part.text for part in parts) for parts in quoted_parts(texts, quoted)] == texts


@pytest.mark.parametrize("case", STATES["states"], ids=lambda case: json.dumps(case["fields"])[:50])
def test_how_far_a_verdict_is(case: dict[str, Any]) -> None:
    assert (state(case["fields"]), missing(case["fields"] or {})) == (case["state"], case["missing"])


@pytest.mark.parametrize("case", STATES["changes"], ids=lambda case: case["about"])
def test_which_numbers_have_changed(case: dict[str, Any]) -> None:
    assert changed_numbers([case["quoted"]], case["now"]) == case["changed"]
