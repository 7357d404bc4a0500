"""Cohen's kappa against published tables, scikit-learn, independently computed errors, and simulation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn.metrics import cohen_kappa_score

from journal_server.analysis.kappa import LEAST_PHOTOS, Kappa, Table, cohen_kappa_1960, kappa_over_photos

PSYCHIATRIC = [[75, 1, 4], [5, 4, 1], [0, 0, 10]]
"""Fleiss, J. L. (1981), Statistical Methods for Rates and Proportions, 2nd edition, table 13.1 (from memory)."""

XEROMAMMOGRAMS = [[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]]
"""Altman, D. G. (1991), Practical Statistics for Medical Research, table 14.11 (from memory)."""


def had(kappa: Kappa | None) -> Kappa:
    assert kappa is not None
    return kappa


@pytest.mark.parametrize(("table", "published"), [(PSYCHIATRIC, 0.68), (XEROMAMMOGRAMS, 0.47)])
def test_as_published(table: Table, published: float) -> None:
    """The values given there, to two decimals (from memory)."""
    assert round(had(cohen_kappa_1960(table)).estimate.value, 2) == published


@pytest.mark.parametrize(
    ("table", "kappa", "error"),
    [
        (PSYCHIATRIC, 0.6764705882, 0.0877029535),
        (XEROMAMMOGRAMS, 0.4727891156, 0.0727153782),
        ([[31, 0, 4, 1], [0, 3, 2, 1], [5, 2, 60, 8], [1, 0, 6, 76]], 0.7701149425, 0.0384062),
        ([[5, 1], [2, 12]], 0.6590909091, 0.178950438),
        ([[1, 9], [8, 2]], -0.7, 0.1588867521),
    ],
)
def test_as_computed_elsewhere(table: Table, kappa: float, error: float) -> None:
    """Computed with ``cohens_kappa`` of the Python package statsmodels 0.15.0 (BSD-3-Clause)."""
    found = had(cohen_kappa_1960(table))
    assert found.estimate.value == pytest.approx(kappa, abs=1e-9)
    assert found.standard_error == pytest.approx(error, abs=1e-8)
    assert found.estimate.high - found.estimate.value == pytest.approx(1.6448536 * error, abs=1e-6)


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=2, max_size=60))
def test_the_same_as_scikit_learn(pairs: list[tuple[int, int]]) -> None:
    table = [[0] * 4 for _ in range(4)]
    for first, second in pairs:
        table[first][second] += 1
    found = cohen_kappa_1960(table)
    if len({one for pair in pairs for one in pair}) == 1:
        assert found is None, "both put everything into one class"
    else:
        theirs = cohen_kappa_score([a for a, _ in pairs], [b for _, b in pairs])
        assert had(found).estimate.value == pytest.approx(theirs, abs=1e-12)


def test_without_anything_judged_there_is_none() -> None:
    assert cohen_kappa_1960([[0, 0], [0, 0]]) is None
    assert kappa_over_photos([]) is None
    with pytest.raises(ValueError, match="square"):
        cohen_kappa_1960([[1, 2]])


def _photo(random: np.random.Generator, points: int, right: float) -> list[list[int]]:
    """Points of one photo, on each of which both judges agree with the chance ``right``, else fall at random."""
    truth = random.choice(4, points, p=[0.3, 0.05, 0.45, 0.2])
    other = np.where(random.random(points) < right, truth, random.choice(4, points))
    table = np.zeros((4, 4), int)
    np.add.at(table, (other, truth), 1)
    return [[int(n) for n in row] for row in table]


def test_photos_that_differ_make_the_interval_wider() -> None:
    random = np.random.default_rng(3)
    alike = [_photo(random, 100, 0.9) for _ in range(12)]
    uneven = [
        _photo(random, 100, right) for right in (0.99, 0.98, 0.97, 0.6, 0.99, 0.98, 0.65, 0.99, 0.97, 0.7, 0.98, 0.99)
    ]
    even, spread = had(kappa_over_photos(alike)), had(kappa_over_photos(uneven))
    assert even.photos == spread.photos == 12
    assert spread.standard_error > 2 * even.standard_error
    together = had(cohen_kappa_1960(np.sum(alike, axis=0).tolist()))
    assert even.estimate.value == together.estimate.value
    assert even.standard_error == pytest.approx(together.standard_error, rel=0.6)


def test_few_photos_count_their_points() -> None:
    random = np.random.default_rng(4)
    few = [_photo(random, 100, 0.9) for _ in range(LEAST_PHOTOS - 1)]
    found, together = had(kappa_over_photos(few)), had(cohen_kappa_1960(np.sum(few, axis=0).tolist()))
    assert found.standard_error == together.standard_error
    assert (found.photos, found.points) == (LEAST_PHOTOS - 1, 400)


def test_the_interval_over_photos_holds_the_truth_nine_times_in_ten() -> None:
    """Photos differ at random in how often both judges agree; the truth is kappa of very many of them."""
    random = np.random.default_rng(5)
    draw = lambda: _photo(random, 60, float(random.beta(9, 1)))  # noqa: E731
    truth = had(cohen_kappa_1960(np.sum([draw() for _ in range(4000)], axis=0).tolist())).estimate.value
    held = 0
    for _ in range(300):
        found = had(kappa_over_photos([draw() for _ in range(15)])).estimate
        held += found.low <= truth <= found.high
    assert 0.84 < held / 300 < 0.96
