"""Ranks with intervals against published constants and simulation."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from journal_server.analysis.ranking import Contender, group_estimate, rank, simultaneous_factor
from journal_server.analysis.series import Z_90
from journal_server.measurement.result import Estimate


def contender(key: str, value: float, half: float = 0.03) -> Contender:
    return Contender(key, Estimate(value, value - half, value + half))


@pytest.mark.parametrize(("count", "q"), [(3, 2.902), (4, 3.240), (5, 3.478), (10, 4.129)])
def test_reach_of_all_pairs_is_tukeys(count: int, q: float) -> None:
    """Upper 10 % points of the studentized range, infinite degrees of freedom (Harter 1960, Annals of Mathematical
    Statistics 31, 1122-1147; quoted from memory, to the table's three decimals)."""
    assert simultaneous_factor(count) * sqrt(2) * Z_90 == pytest.approx(q, abs=0.0006)
    assert simultaneous_factor(2) == 1.0


def test_clear_differences_and_ties() -> None:
    places = rank([contender("a", 0.50), contender("b", 0.80), contender("c", 0.52), contender("d", 0.20)])
    assert [(p.contender.key, p.words) for p in places] == [("b", "1"), ("c", "2–3"), ("a", "2–3"), ("d", "4")]
    assert places[1].tied_with == ("a",)
    assert places[0].tied_with == ()


def test_lowest_first_turns_the_order_round() -> None:
    places = rank([contender("slow", 41.0, 3.0), contender("quick", 24.0, 2.0)], highest_first=False)
    assert [(p.contender.key, p.words) for p in places] == [("quick", "1"), ("slow", "2")]


def test_ties_in_a_chain_are_told_as_they_are() -> None:
    """a and b tie, b and c tie, a and c do not: b may be anything, a not last, c not first."""
    places = {p.contender.key: p for p in rank([contender("a", 0.60), contender("b", 0.55), contender("c", 0.50)])}
    assert {key: place.words for key, place in places.items()} == {"a": "1–2", "b": "1–3", "c": "2–3"}


def test_against_the_standard() -> None:
    places = {p.contender.key: p for p in rank([contender("new", 0.62), contender("known", 0.50)], standard="known")}
    assert places["known"].against_standard is None
    change = places["new"].against_standard
    assert change is not None
    assert change.value == pytest.approx(0.12)
    assert change.high - change.value == pytest.approx(0.03 * sqrt(2))


def test_a_share_is_at_most_all_of_it() -> None:
    """Two planters far apart: Student's interval of one degree of freedom (6.314) would reach to 2.0."""
    far = group_estimate([Estimate(0.14, 0.12, 0.16), Estimate(0.64, 0.62, 0.66)], most=1.0)
    assert (far.value, far.low, far.high) == (pytest.approx(0.39), 0.0, 1.0)
    places = rank([Contender("far", far, 2), contender("known", 0.1), contender("b", 0.8)], standard="known", most=1.0)
    (change,) = [place.against_standard for place in places if place.contender.key == "far"]
    assert change is not None
    assert change.high == 1.0
    days = group_estimate([Estimate(14, 12, 16), Estimate(64, 62, 66)])
    assert days.high == pytest.approx(39 + 6.314 * 25, abs=0.1)


def ranks_held(truth: np.ndarray, sigma: np.ndarray, rng: np.random.Generator) -> bool:
    read = truth + sigma * rng.standard_normal(truth.size)
    places = rank([contender(str(i), v, Z_90 * s) for i, (v, s) in enumerate(zip(read, sigma, strict=True))])
    for place in places:
        mine = truth[int(place.contender.key)]
        # Equal truths share their ranks: any of them is right.
        lowest, highest = 1 + int((truth > mine).sum()), int((truth >= mine).sum())
        if place.best > highest or place.worst < lowest:
            return False
        others = {str(i) for i in range(truth.size) if truth[i] == mine} - {place.contender.key}
        if not others <= set(place.tied_with):
            return False
    return True


def test_when_all_are_equal_nine_of_ten_rankings_say_so() -> None:
    rng = np.random.default_rng(3)
    sigma = np.full(6, 0.02)
    held = [ranks_held(np.full(6, 0.5), sigma, rng) for _ in range(1500)]
    assert 0.88 <= np.mean(held) <= 0.92


def test_all_true_ranks_lie_inside_at_least_nine_times_in_ten() -> None:
    rng = np.random.default_rng(4)
    held = []
    for _ in range(1000):
        truth = rng.choice([0.30, 0.45, 0.45, 0.50, 0.60, 0.62], 6)
        held.append(ranks_held(truth, rng.uniform(0.01, 0.05, 6), rng))
    assert np.mean(held) >= 0.89


@pytest.mark.parametrize("count", [2, 3, 5])
@pytest.mark.parametrize("place", [0.0, 0.05], ids=["places alike", "places differ"])
def test_the_mean_of_several_planters_is_held(count: int, place: float) -> None:
    rng = np.random.default_rng(count)
    held = 0
    for _ in range(3000):
        values = 0.5 + place * rng.standard_normal(count) + 0.02 * rng.standard_normal(count)
        found = group_estimate([Estimate(v, v - Z_90 * 0.02, v + Z_90 * 0.02) for v in values])
        held += found.low <= 0.5 <= found.high
    share = held / 3000
    assert share >= 0.88
    if place:
        assert share <= 0.93


def test_one_planter_keeps_its_interval_and_none_is_refused() -> None:
    only = Estimate(0.5, 0.45, 0.56)
    assert group_estimate([only]) is only
    with pytest.raises(ValueError, match="at least one"):
        group_estimate([])
