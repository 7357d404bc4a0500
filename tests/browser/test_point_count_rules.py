"""The rules of a point count, each alone: where points lie, what comes next, what a count says by itself."""

from __future__ import annotations

import csv
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browser.serving import Served
from playwright.sync_api import Page

from journal_server.analysis.point_count import COUNTED_SHARES, counted_share, tally_of

REFERENCE = Path(__file__).parents[1] / "reference" / "wilson_intervals.csv"
MADE = """
    const { layPoints, isInside, randomFrom } = await import("/point_count/lay_points.js");
    const counting = await import("/point_count/counting.js");
    const { wilson, sharesOf } = await import("/point_count/shares.js");
"""
WEDGE = [[100, 100], [900, 150], [500, 300], [820, 700], [90, 500]]
"""A frame with a notch: its middle right is outside."""


@pytest.fixture
def run(empty: Served, open_page: Callable[..., Page]) -> Callable[..., Any]:
    page = open_page(empty.address)
    return lambda script, given=None: page.evaluate(f"async (given) => {{ {MADE} {script} }}", given)


def lay(run: Callable[..., Any], **what: Any) -> list[list[float]]:
    given = {"seed": 1, "number": 100, "polygon": None, "width": 1000, "height": 800} | what
    laid: list[list[float]] = run("return layPoints(given);", given)
    return laid


def test_the_generator_is_the_one_that_is_named(run: Callable[..., Any]) -> None:
    """The first numbers of mulberry32 for seed 1, reckoned in Python by its definition."""

    def mulberry32(seed: int, number: int) -> list[float]:
        out, state, mask = [], seed, 2**32 - 1
        for _ in range(number):
            state = state + 0x6D2B79F5 & mask
            mixed = (state ^ state >> 15) * (state | 1) & mask
            mixed ^= mixed + ((mixed ^ mixed >> 7) * (mixed | 61) & mask) & mask
            out.append(((mixed ^ mixed >> 14) & mask) / 2**32)
        return out

    found = run("const next = randomFrom(given); return Array.from({length: 50}, next);", 1)
    assert found == mulberry32(1, 50)
    assert run("const next = randomFrom(given); return Array.from({length: 9}, next);", 2**32 - 1) == mulberry32(
        2**32 - 1, 9
    )


def test_the_same_seed_lays_the_same_points_and_another_seed_others(run: Callable[..., Any]) -> None:
    first = lay(run, polygon=WEDGE, number=200)
    assert lay(run, polygon=WEDGE, number=200) == first
    assert lay(run, polygon=WEDGE, number=50) == first[:50], "a shorter count is the beginning of a longer one"
    assert lay(run, polygon=WEDGE, number=200, seed=2) != first
    assert all(round(value, 1) == value for point in first for value in point)


def test_points_fill_the_frame_evenly_and_nothing_else(run: Callable[..., Any]) -> None:
    """Chi-squared over cells of the photo: as many points in each as the frame has area there."""
    laid = np.array([point for seed in range(20) for point in lay(run, polygon=WEDGE, number=200, seed=seed)])
    grid = [[x + 0.5, y + 0.5] for y in range(0, 800, 4) for x in range(0, 1000, 4)]
    inside = np.array(run("return given[1].map((point) => isInside(given[0], point));", [WEDGE, grid]))
    spots = np.array(grid)[inside]
    assert 0.3 < len(spots) / len(grid) < 0.6
    cells = [(x, y) for x in range(0, 1000, 200) for y in range(0, 800, 200)]

    def share_in(points: Any) -> Any:
        inside_cell = [
            ((points >= cell) & (points < [cell[0] + 200, cell[1] + 200])).all(axis=1).sum() for cell in cells
        ]
        return np.array(inside_cell) / len(points)

    expected, seen = share_in(spots) * len(laid), share_in(laid) * len(laid)
    assert seen[expected < 0.5].sum() <= 5
    full = expected > 20
    chi = float(((seen - expected)[full] ** 2 / expected[full]).sum())
    # About as many degrees of freedom as cells; the 99.9 % point of 15 is 37.7.
    assert chi < 37.7
    assert all(run("return given[1].map((point) => isInside(given[0], point));", [WEDGE, laid.tolist()]))


