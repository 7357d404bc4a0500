from __future__ import annotations

import random
from datetime import date, timedelta

import pytest

from journal_server.analysis.next_to_count import Countable, next_to_count


def season(photos: int = 64) -> list[Countable]:
    """Eight plantings on eight dates; fill grows, bloom differs by cultivar."""
    drawn = random.Random(3)
    return [
        Countable(
            f"photo {at:02}",
            f"cultivar {at % 8}",
            date(2026, 5, 22) + timedelta(days=13 * (at // 8)),
            min(1.0, 0.1 + 0.12 * (at // 8)),
            None if at % 8 == 7 else drawn.uniform(0, 0.1 * (at % 8)),
        )
        for at in range(photos)
    ]


def test_the_list_is_the_same_each_time_and_shortens_as_it_is_counted() -> None:
    photos = season()
    first = next_to_count(photos, [], 5, "a trial")
    assert len(set(first)) == 5
    assert next_to_count(photos[::-1], [], 5, "a trial") == first
    assert next_to_count(photos, [], 5, "another") != first
    after = next_to_count(photos, [first[0]], 5, "a trial")
    assert after[:4] == first[1:]


def test_what_is_counted_is_not_offered_again() -> None:
    photos = season(10)
    assert sorted(next_to_count(photos, [], 20, "a")) == [photo.photo_id for photo in photos]
    assert next_to_count(photos, [photo.photo_id for photo in photos], 5, "a") == []
    assert next_to_count([], [], 5, "a") == []


@pytest.mark.parametrize("seed", ["a", "b", "c"])
def test_twelve_are_spread_over_the_season_the_fill_and_the_cultivars(seed: str) -> None:
    photos = {photo.photo_id: photo for photo in season()}
    chosen = [photos[one] for one in next_to_count(list(photos.values()), [], 12, seed)]
    assert len({photo.cultivar for photo in chosen}) >= 6
    assert len({photo.taken_on for photo in chosen}) >= 5
    fills = [photo.canopy_fill for photo in chosen if photo.canopy_fill is not None]
    assert min(fills) < 0.4
    assert max(fills) > 0.7
    assert any(photo.bloom_cover is None for photo in chosen) or len({p.cultivar for p in chosen}) < 8


def test_the_next_one_is_far_from_what_was_counted() -> None:
    """With everything counted but two photos, one of them like the counted ones, the other comes first."""
    day = date(2026, 7, 1)
    alike = [Countable(f"a{i}", "one", day, 0.5, 0.2) for i in range(6)]
    other = Countable("b", "two", day + timedelta(days=30), 0.95, 0.6)
    assert next_to_count([*alike, other], [p.photo_id for p in alike[:5]], 2, "x") == ["b", "a5"]
