"""Plants living of plants planted; Wilson's interval against published and independently computed values."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest

from journal_server.analysis.survival import PlantCount, Survival, survival, together
from journal_server.analysis.wilson import wilson

REFERENCE = Path(__file__).resolve().parents[1] / "reference" / "wilson_intervals.csv"
Z_95 = 1.959963984540054


@pytest.mark.parametrize(
    ("living", "planted", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_as_published(living: int, planted: int, low: float, high: float) -> None:
    """95 % intervals of Newcombe (1998), Statistics in Medicine 17, 857-872, table I, method 3 (from memory)."""
    found = wilson(living, planted, Z_95)
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)
    broken = wilson(living, planted, Z_95 * 1.001)
    assert living == 0 or (round(broken.low, 4), round(broken.high, 4)) != (low, high)


def test_wilson_as_computed_elsewhere() -> None:
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 10
    for row in rows:
        z = {"0.95": Z_95, "0.9": 1.6448536269514722}[row["level"]]
        found = wilson(int(row["successes"]), int(row["trials"]), z)
        assert (found.low, found.high) == pytest.approx((float(row["low"]), float(row["high"])), abs=1e-9)


@pytest.mark.parametrize(("living", "planted"), [(3, 2), (-1, 5), (0, 0)])
def test_what_is_no_share_is_refused(living: int, planted: int) -> None:
    with pytest.raises(ValueError, match="0 <= successes"):
        wilson(living, planted)


def counted(*counts: tuple[int, int, str | None]) -> list[PlantCount]:
    return [PlantCount(date(2026, 6, day), plants, reason) for day, plants, reason in counts]


@pytest.mark.parametrize(
    ("counts", "planted", "living", "lifted", "share"),
    [
        ([], 5, 5, 0, 1.0),
        ([(3, 4, "died")], 5, 4, 0, 0.8),
        ([(3, 4, None)], 5, 4, 0, 0.8),
        ([(3, 4, "lifted for elsewhere")], 5, 4, 1, 1.0),
        ([(3, 4, "died"), (9, 6, "added")], 7, 6, 0, 6 / 7),
        ([(9, 3, "lifted for elsewhere"), (3, 4, "died")], 5, 3, 1, 0.75),
        ([(3, 6, "counted again"), (9, 5, "died")], 6, 5, 0, 5 / 6),
        ([(3, 0, "died")], 5, 0, 0, 0.0),
    ],
)
def test_what_counts_as_died(
    counts: list[tuple[int, int, str | None]], planted: int, living: int, lifted: int, share: float
) -> None:
    found = survival(5, counted(*counts))
    assert (found.planted, found.living, found.lifted) == (planted, living, lifted)
    assert found.share is not None
    assert found.share.value == pytest.approx(share)
    assert found.share.low <= found.share.value <= found.share.high


def test_what_is_not_known_is_said() -> None:
    assert survival(None, counted((3, 4, "died"))) == Survival(reason="how many were planted is not said")
    assert survival(2, counted((3, 0, "lifted for elsewhere"))).reason == "all were lifted for elsewhere"


def test_several_plantings_together() -> None:
    whole = together([survival(5, counted((3, 4, "died"))), survival(3, []), survival(None, [])])
    assert (whole.planted, whole.living) == (8, 7)
    assert whole.share == wilson(7, 8)
    assert whole.reason == "without 1 of 3 plantings, whose number is not said"
    assert together([survival(None, [])]).share is None