def test_without_a_frame_points_lie_in_the_whole_photo(run: Callable[..., Any]) -> None:
    laid = np.array(lay(run, number=200))
    assert (laid >= 0).all()
    assert (laid < [1000, 800]).all()
    assert laid.max(axis=0) == pytest.approx([1000, 800], rel=0.05)


def test_the_part_of_a_frame_outside_the_photo_gets_no_points(run: Callable[..., Any]) -> None:
    laid = np.array(lay(run, polygon=[[-500, -100], [400, -100], [400, 2000], [-500, 2000]]))
    assert (laid >= 0).all()
    assert (laid < [400, 800]).all()
    says = run(
        "try { layPoints(given); return null; } catch (problem) { return problem.message; }",
        {"seed": 1, "number": 50, "polygon": [[-50, -50], [-10, -50], [-10, -10]], "width": 100, "height": 100},
    )
    assert says == "The frame has no room inside the photo."


def test_answers_go_on_undo_and_come_back_to_what_was_left_out(run: Callable[..., Any]) -> None:
    steps = run(
        """
        const { begin, say, undo, current, goOn, leftOutAgain, answered } = counting;
        const told = (one) => [one.answers, current(one)];
        let one = begin(4);
        const seen = [told(one)];
        for (const letter of ["b", "-", "f"]) seen.push(told((one = say(one, letter))));
        seen.push(told((one = undo(one))), told((one = undo(one))), told((one = undo(undo(undo(one))))));
        for (const letter of ["b", "-", "f", "o"]) one = say(one, letter);
        seen.push(told(one), told(say(one, "s")));
        let again = leftOutAgain(one);
        seen.push(told(again), told((again = say(again, "s"))), told(undo(again)));
        seen.push(told(goOn("bf--")), told(goOn("----")), told(goOn("bf--", 4)), [answered("b-f-"), null]);
        return seen;
        """
    )
    assert steps == [
        ["----", 0], ["b---", 1], ["b---", 2], ["b-f-", 3],
        ["b---", 2], ["b---", 1], ["----", 0],
        ["b-fo", None], ["b-fo", None],
        ["b-fo", 1], ["bsfo", None], ["b-fo", 1],
        ["bf--", 2], ["----", 0], ["bf--", None], [2, None],
    ]  # fmt: skip


def test_wilson_is_the_servers(run: Callable[..., Any]) -> None:
    """The same table of reference values as for the server's own."""
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        z = {"0.95": 1.959963984540054, "0.9": 1.6448536269514722}[row["level"]]
        found = run("return wilson(...given);", [int(row["successes"]), int(row["trials"]), z])
        assert (found["low"], found["high"]) == pytest.approx((float(row["low"]), float(row["high"])), abs=1e-9)


def test_a_count_says_on_the_phone_what_it_says_on_the_server(run: Callable[..., Any]) -> None:
    drawn = random.Random(8)
    cases = ["-" * 20, "o" * 30, "f" * 30, "bsf" + "o" * 30]
    cases += ["".join(drawn.choices("bsfo-", k=drawn.choice((30, 100)))) for _ in range(20)]
    for answers, rows in zip(cases, run("return given.map(sharesOf);", cases), strict=True):
        assert [row["name"] for row in rows] == list(COUNTED_SHARES)
        for row in rows:
            counted, reason = counted_share(tally_of(answers), row["name"])
            assert row["reason"] == reason
            assert (row["counted"] is None) == (counted is None)
            if counted:
                assert row["counted"] == pytest.approx(counted.as_dict(), abs=1e-12)
