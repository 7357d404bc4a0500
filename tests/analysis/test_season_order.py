"""Rows of a timeline in order and in groups; what is not known is never sorted as if it were small."""

from __future__ import annotations

from dataclasses import replace

import pytest
from analysis.sample_season import seasons

from journal_server.analysis.season_order import NAMES, NUMBERS, Reading, arrange, read_number
from journal_server.analysis.series import PlantingSeason
from journal_server.measurement.result import Estimate

SEASONS = seasons()


def ids(rows: tuple[PlantingSeason, ...]) -> list[str]:
    return [row.planting_id for row in rows]


def reading(value: float) -> Reading:
    return Reading(value, Estimate(value, value - 0.1, value + 0.1))


def test_the_walk_is_left_as_it_is() -> None:
    arranged = arrange(SEASONS)
    assert ids(arranged.rows) == [season.planting_id for season in SEASONS]
    assert (arranged.headings, arranged.readings) == ({}, {})


def test_names_sort_without_regard_to_case() -> None:
    mixed = [replace(SEASONS[0], cultivar=name, planting_id=name) for name in ("bell", "Alder", "Cask")]
    assert ids(arrange(mixed, sort="cultivar").rows) == ["Alder", "bell", "Cask"]
    genera = [season.genus for season in arrange(SEASONS, sort="genus").rows]
    assert genera == sorted(genera)


@pytest.mark.parametrize("name", NUMBERS)
def test_every_number_sorts_the_sample_season_and_puts_the_unknown_last(name: str) -> None:
    bare = replace(SEASONS[0], planting_id="bare", points=())
    arranged = arrange([bare, *SEASONS], sort=name)
    known = [arranged.readings[row.planting_id] for row in arranged.rows if arranged.readings[row.planting_id]]
    values = [one.value for one in known if one]
    assert values == sorted(values, reverse=NUMBERS[name].most_first)
    assert len(values) >= 6
    assert "bare" in ids(arranged.rows)[len(values) :]
    assert arranged.headings == {len(values): f"{NUMBERS[name].words} not known"}
    assert all(
        one.estimate and one.estimate.low <= one.value <= one.estimate.high for one in known if one and name != "fade"
    )


def test_the_latest_canopy_fill_is_that_of_the_last_day_that_has_one() -> None:
    season = SEASONS[0]
    last = max((p for p in season.points if p.canopy_fill), key=lambda p: p.taken_on)
    assert last.canopy_fill
    without = replace(last, photo_id="later", taken_on=last.taken_on.replace(month=9), canopy_fill=None)
    read = read_number(replace(season, points=(*season.points, without)), "canopy_fill")
    assert read == Reading(last.canopy_fill.value, last.canopy_fill)


def test_flowers_of_a_plant_grown_for_its_leaves_are_not_known_its_leaves_are() -> None:
    leaves = next(season for season in SEASONS if season.foliage_only)
    assert read_number(leaves, "season_bloom") is None
    assert read_number(leaves, "days_to_50") is not None


def test_groups_have_headings_in_their_order_and_the_unknown_last_in_each() -> None:
    four = [replace(SEASONS[0], planting_id=name) for name in "abcd"]
    groups = {"a": "shade", "b": "full sun", "c": "shade", "d": "other"}
    readings = {"a": None, "b": reading(0.2), "c": reading(0.5), "d": reading(0.9)}
    arranged = arrange(
        four, sort="canopy_fill", groups=groups, group_order=("full sun", "part shade", "shade"), readings=readings
    )
    assert ids(arranged.rows) == ["b", "c", "a", "d"]
    assert arranged.headings == {0: "full sun", 1: "shade", 2: "shade: canopy fill not known", 3: "other"}


def test_equal_numbers_stay_in_walking_order_and_days_count_from_the_fewest() -> None:
    three = [replace(SEASONS[0], planting_id=name) for name in "abc"]
    readings = {"a": reading(30), "b": reading(20), "c": reading(30)}
    assert ids(arrange(three, sort="days_to_50", readings=readings).rows) == ["b", "a", "c"]
    assert ids(arrange(three, sort="canopy_fill", readings=readings).rows) == ["a", "c", "b"]


def test_there_is_no_other_order() -> None:
    assert not set(NAMES) & set(NUMBERS)
    with pytest.raises(KeyError):
        arrange(SEASONS, sort="height")
