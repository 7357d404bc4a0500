"""What a correction by hand may hold, and how it is refused when it holds too much."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from journal_server.domain.hand_strokes import MOST_BYTES, MOST_POINTS, MOST_STROKES, PAINTED_CLASSES, strokes
from journal_server.errors import InputRefused

DOT = {"class": "bloom", "width": 12, "points": [[3, 4]]}


def test_strokes_are_kept_in_one_form() -> None:
    given = [{"class": "spent", "width": 12.345, "points": [[3, 4.06], [-1.04, 0]]}]
    kept = strokes(given)
    assert kept == [{"class": "spent", "width": 12.3, "points": [[3.0, 4.1], [-1.0, 0.0]]}]
    assert strokes(kept) == kept


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ([], "at least one stroke"),
        (None, "at least one stroke"),
        ("strokes", "at least one stroke"),
        ([DOT] * (MOST_STROKES + 1), "at most 2000 fit"),
        ([DOT | {"points": [[1, 1]] * (MOST_POINTS + 1)}], "1 to 2000 points"),
        ([DOT | {"points": []}], "1 to 2000 points"),
        ([DOT | {"points": [[1, 1]] * MOST_POINTS}] * 20, "at most 200000 fit. Paint with fewer, wider strokes."),
        ([DOT | {"class": "petal"}], "bloom, foliage, spent, other; not 'petal'"),
        ([DOT | {"class": ["bloom"]}], "A stroke paints one of"),
        ([DOT | {"width": 0}], "0.1 to 20000 pixels wide"),
        ([DOT | {"width": True}], "0.1 to 20000 pixels wide"),
        ([DOT | {"width": float("nan")}], "0.1 to 20000 pixels wide"),
        ([DOT | {"points": [[1, 1, 1]]}], "two numbers"),
        ([DOT | {"points": [[1, "1"]]}], "two numbers"),
        ([DOT | {"points": [[1, float("nan")]]}], "too far outside"),
        ([DOT | {"points": [[1, 10**400]]}], "too far outside"),
        ([DOT | {"surprise": 1}], "a class, a width and points"),
        ([{"class": "bloom"}], "a class, a width and points"),
        (["dot"], "a class, a width and points"),
    ],
)
def test_what_cannot_be_painted_is_refused_with_a_sentence(wrong: Any, says: str) -> None:
    with pytest.raises(InputRefused, match=says) as refused:
        strokes(wrong)
    assert str(refused.value).endswith(".")
    assert len(str(refused.value)) < 250


@given(
    st.lists(
        st.fixed_dictionaries(
            {
                "class": st.sampled_from(PAINTED_CLASSES),
                "width": st.floats(0.1, 20_000),
                "points": st.lists(
                    st.lists(st.floats(-100_000, 100_000), min_size=2, max_size=2), min_size=1, max_size=30
                ),
            }
        ),
        min_size=1,
        max_size=12,
    )
)
def test_whatever_is_kept_fits_a_phone(given: list[dict[str, Any]]) -> None:
    kept = strokes(given)
    assert len(kept) == len(given)
    assert len(json.dumps(kept, separators=(",", ":"))) <= MOST_BYTES
