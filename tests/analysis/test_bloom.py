"""Peak, weeks in bloom and season bloom against hand-worked numbers."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from analysis.sample_season import seasons
from hypothesis import given
from hypothesis import strategies as st

from journal_server.analysis.bloom import bloom_season, season_mean
from journal_server.analysis.series import Z_90, PlantingSeason, SeasonPoint
from journal_server.measurement.result import Estimate

PLANTED = date(2026, 5, 16)


def season_of(covers: dict[int, float | None], half: float = 0.02, *, foliage_only: bool = False) -> PlantingSeason:
    points = tuple(
        SeasonPoint(
            f"photo{day}",
            PLANTED + timedelta(days=day),
            bloom_cover=None if c is None else Estimate(c, max(0.0, c - half), c + half),
        )
        for day, c in covers.items()
    )
    return PlantingSeason("p", "Quarry Lamp", "Bidens", "wall", PLANTED, foliage_only=foliage_only, points=points)


def test_season_bloom_of_a_hand_worked_example() -> None:
    """0, 20, 40, 10 % on days 0, 10, 30, 40: areas 100 + 600 + 250 = 950 per cent days; / 40 days = 23.75 %."""
    found = bloom_season(season_of({0: 0.0, 10: 0.2, 30: 0.4, 40: 0.1}))
    assert found.season_bloom
    assert found.season_bloom.value == pytest.approx(0.2375, abs=1e-12)
    assert (found.measured_from, found.measured_to) == (PLANTED, PLANTED + timedelta(days=40))


def test_weeks_in_bloom_of_a_hand_worked_example() -> None:
    """A triangle 0, 40, 0 % on days 0, 28, 42 passes its half, 20 %, on days 14 and 35: 21 days, 3 weeks."""
    found = bloom_season(season_of({0: 0.0, 28: 0.4, 42: 0.0}))
    assert found.peak_on == PLANTED + timedelta(days=28)
    assert found.in_bloom
    assert found.in_bloom.weeks.value == pytest.approx(3.0)
    assert found.in_bloom.spans_days == (pytest.approx((14.0, 35.0)),)
    assert not found.in_bloom.began_before
    assert not found.in_bloom.goes_on_after


def test_two_flushes_are_two_spans() -> None:
    found = bloom_season(season_of({0: 0.0, 14: 0.4, 28: 0.0, 42: 0.3, 56: 0.0}))
    assert found.in_bloom
    assert len(found.in_bloom.spans_days) == 2
    assert found.in_bloom.weeks.value == pytest.approx((14 + 28 / 3) / 7)


def test_bloom_that_is_cut_off_by_the_dates_says_at_least() -> None:
    found = bloom_season(season_of({10: 0.3, 20: 0.4, 30: 0.35}))
    assert found.in_bloom
    assert found.in_bloom.began_before
    assert found.in_bloom.goes_on_after
    assert found.as_dict()["weeks_in_bloom_at_least"] is True


def test_interval_of_the_mean_lies_between_independent_and_fully_shared_errors() -> None:
    covers = [Estimate(0.3, 0.26, 0.34)] * 5
    mean = season_mean(np.array([0.0, 7.0, 14.0, 21.0, 28.0]), covers)
    assert mean
    weights = np.array([0.125, 0.25, 0.25, 0.25, 0.125])
    assert 0.04 * np.sqrt(np.square(weights).sum()) < mean.high - mean.value < 0.04


def test_weeks_in_bloom_hold_the_true_weeks_nine_times_in_ten() -> None:
    """Errors of which half the variance is shared by all dates of a season, as assumed; one clear peak."""
    rng = np.random.default_rng(3)
    days = list(range(6, 110, 8))
    true = [max(0.0, 0.4 - 0.012 * abs(day - 50)) for day in days]
    weeks = bloom_season(season_of(dict(zip(days, true, strict=True)))).weeks_in_bloom
    assert weeks
    seen, sigma, inside = 200, 0.025, 0
    for _ in range(seen):
        errors = sigma * np.sqrt(0.5) * (rng.normal() + rng.normal(size=len(days)))
        drawn = {day: max(0.0, cover + float(e)) for day, cover, e in zip(days, true, errors, strict=True)}
        found = bloom_season(season_of(drawn, half=Z_90 * sigma)).weeks_in_bloom
        inside += found is not None and found.low <= weeks.value <= found.high
    assert 0.8 <= inside / seen <= 0.98, inside


def test_a_leaf_plant_and_an_unmeasured_one_say_why() -> None:
    assert (
        bloom_season(season_of({6: 0.1, 20: 0.2}, foliage_only=True))
        .reasons["peak"]
        .startswith("this cultivar is grown")
    )
    assert bloom_season(season_of({6: None})).reasons["season_bloom"] == "bloom cover was not measured on any photo"
    once = bloom_season(season_of({6: 0.2}))
    assert once.peak
    assert once.weeks_in_bloom is None
    assert "one date only" in once.reasons["weeks_in_bloom"]
    green = bloom_season(season_of({6: 0.0, 20: 0.0}))
    assert green.peak is None
    assert green.reasons["peak"] == "bloom cover never rose above measuring error"
    assert green.season_bloom
    assert green.season_bloom.value == 0.0


def test_the_sample_season_peaks_in_june_and_the_eaten_planting_is_shortest_in_bloom() -> None:
    found = {s.planting_id: bloom_season(s) for s in seasons()}
    weeks = {code: b.weeks_in_bloom.value for code, b in found.items() if b.weeks_in_bloom}
    assert min(weeks, key=weeks.__getitem__) == "P1"
    assert "P7" not in weeks
    assert found["P1"].peak_on == date(2026, 6, 17)


@given(st.dictionaries(st.integers(0, 150), st.none() | st.floats(0, 1), max_size=9))
def test_any_season_gives_a_number_or_a_reason(covers: dict[int, float | None]) -> None:
    found = bloom_season(season_of(covers))
    for name in ("peak", "weeks_in_bloom", "season_bloom"):
        estimate: Estimate | None = getattr(found, name)
        assert (estimate is None) == (name in found.reasons)
        if estimate is not None:
            assert np.isfinite([estimate.low, estimate.value, estimate.high]).all()
            assert estimate.low <= estimate.value <= estimate.high
    if found.in_bloom:
        assert found.in_bloom.weeks.value == pytest.approx(sum(b - a for a, b in found.in_bloom.spans_days) / 7)
