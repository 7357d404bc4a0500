"""Differences of two photos of one planting: intervals that hold, verdicts that follow from them."""

from __future__ import annotations

from datetime import date
from itertools import combinations
from math import hypot

import numpy as np
import pytest
from analysis.sample_season import measured_trial, trial_from_truth

from journal_server.analysis.colour_error import AXIS_SPREAD
from journal_server.analysis.differences import (
    MORE,
    WITHIN,
    ColourReading,
    colour_differences,
    difference,
    share_differences,
)
from journal_server.analysis.fade import colour_difference
from journal_server.analysis.series import Z_90, SeasonPoint
from journal_server.measurement.result import Estimate

DAY = date(2026, 6, 4)


def test_a_difference_by_hand() -> None:
    """Half-widths 3 and 4 below, 6 and 8 above: 5 and 10."""
    change = difference(Estimate(0.50, 0.42, 0.53), Estimate(0.70, 0.66, 0.76))
    assert change.value == pytest.approx(0.20)
    assert change.low == pytest.approx(0.20 - 0.05)
    assert change.high == pytest.approx(0.20 + 0.10)


@pytest.mark.parametrize("sides", [(1.0, 1.0), (0.6, 1.5)], ids=["even", "uneven"])
def test_intervals_of_differences_hold_nine_times_in_ten(sides: tuple[float, float]) -> None:
    """Errors whose two sides differ in size, as the intervals say, with sizes that differ from photo to photo."""
    rng = np.random.default_rng(11)
    held = 0
    for _ in range(4000):
        truth = rng.uniform(0.1, 0.9, 2)
        sigma = rng.uniform(0.01, 0.06, 2)
        below, above = (sigma * side for side in sides)
        error = rng.standard_normal(2)
        # An interval that reaches far down belongs to a value read too high.
        read = truth + error * np.where(error > 0, below, above)
        first, second = (Estimate(v, v - Z_90 * b, v + Z_90 * a) for v, b, a in zip(read, below, above, strict=True))
        change = difference(first, second)
        held += change.low <= truth[1] - truth[0] <= change.high
    assert 0.88 <= held / 4000 <= 0.92


@pytest.mark.parametrize("name", ["canopy_fill", "bloom_cover", "spent_share"])
def test_intervals_of_single_dates_hold_nine_times_in_ten(name: str) -> None:
    held = []
    for measured, true in zip(measured_trial().plantings, trial_from_truth().plantings, strict=True):
        truth = {point.photo_id: getattr(point, name) for point in true.season.points}
        for point in measured.season.points:
            estimate = getattr(point, name)
            held.append(estimate.low <= truth[point.photo_id].value <= estimate.high)
    assert len(held) > 60
    assert np.mean(held) >= 0.9


@pytest.mark.parametrize(
    ("name", "least"),
    [
        ("canopy_fill", 0.92),
        ("bloom_cover", 0.95),
        # Five of 61 photos lie outside of their own intervals, as may be; each spoils its pairs with seven other dates.
        ("spent_share", 0.84),
    ],
    ids=["fill", "bloom", "spent"],
)
def test_intervals_hold_between_all_dates_of_the_sample_season(name: str, least: float) -> None:
    """Against the exact truth, over every pair of dates of a planting that are measured in its frame."""
    held = []
    for measured, true in zip(measured_trial().plantings, trial_from_truth().plantings, strict=True):
        truth = {point.photo_id: getattr(point, name) for point in true.season.points}
        for first, second in combinations([point for point in measured.season.points if getattr(point, name)], 2):
            change = difference(getattr(first, name), getattr(second, name))
            held.append(change.low <= truth[second.photo_id].value - truth[first.photo_id].value <= change.high)
    assert len(held) > 180
    assert np.mean(held) >= least


def drawn_colours(rng: np.random.Generator, apart: float, told: float) -> tuple[ColourReading, ColourReading, float]:
    """Readings of two colours about ``apart`` with errors of the told size, and their true CIEDE2000 difference."""
    hue, chroma = rng.uniform(0, 2 * np.pi), rng.uniform(20, 70)
    outward = np.array([0.0, np.cos(hue), np.sin(hue)])
    axes = np.array([[1.0, 0.0, 0.0], outward, [0.0, -outward[2], outward[1]]])
    units = np.array([1.0, 1 + 0.045 * chroma, 1 + 0.015 * chroma])
    way = rng.standard_normal(3)
    truth = np.array([rng.uniform(35, 75), *(chroma * outward[1:])])
    other = truth + (apart * way / np.linalg.norm(way) * units) @ axes
    sigma = np.array(AXIS_SPREAD) * told * units
    first, second = (
        ColourReading(tuple((place + (sigma * rng.standard_normal(3)) @ axes).tolist()), "#888888", told)
        for place in (truth, other)
    )
    return first, second, colour_difference(tuple(truth), tuple(other)).de00


