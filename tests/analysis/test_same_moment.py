"""Values at the same age or on the same date: between measured days, never beyond them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from analysis.sample_season import TRUTH

from journal_server.analysis.same_moment import Moment, value_then
from journal_server.analysis.series import PlantingSeason, SeasonPoint
from journal_server.measurement.result import Estimate

PLANTED = date(2026, 5, 1)


def season(*values: tuple[int, float | None]) -> PlantingSeason:
    points = tuple(
        SeasonPoint(
            f"photo {day}",
            PLANTED + timedelta(days=day),
            canopy_fill=None if value is None else Estimate(value, value - 0.03, value + 0.03),
        )
        for day, value in values
    )
    return PlantingSeason("p", "Made Up", "Petunia", "Trough 1", PLANTED, points=points)


def then(made: PlantingSeason, day: int):  # type: ignore[no-untyped-def]
    return value_then(made, "canopy_fill", Moment(days_after_planting=day), gap_days=21)


def test_between_two_days_along_a_straight_line_and_wider() -> None:
    made = season((10, 0.2), (20, 0.6))
    found = then(made, 15)
    assert found.estimate.value == pytest.approx(0.4)
    assert found.estimate.high - found.estimate.low > 0.06
    assert then(made, 10).estimate == Estimate(0.2, 0.17, 0.23)
    by_date = value_then(made, "canopy_fill", Moment(on=date(2026, 5, 16)), gap_days=21)
    assert by_date == found


@pytest.mark.parametrize(
    ("day", "reason"),
    [
        (9, "not measured before 11 May"),
        (61, "not measured after 30 June"),
        (40, "not measured between 26 May and 30 June"),
    ],
)
def test_never_beyond_nor_across_a_gap(day: int, reason: str) -> None:
    found = then(season((10, 0.2), (25, 0.6), (60, 0.9)), day)
    assert (found.estimate, found.reason) == (None, reason)


def test_a_day_without_the_number_is_no_measured_day() -> None:
    assert then(season((10, None)), 10).reason == "canopy fill was not measured on any photo"
    found = then(season((10, 0.2), (15, None), (20, 0.6)), 15)
    assert found.estimate.value == pytest.approx(0.4)


def test_left_out_dates_of_the_sample_season_lie_inside() -> None:
    """Exact truth, each inner date read between its neighbours: about nine of ten inside (all numbers together)."""
    held = []
    for planting in TRUTH["plantings"]:
        for name in ("canopy_fill", "bloom_cover", "spent_share"):
            known = [(date.fromisoformat(p["date"]), p[name]) for p in planting["points"] if p[name] is not None]
            for before, left_out, after in zip(known, known[1:], known[2:], strict=False):
                points = tuple(SeasonPoint(str(d), d, **{name: Estimate(v, v, v)}) for d, v in (before, after))
                made = PlantingSeason("p", "Made Up", "Petunia", "Trough 1", PLANTED, points=points)
                found = value_then(made, name, Moment(on=left_out[0]), gap_days=60).estimate
                assert found is not None
                held.append(found.low <= left_out[1] <= found.high)
    assert len(held) == 144
    assert 0.86 <= sum(held) / len(held) <= 0.95


def test_a_moment_is_one_thing() -> None:
    with pytest.raises(ValueError, match="days after planting or a date"):
        Moment()
    with pytest.raises(ValueError, match="days after planting or a date"):
        Moment(days_after_planting=3, on=PLANTED)
