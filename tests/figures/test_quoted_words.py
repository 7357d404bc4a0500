"""How a number that a review quotes is worded, with no more digits than its interval supports."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from journal_server.analysis.quotable import QuotableNumber
from journal_server.figures.words import (
    estimate_words,
    quotable_bounds,
    quotable_interval,
    quotable_value,
    quotable_words,
)
from journal_server.measurement.result import Estimate

CASES = [
    ("share", (0.612, 0.574, 0.648), "61 %", "57–65", "57–65 %"),
    ("share", (0.002, 0.0, 0.009), "0.2 %", "0.0–0.9", "0.0–0.9 %"),
    ("share", (0.002, 0.0, 0.02), "under 1 %", "0–2", "0–2 %"),
    ("share", (0.0, 0.0, 0.0), "0 %", None, None),
    ("days", (24.4, 21.2, 27.0), "24 days", "21–27", "21–27 days"),
    ("days", (1.0, 1.0, 1.0), "1 day", None, None),
    ("weeks", (9.31, 8.83, 9.93), "9.3 weeks", "8.8–9.9", "8.8–9.9 weeks"),
    ("week after planting", (2.7, 0.9, 2.7), "week 3", "1–3", "week 1–3"),
    ("ratio", (0.914, 0.854, 0.974), "0.91", "0.85–0.97", "0.85–0.97"),
    ("CIEDE2000", (6.04, 4.1, 8.26), "dE00 6.0", "4.1–8.3", "dE00 4.1–8.3"),
    ("cm", (18.3, 14.6, 21.9), "18 cm", "15–22", "15–22 cm"),
    ("plants", (4.0, 4.0, 4.0), "4", None, None),
    ("times", (1.0, 1.0, 1.0), "once", None, None),
    ("times", (2.0, 2.0, 2.0), "twice", None, None),
    ("times", (3.0, 3.0, 3.0), "3 times", None, None),
    ("share points", (-0.04, -0.1, 0.02), "−4 points", "−10 to +2", "−10 to +2 points"),
    ("share points", (0.01, 0.0, 0.02), "+1 point", "0 to +2", "0 to +2 points"),
    ("points of 5", (3.5, 3.5, 3.5), "3.5 of 5", None, None),
    ("rank", (1.0, 1.0, 2.0), "1–2", None, None),
    ("rank", (3.0, 3.0, 3.0), "3", None, None),
]

SHARED_CASES = Path(__file__).parent / "number_words_cases.json"
"""The web app's words for a photo's numbers are held to the same table (tests/browser)."""


@pytest.mark.parametrize(("unit", "estimate", "value", "bounds", "interval"), CASES)
def test_each_unit_has_its_words(
    unit: str, estimate: tuple[float, float, float], value: str, bounds: str | None, interval: str | None
) -> None:
    number = QuotableNumber("key", "planting", "a number", unit, Estimate(*estimate))
    assert (quotable_value(number), quotable_bounds(number), quotable_interval(number)) == (value, bounds, interval)
    assert quotable_words(number) == (f"{value} ({bounds})" if bounds else value)


def test_a_longer_time_is_said() -> None:
    number = QuotableNumber("k", "p", "time", "weeks", Estimate(12.6, 11.9, 13.2), at_least=True)
    assert quotable_words(number) == "at least 12.6 weeks (11.9–13.2)"


def test_what_is_not_known_is_never_a_number() -> None:
    number = QuotableNumber("k", "p", "time", "weeks", reason="not measured")
    assert (quotable_value(number), quotable_bounds(number), quotable_interval(number)) == ("not known", None, None)


@pytest.mark.parametrize("case", json.loads(SHARED_CASES.read_text(encoding="utf-8")), ids=lambda c: c["words"])
def test_a_number_is_worded_as_on_the_phone(case: dict[str, Any]) -> None:
    estimate = Estimate(case["value"], case["low"], case["high"])
    number = QuotableNumber("key", "planting", "a number", case["unit"], estimate)
    assert (quotable_value(number), quotable_interval(number)) == (case["words"], case["interval"])
    name = {"share": "canopy_fill", "ratio": "evenness", "cm": "spill_cm"}[case["unit"]]
    bounds = case["interval"].removesuffix(" %").removesuffix(" cm")
    assert estimate_words(name, estimate) == f"{case['words']} ({bounds})"
