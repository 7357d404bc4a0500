"""The fill curve against published growth data, scipy's own fit, and seeded simulation."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from analysis.sample_season import seasons
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import curve_fit

from journal_server.analysis import logistic as logistic_module
from journal_server.analysis.fill_in import FASTEST_RATE_PER_DAY, time_to_fill
from journal_server.analysis.logistic import fit_logistic
from journal_server.analysis.series import Z_90, PlantingSeason, SeasonPoint
from journal_server.measurement.result import Estimate

# Mean height in cm of 58 sunflower plants, days 7 to 84: Reed, H. S. and Holland, R. H. (1919), The growth rate of
# an annual plant Helianthus, PNAS 5, 135-144. The heights are quoted from memory.
SUNFLOWER_CM = [17.93, 36.36, 67.76, 98.10, 131.00, 169.50, 205.50, 228.30, 247.10, 250.50, 253.80, 254.50]
SUNFLOWER_DAYS = list(range(7, 85, 7))

PLANTED = date(2026, 5, 16)


def season_of(days: list[int], fills: list[float | None], half: float = 0.03) -> PlantingSeason:
    points = tuple(
        SeasonPoint(
            f"photo{day}",
            PLANTED + timedelta(days=day),
            canopy_fill=None if f is None else Estimate(f, f - half, f + half),
        )
        for day, f in zip(days, fills, strict=True)
    )
    return PlantingSeason("p", "Tin Whistle", "Calibrachoa", "wall", PLANTED, points=points)


def logistic(days: np.ndarray, asymptote: float, rate: float, midpoint: float) -> np.ndarray:
    return asymptote / (1 + np.exp(-rate * (days - midpoint)))


def test_sunflower_heights_give_what_scipy_gives() -> None:
    """Sigmas far above the residuals make the robust loss plain least squares."""
    fit = fit_logistic(SUNFLOWER_DAYS, SUNFLOWER_CM, [1e4] * 12)
    assert fit is not None
    expected, _ = curve_fit(logistic, np.array(SUNFLOWER_DAYS, float), SUNFLOWER_CM, p0=[250, 0.1, 30])
    found = [fit.asymptote.value, fit.rate_per_day.value, fit.midpoint_day.value]
    assert found == pytest.approx(expected, rel=1e-3)


def test_sunflower_heights_give_the_published_shape() -> None:
    """Asymptote 254.5-261 cm, rate about 0.087 a day, midpoint about day 34: published fits, from memory."""
    fit = fit_logistic(SUNFLOWER_DAYS, SUNFLOWER_CM, [3.0] * 12)
    assert fit is not None
    assert 254.5 <= fit.asymptote.value <= 261.5
    assert fit.rate_per_day.value == pytest.approx(0.087, abs=0.004)
    assert fit.midpoint_day.value == pytest.approx(34.2, abs=0.5)
    assert fit.midpoint_day.low < fit.midpoint_day.value < fit.midpoint_day.high


def test_intervals_are_close_to_the_linear_theory_where_that_holds() -> None:
    _, covariance = curve_fit(
        logistic,
        np.array(SUNFLOWER_DAYS, float),
        SUNFLOWER_CM,
        p0=[250, 0.1, 30],
        sigma=[4.0] * 12,
        absolute_sigma=True,
    )
    fit = fit_logistic(SUNFLOWER_DAYS, SUNFLOWER_CM, [4.0] * 12)
    assert fit is not None
    halves = Z_90 * np.sqrt(np.diag(covariance))
    found = [(e.high - e.low) / 2 for e in (fit.asymptote, fit.rate_per_day, fit.midpoint_day)]
    assert found == pytest.approx(halves, rel=0.25)


def test_the_curve_is_at_half_and_nine_tenths_of_its_asymptote_on_the_days_read_off() -> None:
    for season in seasons():
        found = time_to_fill(season)
        assert found.fit is not None
        assert found.days_to_50 is not None
        assert found.days_to_90 is not None
        top = found.fit.asymptote.value
        assert found.fit.value_at(found.days_to_50.value) == pytest.approx(0.5 * top, abs=1e-9)
        assert found.fit.value_at(found.days_to_90.value) == pytest.approx(0.9 * top, abs=1e-9)


def test_the_sample_season_fills_in_about_six_weeks() -> None:
    """A well-fed trough fills in about six weeks: common practice, no source. The plants were made to do so."""
    days_to_90 = [found.value for s in seasons() if (found := time_to_fill(s).days_to_90)]
    assert len(days_to_90) == 8
    assert 35 <= np.median(days_to_90) <= 56
    assert all(35 <= days <= 63 for days in days_to_90)


def test_intervals_hold_the_true_days_nine_times_in_ten() -> None:
    rng = np.random.default_rng(7)
    inside = {"days_to_50": 0, "days_to_90": 0}
    seen, sigma = 150, 0.03
    days = [6, 13, 20, 27, 34, 41, 48, 55, 62, 69, 76, 83]
    for _ in range(seen):
        asymptote, rate, midpoint = rng.uniform(0.6, 0.95), rng.uniform(0.08, 0.16), rng.uniform(22, 38)
        fills = logistic(np.array(days, float), asymptote, rate, midpoint) + rng.normal(0, sigma, len(days))
        found = time_to_fill(season_of(days, [float(f) for f in fills], half=Z_90 * sigma))
        for name, true_day in (("days_to_50", midpoint), ("days_to_90", midpoint + np.log(9) / rate)):
            when = getattr(found, name)
            inside[name] += when is not None and when.low <= true_day <= when.high
    assert all(0.83 <= count / seen <= 0.97 for count in inside.values()), inside


def test_intervals_grow_where_the_dates_scatter_more_than_their_own_intervals_say() -> None:
    """Eight dates whose errors are twice what the photos' intervals claim."""
    rng = np.random.default_rng(11)
    days, seen, sigma, inside = [6, 19, 32, 46, 59, 72, 85, 98], 150, 0.04, 0
    for _ in range(seen):
        rate, midpoint = rng.uniform(0.08, 0.13), rng.uniform(24, 34)
        fills = logistic(np.array(days, float), 0.8, rate, midpoint) + rng.normal(0, sigma, len(days))
        when = time_to_fill(season_of(days, [float(f) for f in fills], half=Z_90 * sigma / 2)).days_to_50
        inside += when is not None and when.low <= midpoint <= when.high
    assert 0.8 <= inside / seen <= 0.98, inside