def test_colour_intervals_hold_nine_times_in_ten() -> None:
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(2000):
        first, second, true_de00 = drawn_colours(rng, float(rng.uniform(0, 20)), float(rng.uniform(2.0, 5.0)))
        (de00,) = (one.change for one in colour_differences(first, second) if one.name == "de00")
        assert de00 is not None
        held += de00.low <= true_de00 <= de00.high
    assert 0.88 <= held / 2000 <= 0.92


def test_signed_parts_hold_nine_times_in_ten() -> None:
    rng = np.random.default_rng(6)
    weights = (1.0, 1 + 0.045 * 30, 1 + 0.015 * 30)
    held = np.zeros(3)
    for _ in range(2000):
        told = rng.uniform(2.0, 5.0, 2)
        labs = [
            (50.0 + AXIS_SPREAD[0] * t * rng.standard_normal(), 30.0 + AXIS_SPREAD[1] * t * weights[1] * e, 0.0)
            for t, e in zip(told, rng.standard_normal(2), strict=True)
        ]
        readings = [ColourReading(lab, "#888888", float(t)) for lab, t in zip(labs, told, strict=True)]
        parts = {one.name: one.change for one in colour_differences(*readings)}
        for at, name in enumerate(("dl", "dc")):
            change = parts[name]
            assert change is not None
            held[at] += change.low <= 0 <= change.high
    assert (held[:2] / 2000 >= 0.88).all()
    assert (held[:2] / 2000 <= 0.92).all()


def test_two_equal_colours_are_not_said_to_differ() -> None:
    """A false alarm in at most one of ten, though their measured distance is never 0."""
    rng = np.random.default_rng(7)
    said = 0
    for _ in range(600):
        first, second, _ = drawn_colours(rng, 0.0, 4.0)
        (de00,) = (one for one in colour_differences(first, second) if one.name == "de00")
        assert de00.change is not None
        assert de00.change.value > 0
        said += de00.verdict == MORE
    assert said / 600 <= 0.10


def test_a_colour_far_away_is_said_to_differ() -> None:
    first = ColourReading((40.0, 60.0, -20.0), "#b01a7a", 3.0)
    second = ColourReading((62.0, 40.0, -22.0), "#d374b8", 3.0)
    found = {one.name: one for one in colour_differences(first, second)}
    assert found["dl"].verdict == MORE
    assert found["de00"].verdict == MORE
    assert found["dl"].change is not None
    assert found["dl"].change.value == pytest.approx(22.0)
    dc = found["dc"].change
    assert dc is not None
    assert dc.value == pytest.approx(hypot(40, 22) - hypot(60, 20))


def test_what_is_not_to_be_compared_has_its_reason_and_no_number() -> None:
    point = SeasonPoint("a", DAY, canopy_fill=Estimate(0.4, 0.37, 0.43), bloom_cover=Estimate(0.1, 0.05, 0.15))
    fill, bloom, _ = share_differences(point, point, {"bloom_cover": "grown for its leaves"})
    assert (bloom.first, bloom.change, bloom.verdict, bloom.reason) == (None, None, None, "grown for its leaves")
    assert fill.verdict == WITHIN


def test_what_is_missing_has_its_reason() -> None:
    first = SeasonPoint("a", DAY, canopy_fill=Estimate(0.4, 0.37, 0.43))
    second = SeasonPoint("b", DAY, canopy_fill=Estimate(0.42, 0.39, 0.45), bloom_cover=Estimate(0.1, 0.05, 0.15))
    fill, bloom, spent = share_differences(first, second)
    assert fill.verdict == WITHIN
    assert (bloom.change, bloom.verdict) == (None, None)
    assert bloom.reason == "bloom cover was not measured on the first photo"
    assert spent.reason == "spent share was not measured on either photo"
    assert all(one.reason and one.change is None for one in colour_differences(None, None))
