"""Everyday cases measured with frame and declared colours, against shares known from their class maps."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from cases.scenes_by_case import CASES, make
from cases.sources import load

from journal_server.measurement import Measurement, measure_photo

QUANTITIES = ("canopy_fill", "bloom_cover", "spent_share")
CHANGED = [case for case in CASES if case != "unchanged"]
PICTURES = (0, 1)

# Mean absolute errors in points that the two pictures of a case may reach, set about half above what was measured, so
# that a worse method is noticed. Dusk: pale yellow flowers go for leaves. Hedge: one out of focus and dark as the plant
# goes for leaves. Silver leaves and pale flowers, double flowers and papery spent ones are taken for each other.
USUAL = (3.0, 6.0, 5.0)
BOUNDS = {
    "dusk": (3.0, 20.0, 9.0),
    "hedge": (10.0, 6.0, 5.0),
    "silver leaves": (3.0, 8.0, 5.0),
    "doubles": (3.0, 6.0, 7.0),
}
TOGETHER = (1.7, 4.0, 2.7)
LEAST_INSIDE = {"hedge": 1 / 3}

Found = dict[str, list[tuple[Measurement, dict[str, Any]]]]


@pytest.fixture(scope="module")
def found() -> Found:
    return {case: [_measured(case, index) for index in PICTURES] for case in CHANGED}


def _measured(case: str, index: int) -> tuple[Measurement, dict[str, Any]]:
    photo, truth = make(case, index)
    return measure_photo(photo, frame=truth["frame_polygon"], **truth["declared"]), truth["frame"]


def _inside(pairs: list[tuple[Measurement, dict[str, Any]]]) -> list[bool]:
    known = [(getattr(measured, name), truth[name]) for measured, truth in pairs for name in QUANTITIES]
    return [estimate.low <= true <= estimate.high for estimate, true in known if estimate is not None]


def _errors(pairs: list[tuple[Measurement, dict[str, Any]]], quantity: str) -> np.ndarray:
    return np.array([100 * abs(getattr(measured, quantity).value - truth[quantity]) for measured, truth in pairs])


def test_intervals_hold_the_truth_as_often_as_they_say(found: Found) -> None:
    inside = [held for pairs in found.values() for held in _inside(pairs)]
    assert len(inside) >= 3 * len(CHANGED)
    assert np.mean(inside) >= 0.80


@pytest.mark.parametrize("case", CHANGED)
def test_every_case_is_measured_within_its_bounds(found: Found, case: str) -> None:
    assert np.mean(_inside(found[case])) >= LEAST_INSIDE.get(case, 0.5)
    for quantity, bound in zip(QUANTITIES, BOUNDS.get(case, USUAL), strict=True):
        off = _errors(found[case], quantity)
        assert off.mean() <= bound, (quantity, off)


def test_the_cases_together_are_nearer_than_their_worst(found: Found) -> None:
    every = [pair for pairs in found.values() for pair in pairs]
    reached = [_errors(every, quantity).mean() for quantity in QUANTITIES]
    assert np.all(reached <= np.array(TOGETHER)), reached


def test_a_picture_is_the_same_each_time() -> None:
    first, again, other = make("buds", 0), make("buds", 0), make("buds", 1)
    assert first[0].tobytes() == again[0].tobytes()
    assert first[1] == again[1]
    assert first[0].tobytes() != other[0].tobytes()


def test_the_truth_follows_the_change() -> None:
    number = CASES["tiny flowers"].scenes[0]
    before = load(number).truth["frame"]
    tiny, buds = make("tiny flowers", 0)[1]["frame"], make("buds", 1)[1]["frame"]
    assert CASES["buds"].scenes[1] == number
    assert 0.005 < tiny["bloom_cover"] < 0.4 * before["bloom_cover"]
    assert tiny["canopy_fill"] == pytest.approx(before["canopy_fill"], abs=0.02)
    assert buds == pytest.approx(before, abs=1e-4)
    large = make("large card", 1)[1]["frame"]
    assert large["canopy_fill"] < load(CASES["large card"].scenes[1]).truth["frame"]["canopy_fill"] - 0.03


def test_planters_beside_stay_out_of_the_frame() -> None:
    picture = load(CASES["other planters"].scenes[0])
    before = picture.light.copy()
    CASES["other planters"].change(picture, np.random.default_rng(3))
    moved = np.abs(picture.light - before).max(axis=-1) > 0.05
    assert moved.sum() > 10_000
    assert not (moved & (picture.in_frame == 1)).any()
