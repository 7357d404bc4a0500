"""Shares from point answers."""

from __future__ import annotations

import numpy as np
import pytest

from journal_server.analysis.point_count import (
    CLASSES,
    LEAST_PLANT_POINTS,
    PointTally,
    confusion,
    counted_share,
    counting_variance,
    successes,
    tally_of,
)


def test_answers_are_tallied_by_class_and_what_was_not_answered_is_left_out() -> None:
    tally = tally_of("bbbsfffffooo---")
    assert tally == PointTally(bloom=3, spent=1, foliage=5, other=3, unanswered=3)
    assert (tally.answered, tally.plant) == (12, 9)
    assert tally + PointTally(bloom=1, unanswered=1) == PointTally(4, 1, 5, 3, 4)
    with pytest.raises(ValueError, match="answers are letters"):
        tally_of("bx")


def test_shares_are_of_the_points_that_the_definitions_name() -> None:
    """canopy fill of all answered points; bloom cover and spent share of those on the plant."""
    tally = PointTally(bloom=20, spent=5, foliage=55, other=20, unanswered=7)
    assert successes(tally, "canopy_fill") == (80, 100)
    assert successes(tally, "bloom_cover") == (20, 80)
    assert successes(tally, "spent_share") == (5, 80)
    fill, reason = counted_share(tally, "canopy_fill")
    assert reason is None
    assert fill is not None
    # 90 % Wilson interval of 80 of 100 by hand: (0.8 + 0.013528 -+ 1.644854 sqrt(0.0016 + 0.0000676)) / 1.027055.
    assert (fill.value, fill.low, fill.high) == pytest.approx((0.8, 0.7267, 0.8575), abs=2e-4)


@pytest.mark.parametrize(
    ("answers", "name", "words"),
    [
        ("-----", "canopy_fill", "no point was answered"),
        ("ooooo", "bloom_cover", "no point lies on the plant"),
        ("bffff" + "o" * 20, "spent_share", f"only 5 points lie on the plant; it takes {LEAST_PLANT_POINTS}"),
    ],
)
def test_what_cannot_be_had_has_its_reason(answers: str, name: str, words: str) -> None:
    assert counted_share(tally_of(answers), name) == (None, words)


def test_a_share_of_none_is_a_number_not_a_gap() -> None:
    spent, reason = counted_share(tally_of("f" * 40), "spent_share")
    assert reason is None
    assert spent is not None
    assert (spent.value, spent.low) == (0.0, 0.0)
    assert 0.05 < spent.high < 0.07


@pytest.mark.parametrize(("share", "points"), [(0.5, 50), (0.03, 100), (0.98, 200)])
def test_the_variance_of_counting_is_that_of_many_counts(share: float, points: int) -> None:
    """p (1 - p) / (n - 1) at the counted share is on average the variance of the counted shares."""
    counts = np.random.default_rng(7).binomial(points, share, 20_000)
    told = np.mean(
        [counting_variance(PointTally(foliage=int(k), other=points - int(k)), "canopy_fill") for k in counts]
    )
    assert told == pytest.approx(np.var(counts / points), rel=0.03)
    with pytest.raises(ValueError, match="two points"):
        counting_variance(PointTally(bloom=1), "bloom_cover")


def test_the_method_stands_in_rows_and_the_person_in_columns() -> None:
    table = confusion("bbf-os", ["bloom", "foliage", "foliage", "bloom", "other", "spent"])
    assert table == ((1, 0, 0, 0), (0, 1, 0, 0), (1, 0, 1, 0), (0, 0, 0, 1))
    assert len(table) == len(CLASSES)
    with pytest.raises(ValueError, match="shorter"):
        confusion("bb", ["bloom"])
