"""Growth beside others of the genus."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from journal_server.analysis.genus_growth import GenusGrowth, beside_genus, fills_of
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.measurement.result import Estimate

PLANTED = date(2026, 5, 1)


def grown(name: str, half_day: float, top: float, *, genus: str = "Petunia", dates: int = 12) -> PlantingSeason:
    """A planting on an exact logistic curve, measured each week to 2 points."""
    points = []
    for day in range(5, 5 + 7 * dates, 7):
        value = float(top / (1 + np.exp(-0.15 * (day - half_day))))
        fill = Estimate(value, max(0.0, value - 0.02), value + 0.02)
        points.append(SeasonPoint(f"{name} {day}", PLANTED + timedelta(days=day), canopy_fill=fill))
    return PlantingSeason(name, name, genus, f"Trough of {name}", PLANTED, points=tuple(points))


def held(own: PlantingSeason, others: list[PlantingSeason]) -> GenusGrowth:
    return beside_genus(own, others, fills_of([*others, own]))


def test_a_slow_and_compact_one_is_named_with_both_numbers() -> None:
    others = [grown("Other 1", 24, 0.9), grown("Other 2", 26, 0.88), grown("Elsewhere", 60, 0.4, genus="Bidens")]
    found = held(grown("Slow", 41, 0.6), [*others, grown("Slow", 24, 0.9)])
    assert [(r.word, r.name) for r in found.remarks] == [("slow to start", "days_to_50"), ("compact", "asymptote")]
    slow, compact = found.remarks
    assert (round(slow.own.value), round(slow.others.value)) == (41, 25)
    assert slow.other_plantings == ("Other 1", "Other 2")
    assert (compact.own.value, compact.others.value) == pytest.approx((0.6, 0.89), abs=0.01)


def test_a_quick_and_vigorous_one() -> None:
    found = held(grown("Quick", 20, 0.95), [grown("Other", 40, 0.7)])
    assert [r.word for r in found.remarks] == ["quick to start", "vigorous"]


def test_what_is_usual_among_the_others_is_no_remark() -> None:
    """Half of the others reach half fill within 26 to 34 days; 33 days is 4 more than their median, and no news."""
    others = [grown(f"Other {day}", day, 0.8) for day in (22, 26, 28, 30, 34, 38)]
    assert held(grown("One", 33, 0.8), others).remarks == ()
    assert [r.word for r in held(grown("One", 33, 0.8), [*others[1:3], others[2]]).remarks] == ["slow to start"]
    assert [r.word for r in held(grown("One", 41, 0.8), others).remarks] == ["slow to start"]


def test_no_remark_within_error_nor_without_others() -> None:
    same = held(grown("One", 24, 0.9), [grown("Other", 24, 0.9)])
    assert (same.remarks, same.reason) == (
        (),
        "grows like the other Petunia, within measuring error and what they differ by",
    )
    alone = held(grown("One", 24, 0.9), [grown("Other", 24, 0.9, genus="Bidens")])
    assert alone.reason == "no other cultivar of Petunia to compare with"
    young = held(grown("One", 24, 0.9, dates=3), [grown("Other", 24, 0.9)])
    assert young.reason == "canopy fill was measured on 3 dates; the curve needs at least 5"
    others_young = held(grown("One", 24, 0.9), [grown("Other", 24, 0.9, dates=3)])
    assert others_young.reason == "no other Petunia has been measured often enough"