def test_dates_far_apart_leave_a_wide_interval_and_no_leap() -> None:
    """From 5 to 40 % between days 19 and 32, and level since: when within those days, the dates cannot say."""
    found = time_to_fill(season_of([6, 19, 32, 46, 59, 72, 85], [0.02, 0.05, 0.4, 0.4, 0.41, 0.4, 0.4]))
    assert found.fit
    assert found.days_to_50
    assert found.days_to_90
    assert found.fit.rate_per_day.value <= FASTEST_RATE_PER_DAY + 1e-6
    assert found.days_to_50.high - found.days_to_50.low > 3
    assert found.days_to_90.value - found.days_to_50.value >= 3.49


def test_the_level_carries_the_error_that_all_photos_share() -> None:
    """Forty dates make the curve sure of itself, and the level no surer than half of one photo's variance."""
    days = list(range(2, 122, 3))
    fills = [float(f) for f in logistic(np.array(days, float), 0.8, 0.11, 28)]
    found = time_to_fill(season_of(days, list(fills), half=0.06))
    assert found.fit
    assert found.asymptote
    assert found.fit.asymptote.high - found.fit.asymptote.value < 0.02
    assert found.asymptote.high - found.asymptote.value == pytest.approx(0.06 * 0.5**0.5, abs=0.005)


def test_one_date_of_heat_sag_moves_the_curve_little() -> None:
    days = [6, 19, 32, 46, 59, 72, 85, 98]
    fills = [float(f) for f in logistic(np.array(days, float), 0.85, 0.11, 27)]
    whole = time_to_fill(season_of(days, list(fills)))
    fills[5] -= 0.22
    sagged = time_to_fill(season_of(days, list(fills)))
    assert whole.days_to_90
    assert sagged.days_to_90
    assert abs(sagged.days_to_90.value - whole.days_to_90.value) < 4


def test_a_wrong_read_off_constant_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(logistic_module, "LOGIT_90", np.log(8.9))
    found = time_to_fill(seasons()[0])
    assert found.fit
    assert found.days_to_90
    assert abs(found.fit.value_at(found.days_to_90.value) - 0.9 * found.fit.asymptote.value) > 1e-4


@pytest.mark.parametrize(
    ("days", "fills", "reason"),
    [
        ([], [], "not measured on any date"),
        ([6, 19, 32], [0.1, 0.3, 0.6], "measured on 3 dates"),
        ([6, 19, 32, 46, 60], [0.1, None, 0.6, 0.7, None], "measured on 3 dates"),
        ([6, 19, 32, 46, 60], [0.5, 0.51, 0.5, 0.5, 0.51], "no more than measuring error"),
        ([6, 13, 20, 27, 34, 41], [0.05, 0.08, 0.13, 0.2, 0.3, 0.42], "had not levelled off by day 41"),
    ],
)
def test_what_cannot_be_had_is_none_with_its_reason(days: list[int], fills: list[float | None], reason: str) -> None:
    found = time_to_fill(season_of(days, fills))
    assert found.days_to_90 is None
    assert found.asymptote is None
    assert reason in found.reasons["days_to_90"]
    assert found.reasons["asymptote"] == found.reasons["days_to_90"]


def test_half_fill_before_the_first_photo_is_not_guessed() -> None:
    found = time_to_fill(season_of([40, 50, 60, 70, 80, 90], [0.62, 0.72, 0.78, 0.8, 0.81, 0.81]))
    assert found.days_to_50 is None
    assert "before the first photo" in found.reasons["days_to_50"]


def test_bad_input_to_the_fit_is_named() -> None:
    with pytest.raises(ValueError, match="at least 4"):
        fit_logistic([1, 2, 3], [0.1, 0.2, 0.3], [1, 1, 1])
    with pytest.raises(ValueError, match="sigmas > 0"):
        fit_logistic([1, 2, 3, 4], [0.1, 0.2, 0.3, 0.4], [1, 1, 0, 1])


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 200), st.none() | st.floats(0, 1)), max_size=12, unique_by=lambda d: d[0]))
def test_any_season_gives_a_time_or_a_reason(records: list[tuple[int, float | None]]) -> None:
    records = sorted(records)
    found = time_to_fill(season_of([day for day, _ in records], [fill for _, fill in records]))
    for name in ("days_to_50", "days_to_90", "asymptote"):
        when: Estimate | None = getattr(found, name)
        assert (when is None) == (name in found.reasons)
        if when is not None:
            assert np.isfinite([when.low, when.value, when.high]).all()
            assert when.low <= when.value <= when.high
            assert name == "asymptote" or records[0][0] <= when.value <= records[-1][0]
