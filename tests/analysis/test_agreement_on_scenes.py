"""Scenes whose truth is exact, counted by someone never wrong: the agreement tells how the method truly errs."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from counted_scenes import CountedScene, agreement_of, count_scenes, kappa_of, true_bias_and_spread

from journal_server.analysis.agreement import LEAST_FOR_LIMITS, share_agreement
from journal_server.measurement.result import Estimate


@pytest.fixture(scope="module")
def counted() -> list[CountedScene]:
    """Every fifth scene, 200 points each."""
    return count_scenes(points=200, every=5)


def doubled(interval: Estimate) -> tuple[float, float]:
    """Twice as wide: beyond it a true value lies about once in a thousand, were the differences normal."""
    return 2 * interval.low - interval.value, 2 * interval.high - interval.value


@pytest.mark.parametrize("name", ["canopy_fill", "bloom_cover", "spent_share"])
def test_the_bias_and_the_spread_told_are_those_against_the_exact_truth(counted: list[CountedScene], name: str) -> None:
    found = agreement_of(counted, name)
    bias, spread = true_bias_and_spread(counted, name)
    assert found.photos >= LEAST_FOR_LIMITS
    assert found.bias is not None
    low, high = doubled(found.bias)
    assert low <= bias <= high
    assert found.spread_left is not None
    assert found.spread_left.low / 2 <= spread <= 2 * found.spread_left.high
    assert found.counting_spread is not None
    assert 0.01 < found.counting_spread < 0.05
    assert found.within_error >= found.photos - 2


def test_the_classes_agree_point_by_point(counted: list[CountedScene]) -> None:
    kappa = kappa_of(counted)
    assert kappa is not None
    assert kappa.points == 200 * len(counted)
    assert kappa.alike > 0.85
    assert kappa.estimate.low > 0.7


def test_counts_of_another_photo_do_not_agree(counted: list[CountedScene]) -> None:
    """The method's numbers against the counts of the scene after: it must show."""
    mixed = [
        replace(one.compared["canopy_fill"], counted=after.compared["canopy_fill"].counted)
        for one, after in pairwise(counted)
    ]
    found = share_agreement("canopy_fill", mixed)
    assert found.within_error < found.photos / 2
    assert found.spread_left is not None
    assert found.spread_left.low > 0.08
